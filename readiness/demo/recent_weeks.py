"""The last weeks of the demo, sent in as a real studio sends them: lines through
readiness.record.intake, decisions through readiness.record.decisions, each at its own time."""

import datetime
import uuid
from collections.abc import Callable, Iterator, Mapping, Sequence
from random import Random
from typing import Any

from django.db.models import Model

from readiness.demo.calendar import Evening
from readiness.demo.decisions import Deed
from readiness.demo.history import DEVICE, SENT_AFTER, Records, by_tablet
from readiness.demo.ids import uuid7
from readiness.demo.simulation import Life, Line
from readiness.models import Pain, ParentTold, Placing
from readiness.record import decisions
from readiness.record.intake import ACCEPTED, REFUSED, take_lines
from readiness.record.snapshots import Snapshot, last_review
from readiness.record.standings import digest_of
from studio.models import Child

Tablet = tuple[Evening, str]
# One thing that happens: when, what it is for the order of equal times, and how.
Step = tuple[datetime.datetime, str, Callable[[], None]]

LATE = 3
STRUCK_EVERY = 5


class UnlikeTheProgram(Exception):
    """The demo made a line that the program does not take: one of the two is wrong."""


def send_lately(
    lives: Mapping[uuid.UUID, Life],
    since: datetime.date,
    records: Records,
    now: datetime.datetime,
    change_ladder: Step,
    tell: Callable[[int, int], None],
) -> None:
    """Send everything from a day on, in the order of time; ``tell`` hears (done, of all)."""
    steps = [*_steps(lives, since, records, now), change_ladder]
    steps.sort(key=lambda step: step[:2])
    for done, (_, _, act) in enumerate(steps, start=1):
        act()
        tell(done, len(steps))


def _steps(
    lives: Mapping[uuid.UUID, Life], since: datetime.date, records: Records, now: datetime.datetime
) -> Iterator[Step]:
    chance = Random(f"{records.people.groups[0].uuid} door")
    lines = [line for life in lives.values() for line in life.lines if line.evening.day >= since]
    tablets = sorted(by_tablet(lines).items(), key=lambda item: (item[0][0].starts, *item[0][1:]))
    deeds = [(d, child) for child, life in lives.items() for d in life.deeds if d.day >= since]
    decided = {(str(child), deed.day) for deed, child in deeds}
    late = _late_tablets([tablet for tablet, _ in tablets], dict(tablets), decided, now)
    for at, (tablet, said) in enumerate(tablets):
        evening, by = tablet
        sent = min(evening.ends + SENT_AFTER, now)
        if tablet in late:
            sent += datetime.timedelta(days=1 + at % 2, minutes=20)
        raws = [line.raw for line in said]
        if at % STRUCK_EVERY == 0 and sent < now:
            raws += _struck(said, chance)
        yield sent, f"1 {evening.id} {by}", _sender(tablet, raws, sent, records)
    yield _strange(tablets, records, now, chance)
    for deed, child in deeds:
        yield deed.at, f"2 {deed.id}", _decider(deed, records.children[child], records)
    yield now, "3 parents", lambda: _tell_parents(records, now)


def _late_tablets(
    tablets: Sequence[Tablet],
    lines: Mapping[Tablet, Sequence[Line]],
    decided: set[tuple[str, datetime.date]],
    now: datetime.datetime,
) -> set[Tablet]:
    """Tablets that found no network until a day or two later; nobody decided anything about
    their children that evening, so that everybody saw the same record."""
    found: list[Tablet] = []
    for tablet in tablets[::3]:
        day = tablet[0].day
        waits = all((line.raw.get("child"), day) not in decided for line in lines[tablet])
        if waits and day < now.date() - datetime.timedelta(days=4):
            found.append(tablet)
    return set(found[:LATE])


def _sender(
    tablet: Tablet,
    raws: Sequence[Mapping[str, Any]],
    sent: datetime.datetime,
    records: Records,
    answer: str = ACCEPTED,
) -> Callable[[], None]:
    def send() -> None:
        meeting = records.meetings[tablet[0].id]
        sender = records.people.staff[tablet[1]]
        answers = take_lines(meeting, sender, DEVICE, sent, raws, 1, sent)
        for each in answers:
            if each.answer != answer:
                raise UnlikeTheProgram(f"{each.answer} {each.code} {each.id}")

    return send


def _struck(said: Sequence[Line], chance: Random) -> list[dict[str, Any]]:
    """A turn tapped on the wrong tile and taken back at once."""
    turns = [line.raw for line in said if line.raw["kind"] == "turn"]
    if not turns:
        return []
    wrong = chance.choice(turns)
    at = datetime.datetime.fromisoformat(wrong["at"]) + datetime.timedelta(seconds=2)
    undone = at + datetime.timedelta(seconds=4)
    again = {**wrong, "id": str(uuid7(at, chance)), "at": at.isoformat()}
    strike = {
        "kind": "strike",
        "id": str(uuid7(undone, chance)),
        "at": undone.isoformat(),
        "turn": again["id"],
        "code": chance.choice(("wrong-child", "wrong-tap")),
    }
    return [again, strike]


def _strange(
    tablets: Sequence[tuple[Tablet, Sequence[Line]]],
    records: Records,
    now: datetime.datetime,
    chance: Random,
) -> Step:
    """A line for a drill that the ladder does not have: it is set aside for somebody to read."""
    minute = datetime.timedelta(minutes=1)
    tablet, turn = next(
        (tablet, line.raw)
        for tablet, said in reversed(tablets)
        for line in said
        if line.raw["kind"] == "turn" and tablet[0].ends + SENT_AFTER + minute < now
    )
    sent = tablet[0].ends + SENT_AFTER + minute
    line = {**turn, "id": str(uuid7(sent, chance)), "drill": "one-hand-walkover"}
    return sent, "1 strange", _sender(tablet, [line], sent, records, REFUSED)


def _decider(deed: Deed, child: Child, records: Records) -> Callable[[], None]:
    def decide() -> None:
        made = _decide(deed, child, records)
        # The ids of the demo come from its seed.
        type(made)._default_manager.filter(pk=made.pk).update(uuid=deed.id)

    return decide


def _decide(deed: Deed, child: Child, records: Records) -> Model:
    by, now = records.people.staff[deed.by], deed.at
    if deed.kind == "pause":
        return decisions.pause(child, by, now, deed.reason)
    if deed.kind in ("place", "lift"):
        last = Placing.objects.filter(child=child).order_by("-at", "-pk").first()
        seen = Snapshot(digest_of(deed.seen), str(last.uuid) if last else "")
        if deed.kind == "lift":
            return decisions.lift(child, by, seen, now, deed.reason)
        return decisions.place(child, int(deed.stage), by, seen, now, deed.surface, deed.reason)
    review = last_review(child, deed.stage)
    seen = Snapshot(digest_of(deed.seen), str(review.uuid) if review else "")
    match deed.kind:
        case "step":
            return decisions.give_step(child, deed.drill, deed.support or 0, by, seen, now)
        case "sign":
            return decisions.sign(child, deed.stage, by, seen, now, deed.surface)
        case "send-back":
            return decisions.send_back(child, deed.stage, by, seen, now, deed.reason)
        case "exception":
            return decisions.write_exception(child, deed.stage, by, seen, now, deed.reason)
    return decisions.recommend(child, deed.stage, by, seen, now, deed.surface)


def _tell_parents(records: Records, now: datetime.datetime) -> None:
    """Whoever wrote down that something hurts told the parent at the door."""
    for pain in Pain.objects.filter(told=None).order_by("pk"):
        at = min(pain.at + datetime.timedelta(hours=1), now)
        ParentTold.objects.create(pain=pain, by=pain.by, at=at)

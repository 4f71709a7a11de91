"""The last weeks of the demo, sent in as a real studio sends them: lines through
readiness.record.intake, decisions through readiness.record.decisions, each at its own time."""

import datetime
import uuid
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import partial
from random import Random
from typing import Any

from django.db.models import Model

from progression.log.line_ids import uuid7
from readiness.demo.calendar import Evening
from readiness.demo.decisions import DemoDecision
from readiness.demo.history import DEVICE, SENT_AFTER, Rows, lines_by_tablet
from readiness.demo.simulation import Line, PupilRecord
from readiness.models import Decision, Pain, Placing, Told
from readiness.record import decisions
from readiness.record.intake import ACCEPTED, REFUSED, take_lines
from readiness.record.snapshots import Snapshot, last_review
from readiness.record.standings import digest_of
from studio.models import Child

# Who logged at which class.
Tablet = tuple[Evening, str]
# One thing that happens: when, a key for the order of equal times, and what to call.
Step = tuple[datetime.datetime, str, Callable[[], object]]

LATE_TABLETS = 3
# Every so many tablets take a turn back.
STRIKE_EVERY = 5


class UnexpectedAnswer(Exception):
    """The program answered a line of the demo in another way than was meant."""


def send_recent(
    records: Mapping[uuid.UUID, PupilRecord],
    since: datetime.date,
    rows: Rows,
    now: datetime.datetime,
    others: Iterable[Step],
    report: Callable[[str], None],
) -> None:
    """Send everything from a day on, and the other steps, in the order of time."""
    steps = [*_steps(records, since, rows, now), *others]
    steps.sort(key=lambda step: step[:2])
    for done, (_, _, act) in enumerate(steps, start=1):
        act()
        if done * 4 // len(steps) > (done - 1) * 4 // len(steps):
            report(f"  {done * 100 // len(steps)} %")


def _steps(
    records: Mapping[uuid.UUID, PupilRecord],
    since: datetime.date,
    rows: Rows,
    now: datetime.datetime,
) -> Iterator[Step]:
    rng = Random(f"{rows.people.groups[0].uuid} door")
    recent = [line for each in records.values() for line in each.lines if line.evening.day >= since]
    tablets = sorted(
        lines_by_tablet(recent).items(), key=lambda item: (item[0][0].starts, item[0][1])
    )
    decided = [
        (decision, child)
        for child, each in records.items()
        for decision in each.decisions
        if decision.day >= since
    ]
    late = _late_tablets(tablets, {(str(child), each.day) for each, child in decided}, now)
    for index, (tablet, lines) in enumerate(tablets):
        evening, by = tablet
        sent = min(evening.ends + SENT_AFTER, now)
        if tablet in late:
            sent += datetime.timedelta(days=1 + index % 2, minutes=20)
        raws = [line.raw for line in lines]
        if index % STRIKE_EVERY == 0 and sent < now:
            raws += _struck_turn(lines, rng)
        yield sent, f"1 {evening.id} {by}", partial(send, tablet, raws, sent, rows)
    yield _unknown_drill(tablets, rows, now, rng)
    for decision, child in decided:
        act = partial(_decide, decision, rows.children[child], rows)
        yield decision.at, f"2 {decision.id}", act
    yield now, "3 parents", partial(_tell_families, now)


def _late_tablets(
    tablets: Sequence[tuple[Tablet, Sequence[Line]]],
    decided: set[tuple[str, datetime.date]],
    now: datetime.datetime,
) -> list[Tablet]:
    """Tablets that found no network until a day or two later. Nobody decided about their
    children that evening: the decision would have been made on another record."""
    before = now.date() - datetime.timedelta(days=4)
    late = [
        tablet
        for tablet, lines in tablets[::3]
        if tablet[0].day < before
        and all((line.raw.get("child"), tablet[0].day) not in decided for line in lines)
    ]
    return late[:LATE_TABLETS]


def send(
    tablet: Tablet,
    raws: Sequence[Mapping[str, Any]],
    sent: datetime.datetime,
    rows: Rows,
    expected: str = ACCEPTED,
) -> None:
    meeting, sender = rows.meetings[tablet[0].id], rows.people.staff[tablet[1]]
    for result in take_lines(meeting, sender, DEVICE, sent, raws, 1, sent):
        if result.answer != expected:
            raise UnexpectedAnswer(f"{result.answer} {result.code} {result.id}")


def _struck_turn(lines: Sequence[Line], rng: Random) -> list[dict[str, Any]]:
    """A turn tapped on the wrong tile and taken back at once."""
    turns = [line.raw for line in lines if line.raw["kind"] == "turn"]
    if not turns:
        return []
    copied = rng.choice(turns)
    at = datetime.datetime.fromisoformat(copied["at"]) + datetime.timedelta(seconds=2)
    struck_at = at + datetime.timedelta(seconds=4)
    turn = {**copied, "id": str(uuid7(at, rng)), "at": at.isoformat()}
    strike = {
        "kind": "strike",
        "id": str(uuid7(struck_at, rng)),
        "at": struck_at.isoformat(),
        "turn": turn["id"],
        "code": rng.choice(("wrong-child", "wrong-tap")),
    }
    return [turn, strike]


def _unknown_drill(
    tablets: Sequence[tuple[Tablet, Sequence[Line]]],
    rows: Rows,
    now: datetime.datetime,
    rng: Random,
) -> Step:
    """A line for a drill that the ladder does not have: it is refused."""
    after = SENT_AFTER + datetime.timedelta(minutes=1)
    tablet, turn = next(
        (tablet, line.raw)
        for tablet, lines in reversed(tablets)
        for line in lines
        if line.raw["kind"] == "turn" and tablet[0].ends + after < now
    )
    sent = tablet[0].ends + after
    line = {**turn, "id": str(uuid7(sent, rng)), "drill": "one-hand-walkover"}
    return sent, "1 strange", partial(send, tablet, [line], sent, rows, REFUSED)


def _decide(decision: DemoDecision, child: Child, rows: Rows) -> Model:
    by, now = rows.people.staff[decision.by], decision.at
    stage, surface, reason = decision.stage, decision.surface, decision.reason
    if decision.kind == "pause":
        return decisions.pause(child, by, now, reason)
    if decision.kind in ("place", "lift"):
        placing = Placing.objects.filter(child=child).order_by("-at", "-pk").first()
        shown = _shown(decision, placing)
        if decision.kind == "lift":
            return decisions.lift(child, by, shown, now, reason)
        return decisions.place(child, int(stage), by, shown, now, surface, reason)
    review = last_review(child, stage)
    shown = _shown(decision, review)
    match decision.kind:
        case "step":
            support = decision.support or 0
            return decisions.give_step(child, decision.drill, support, by, shown, now)
        case "sign":
            return decisions.sign(child, stage, by, shown, now, surface, decision.day)
        case "send-back":
            return decisions.send_back(child, stage, by, shown, now, reason)
        case "exception":
            return decisions.write_exception(child, stage, by, shown, now, reason)
    return decisions.recommend(child, stage, by, shown, now, surface)


def _shown(decision: DemoDecision, last: Placing | Decision | None) -> Snapshot:
    """What its page showed, when somebody decided."""
    reading = decision.reading
    return Snapshot(digest_of(reading), str(last.uuid) if last else "", reading["ladder"])


def _tell_families(now: datetime.datetime) -> None:
    """Whoever wrote down a pain told the family within the hour."""
    for pain in Pain.objects.order_by("pk"):
        at = min(pain.at + datetime.timedelta(hours=1), now)
        Told.objects.create(
            id=uuid.uuid5(pain.pk, "told"),
            child=pain.child, meeting=pain.meeting, day=pain.day, at=at, by=pain.by,
            received_at=at, digest="", about=pain.place, whom="guardian-here",
        )  # fmt: skip

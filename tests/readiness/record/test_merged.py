"""Two records of one child read as one: the same as if one child had had all of it from the start;
parted again, each is what it was."""

import datetime
import random
import threading
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from django.db import OperationalError, connection, transaction
from django.db.models import Sum
from django.test.utils import CaptureQueriesContext

from progression.models import Attempt
from readiness.models import DayTally, Pause, PauseLift, Standing
from readiness.record import decisions
from readiness.record.intake import take_lines
from readiness.record.ladders import Ladders
from readiness.record.merged.locked import lock_with_records
from readiness.record.rebuild import is_near, rebuild
from readiness.record.snapshots import child_snapshot
from readiness.record.standings import fresh_standings, load_checkpoints, read
from studio.models import Child
from studio.people.consents import answer_on, consents_of
from studio.people.merging import merge, undo
from tests.support.cast import NOW, TODAY, Cast, give_consent, make_child, time_ordered_id
from tests.support.evenings import Evenings

pytestmark = pytest.mark.django_db


class TwoRecords(Evenings):
    """The twin has every turn; Mai some of them, and another record of hers the rest."""

    def __init__(self, cast: Cast, seed: int, content: Any) -> None:
        super().__init__(cast, seed, content)
        self.other = make_child("Mai Tr.", cast.blue)

    def both(self, lines: Sequence[dict[str, Any]], day: datetime.date) -> None:
        for line in lines:
            to = self.draw.choice([self.cast.mai, self.other])
            for child in (to, self.twin):
                own = line | self._named(line, child)
                self.send([own], day, child)
                if line["kind"] == "turn":
                    self.logged.append((own, day))

    def strike(self) -> None:
        """A turn that is struck is struck for both."""
        place = 2 * self.draw.randrange(len(self.logged) // 2)
        at = self.now()
        for line, day in self.logged[place : place + 2]:
            self.count += 1
            struck = {
                "kind": "strike", "id": str(time_ordered_id(at, self.count)),
                "at": at.isoformat(), "turn": line["id"], "code": "other",
            }  # fmt: skip
            self.send([struck], day, self.twin)

    def decide(self) -> None:
        """Nothing: who decides on one record has another one before her than on the whole."""


def told(child: Child, day: datetime.date) -> dict[str, Any]:
    """What is read of a child, from nothing; without the child's own id."""
    return {**read(child, day).data, "child": ""}


def stored(child: Child) -> dict[str, Any]:
    return {**Standing.objects.get(child=child).reading, "child": ""}


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_merged_child_stands_where_one_child_with_all_turns_does(
    cast: Cast, ladder_content: dict[str, Any], seed: int
) -> None:
    evenings = TwoRecords(cast, seed, ladder_content)
    when = random.Random(seed).randrange(10, 30)
    for number in range(40):
        evenings.class_day()
        if number == when:
            fresh_standings([cast.mai, evenings.other], evenings.now())
            merge(evenings.other, cast.mai, cast.petra, evenings.now())
        if number >= when:
            # Turns go on coming in for both ids.
            cast.mai.refresh_from_db()
            fresh_standings([cast.mai, evenings.twin], evenings.now())
            assert is_near(stored(cast.mai), stored(evenings.twin)), number
    day = evenings.day + datetime.timedelta(days=1)
    assert is_near(told(cast.mai, day), told(evenings.twin, day))
    assert load_checkpoints([cast.mai.pk], day, Ladders())
    assert list(rebuild(Child.objects.order_by("pk"), check=True)) == []


@pytest.mark.parametrize("seed", [4, 5])
def test_undoing_a_merge_gives_both_back_as_if_there_had_been_none(
    cast: Cast, ladder_content: dict[str, Any], seed: int
) -> None:
    evenings = TwoRecords(cast, seed, ladder_content)
    for _ in range(12):
        evenings.class_day()
    day = evenings.day
    one, other = told(cast.mai, day), told(evenings.other, day)
    row = merge(evenings.other, cast.mai, cast.petra, evenings.now())
    cast.mai.refresh_from_db()
    fresh_standings([cast.mai], evenings.now())
    assert not is_near(stored(cast.mai), one)
    undo(row, cast.luis, evenings.now())
    children = list(Child.objects.filter(pk__in=[cast.mai.pk, evenings.other.pk]).order_by("pk"))
    fresh_standings(children, evenings.now())
    assert [child.merged_into for child in children] == [None, None]
    assert is_near(stored(cast.mai), one)
    assert is_near(stored(evenings.other), other)
    assert list(rebuild(Child.objects.order_by("pk"), check=True)) == []


def test_a_second_fault_is_a_stop_sign_though_each_record_has_one(cast: Cast, log) -> None:
    """Said so in the shipped ladder: a stop sign from the second one on that day."""
    other, whole = make_child("Mai T.", cast.blue), make_child("Mai Whole", cast.blue)
    for child in (cast.mai, other, whole, whole):
        log(child, "back-walkover", "0", support=3, faults=("stalls-over-top",))
    merge(other, cast.mai, cast.petra, NOW)
    tomorrow = TODAY + datetime.timedelta(days=1)
    cast.mai.refresh_from_db()
    signs = [t.stop_signs for t in read(cast.mai, tomorrow).record.tallies]
    assert sum(signs) == sum(t.stop_signs for t in read(whole, tomorrow).record.tallies) == 1


def test_an_old_tablets_turns_are_taken_for_the_survivor(cast: Cast, client) -> None:
    """The turn stays under the id that the tablet sent; flags and standing are the survivor's."""
    other = make_child("Mai T.", cast.red)
    merge(other, cast.mai, cast.petra, NOW)
    decisions.pause(Child.objects.get(pk=cast.mai.pk), cast.omar, NOW, "fever")
    line = {
        "kind": "turn", "id": str(time_ordered_id(NOW, 1)), "child": str(other.uuid),
        "at": NOW.isoformat(), "drill": "back-walkover", "support": 3,
        "surface": "sprung-dance-floor", "clean": True,
    }  # fmt: skip
    # The survivor's class: there the old id was never in.
    (answer,) = take_lines(cast.meeting, cast.omar, "tablet", NOW, [line], 1, NOW)
    assert answer.answer == "kept"
    (again,) = take_lines(cast.meeting, cast.omar, "tablet", NOW, [line], 1, NOW)
    assert again.answer == "had"
    turn = other.attempts.get()
    assert turn.flags == ["paused"]
    assert read(Child.objects.get(pk=cast.mai.pk), TODAY).turns[0].id == line["id"]


def test_an_id_of_another_class_is_refused_as_before(cast: Cast) -> None:
    other = make_child("Rosa V.", cast.red)
    merge(other, cast.rosa, cast.petra, NOW)
    line = {
        "kind": "here", "id": str(time_ordered_id(NOW, 1)), "child": str(other.uuid),
        "at": NOW.isoformat(), "present": True,
    }  # fmt: skip
    (answer,) = take_lines(cast.meeting, cast.omar, "tablet", NOW, [line], 1, NOW)
    assert (answer.answer, answer.code) == ("refused", "not-in-class")


# --- pauses and consent: the safer of both ---------------------------------------------


def paused_since(child: Child, day: datetime.date) -> datetime.date | None:
    return read(Child.objects.get(pk=child.pk), day).read.state.paused_since


def day_at(day: int, hour: int = 12) -> datetime.datetime:
    return datetime.datetime(2026, 2, day, hour, tzinfo=datetime.UTC)


def add_pause(child: Child, by, day: int) -> None:
    at = day_at(day)
    Pause.objects.create(child=child, reason="fever", by=by, at=at, day=at.date())


def add_lift(child: Child, by, day: int) -> None:
    at = day_at(day)
    PauseLift.objects.create(child=child, reason="well", by=by, at=at, day=at.date())


def test_a_child_is_paused_while_any_record_is(cast: Cast) -> None:
    other = make_child("Mai T.", cast.blue)
    add_pause(cast.mai, cast.omar, 2)
    add_pause(other, cast.omar, 4)
    add_lift(cast.mai, cast.petra, 6)
    merge(other, cast.mai, cast.petra, day_at(10))
    assert paused_since(cast.mai, TODAY) == datetime.date(2026, 2, 2)
    # A lift of the child that there is now ends all of it.
    mai = Child.objects.get(pk=cast.mai.pk)
    snapshot = child_snapshot(read(mai, TODAY))
    decisions.lift(mai, cast.petra, snapshot, NOW, "the family and a clinician said yes")
    assert paused_since(cast.mai, TODAY + datetime.timedelta(days=1)) is None


def test_each_record_lifted_by_itself_is_lifted(cast: Cast) -> None:
    other = make_child("Mai T.", cast.blue)
    add_pause(cast.mai, cast.omar, 2)
    add_pause(other, cast.omar, 4)
    add_lift(cast.mai, cast.petra, 6)
    add_lift(other, cast.petra, 8)
    merge(other, cast.mai, cast.petra, day_at(10))
    assert paused_since(cast.mai, TODAY) is None


def consent(child: Child) -> str:
    child = Child.objects.get(pk=child.pk)
    said = answer_on(consents_of([child])[child.pk], TODAY)
    assert read(child, TODAY).read.state.consent == said
    return said


def test_a_no_on_one_record_is_not_ended_by_a_yes_on_the_other(cast: Cast) -> None:
    other = make_child("Mai T.", cast.blue, hands=False)
    give_consent(other, yes=False, day=datetime.date(2026, 1, 5))
    give_consent(cast.mai, yes=True, day=datetime.date(2026, 2, 5))
    merge(other, cast.mai, cast.petra, day_at(10))
    assert consent(cast.mai) == "no"
    # The same guardian's yes to the child that there is now does.
    answer = give_consent(cast.mai, yes=True, day=datetime.date(2026, 2, 20))
    assert answer.at > day_at(10)
    assert consent(cast.mai) == "yes"


def test_a_record_nobody_was_asked_about_says_nothing(cast: Cast) -> None:
    merge(make_child("New child 1", cast.blue, hands=False), cast.mai, cast.petra, NOW)
    assert consent(cast.mai) == "yes"


def test_nobody_asked_on_either_record_is_no_yes(cast: Cast) -> None:
    one = make_child("Nora Weiss", cast.blue, hands=False)
    merge(make_child("Nora W.", cast.blue, hands=False), one, cast.petra, NOW)
    assert consent(one) == "not-asked"


# --- decisions ---------------------------------------------------------------------------


def test_what_was_decided_on_both_is_there(cast: Cast) -> None:
    other = make_child("Mai T.", cast.blue)
    decisions.place(
        other, 3, cast.petra, child_snapshot(read(other, TODAY)), NOW, "sprung-dance-floor", "seen"
    )
    merge(other, cast.mai, cast.petra, NOW)
    tomorrow = TODAY + datetime.timedelta(days=1)
    opened = read(Child.objects.get(pk=cast.mai.pk), tomorrow).read.state.opened
    assert opened["3"].how == "placing"
    assert "3" not in read(Child.objects.get(pk=cast.ilse.pk), tomorrow).read.state.opened


def test_a_chain_is_read_to_its_end_and_a_link_undone_leaves_the_rest(cast: Cast, log) -> None:
    first, second = make_child("Mai 1", cast.blue), make_child("Mai 2", cast.red)
    for child in (cast.mai, first, second):
        log(child, "wall-shrugs", [5])
    inner = merge(first, second, cast.petra, NOW)
    merge(second, cast.mai, cast.petra, NOW)

    def turns(child: Child) -> int:
        return len(read(Child.objects.get(pk=child.pk), TODAY).turns)

    assert turns(cast.mai) == 3
    undo(inner, cast.petra, NOW)
    assert (turns(cast.mai), turns(first)) == (2, 1)


def test_a_class_without_merged_children_costs_no_more_queries(cast: Cast, log) -> None:
    """A turn in the middle of a class, by the real door; a merge elsewhere changes nothing."""
    log(cast.mai, "wall-shrugs", [5], day=TODAY - datetime.timedelta(days=7))
    count = iter(range(100, 200))

    def queries() -> int:
        line = {
            "kind": "turn", "id": str(time_ordered_id(NOW, next(count))),
            "child": str(cast.mai.uuid), "at": NOW.isoformat(), "drill": "back-walkover",
            "support": 3, "surface": "sprung-dance-floor", "clean": True,
        }  # fmt: skip
        with CaptureQueriesContext(connection) as captured:
            take_lines(cast.meeting, cast.omar, "tablet", NOW, [line], 1, NOW)
        return len(captured)

    queries()
    few = queries()
    merge(make_child("Rosa V.", cast.red), cast.rosa, cast.petra, NOW)
    assert queries() == few


@pytest.mark.django_db(transaction=True)
def test_a_merge_beside_turns_that_are_being_logged_loses_and_doubles_none(cast: Cast) -> None:
    """Two tablets send turns of either record while both are merged and parted again and again."""
    other = make_child("Mai T.", cast.blue)
    start = threading.Barrier(3)
    kept: list[str] = []

    def send(child: Child) -> None:
        start.wait()
        for n in range(20):
            at = NOW - datetime.timedelta(minutes=n)
            line = {
                "kind": "turn", "id": str(time_ordered_id(at)), "at": at.isoformat(),
                "child": str(child.uuid), "drill": "wall-shrugs", "surface": "sprung-dance-floor",
                "support": 3, "value": 5,
            }  # fmt: skip
            for _twice in range(2):
                (answer,) = take_lines(cast.meeting, cast.omar, "tablet", NOW, [line], 1, NOW)
                kept.append(answer.answer)
        connection.close()

    def merge_and_part() -> None:
        start.wait()
        for _ in range(5):
            undo(merge(other, cast.mai, cast.petra, NOW), cast.petra, NOW)
        merge(other, cast.mai, cast.petra, NOW)
        connection.close()

    with ThreadPoolExecutor(3) as threads:
        jobs = [threads.submit(send, child) for child in (other, cast.mai)]
        for job in [*jobs, threads.submit(merge_and_part)]:
            job.result()
    assert Counter(kept) == {"kept": 40, "had": 40}
    assert Attempt.objects.count() == 40
    turns = DayTally.objects.values_list("child").annotate(turns=Sum("turns"))
    assert dict(turns) == {other.pk: 20, cast.mai.pk: 20}
    one = Child.objects.get(pk=cast.mai.pk)
    assert sum(tally.turns for tally in read(one, TODAY).record.tallies) == 40
    assert list(rebuild(Child.objects.order_by("pk"), check=True)) == []


def nobody_waits() -> bool:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT 1 FROM pg_locks JOIN pg_stat_activity USING (pid) "
            "WHERE NOT granted AND datname = current_database()"
        )
        return cursor.fetchone() is None


def locked_elsewhere(child: Child) -> bool:
    try:
        with transaction.atomic():
            Child.objects.select_for_update(nowait=True).get(pk=child.pk)
    except OperationalError:
        return True
    return False


@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite locks the whole file")
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("parted", [False, True])
@pytest.mark.parametrize("line", ["turn", "strike"])
def test_a_line_that_waited_for_a_merge_holds_the_child_that_there_is_now(
    cast: Cast, log, line: str, parted: bool
) -> None:
    """A turn, or a strike, comes while the records of its child are merged, or parted."""
    other = make_child("Mai T.", cast.blue)
    struck = {log(other, "wall-shrugs", [5])[0].pk} if line == "strike" else set()
    named = set() if struck else {other.uuid}
    row = merge(other, cast.mai, cast.petra, NOW)
    if not parted:
        undo(row, cast.petra, NOW)
    locked, looked = threading.Event(), threading.Event()

    def wait_for_it() -> None:
        with transaction.atomic():
            lock_with_records(cast.meeting, named, struck)
            locked.set()
            assert looked.wait(60)
        connection.close()

    with ThreadPoolExecutor(1) as threads:
        with transaction.atomic():
            if parted:
                undo(row, cast.petra, NOW)
            else:
                merge(other, cast.mai, cast.petra, NOW)
            job = threads.submit(wait_for_it)
            while nobody_waits():
                assert not job.done()
        assert locked.wait(60)
        held = locked_elsewhere(other if parted else cast.mai)
        looked.set()
        job.result()
    assert held

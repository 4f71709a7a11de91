"""What a pack says of a child may be stored since an earlier pack, and must never be old."""

import datetime
from typing import Any

import pytest

from progression.models import LadderVersion
from readiness.floor.pack import build_pack
from readiness.floor.pack_part import make_part, part_for
from readiness.models import Standing
from readiness.record.ladders import Ladders
from readiness.record.standings import fresh_packs, fresh_standings, read
from studio.models import Meeting
from tests.support.cast import NOW, TODAY, Cast, Logged, make_child
from tests.support.class_evenings import ClassEvenings, tells_something_old

# What happens, and the columns that would then have to tell of it, as they would be if they did
# not.
OVERLOOKED = {
    "turns": (["tap"], {"stale": False}),
    "strikes": (["strike"], {"stale": False}),
    "pains": (["hurt"], {"stale": False}),
    "late turns": (["late"], {"stale": False}),
    "the day": (["next_day"], {"read_on": lambda evenings: evenings.day, "stale": False}),
    "the ladder": (["other_ladder"], {"ladder": lambda _: LadderVersion.objects.latest("number")}),
    "the language": (
        ["other_language"],
        {"pack_language": lambda evenings: evenings.language},
    ),
}  # fmt: skip


@pytest.mark.django_db
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_with_anything_between_two_packs_what_is_stored_is_what_would_be_made(
    cast: Cast, ladder_content: dict[str, Any], seed: int
) -> None:
    evenings = ClassEvenings(cast, seed, ladder_content, 7)
    for number in range(60):
        happened = evenings.anything()
        stored, again = evenings.packs(evenings.draw.choice([0, 0, 0, 7]))
        assert stored == again, (seed, number, happened)
    assert Standing.objects.exclude(pack="").exists()


@pytest.mark.django_db
@pytest.mark.parametrize("overlooked", OVERLOOKED)
def test_were_it_overlooked_something_old_would_be_told(
    cast: Cast, ladder_content: dict[str, Any], overlooked: str
) -> None:
    evenings = ClassEvenings(cast, 4, ladder_content, 7)
    happens, columns = OVERLOOKED[overlooked]
    assert tells_something_old(evenings, happens, columns, evenings.packs)


def made_for(children: Any, day: datetime.date) -> list[str]:
    """The names of those whose part had to be made."""
    names: list[str] = []

    def make(reading: Any) -> str:
        names.append(reading.child.called)
        return make_part(reading)

    assert fresh_packs(children, day, Ladders(), make).keys() == {each.pk for each in children}
    return sorted(names)


def test_only_those_whose_record_has_changed_are_read(cast: Cast, log: Logged) -> None:
    log(cast.mai, "log-roll", "1", day=TODAY - datetime.timedelta(days=7))
    both = [cast.mai, cast.ilse]
    assert made_for(both, TODAY) == ["Ilse", "Mai"]
    assert made_for(both, TODAY) == []
    log(cast.mai, "log-roll", "1")
    assert made_for([*both, make_child("Nora Veen", cast.blue)], TODAY) == ["Mai", "Nora"]
    # The review reads them again, and leaves their parts to the next class.
    log(cast.mai, "log-roll", "1")
    fresh_standings(both, NOW)
    assert made_for(both, TODAY) == ["Mai"]


def test_of_a_day_that_is_over_for_the_child_nothing_is_stored(cast: Cast, log: Logged) -> None:
    before = TODAY - datetime.timedelta(days=7)
    log(cast.mai, "log-roll", "1", day=before)
    both = [cast.mai, cast.ilse]
    made_for(both, TODAY)
    assert made_for(both, before) == made_for(both, before) == ["Ilse", "Mai"]
    assert made_for(both, TODAY) == []
    build_pack(Meeting.objects.get(group=cast.blue, date=before), cast.omar, NOW)
    assert {*Standing.objects.values_list("read_on", flat=True)} == {TODAY}


def test_a_part_is_nobody_s_until_it_is_sent(cast: Cast, log: Logged) -> None:
    log(cast.mai, "back-walkover", "10", support=0)
    log(cast.mai, "back-walkover", "1", support=0, by=cast.ines)
    stored = make_part(read(cast.mai, TODAY))
    assert "Mai" not in stored
    meeting = Meeting.objects.get(group=cast.blue, date=TODAY)
    for staff, mine in ((cast.omar, ["true", "true", "false"]), (cast.ines, ["false"] * 2)):
        text = part_for(stored, 'Mai "M" V\\e\n', staff, meeting).text
        assert '"name":"Mai \\"M\\" V\\\\e\\n"' in text
        assert [each[:5].rstrip(",}") for each in text.split('"mine":')[1:]][: len(mine)] == mine
        assert text.count('"here":true') == 3
        assert not any(mark in text for mark in "\ue000\ue001\ue002\ue003")
    other = Meeting(pk=meeting.pk + 1000)
    assert part_for(stored, "Mai", cast.omar, other).text.count('"here":false') == 3


def test_after_a_long_break_the_class_still_begins_with_what_it_did_last(
    cast: Cast, log: Logged
) -> None:
    """Longer ago than the turns themselves are looked at."""
    log(cast.mai, "log-roll", "1", day=TODAY - datetime.timedelta(days=200))
    # As on the day after, when what is long past is only summed up.
    fresh_standings([cast.mai], NOW - datetime.timedelta(days=1))
    made: list[str] = []
    fresh_packs([cast.mai], TODAY, Ladders(), lambda reading: made.append(make_part(reading)) or "")
    (part,) = made
    assert list(part_for(part, "Mai", cast.omar, Meeting()).last.drills) == ["log-roll"]


def test_what_comes_in_while_children_are_read_is_read_as_well(cast: Cast, log: Logged) -> None:
    both = [cast.mai, cast.ilse]
    log(cast.mai, "log-roll", "1", day=TODAY - datetime.timedelta(days=7))
    made_for(both, TODAY)
    log(cast.mai, "log-roll", "1")
    log(cast.mai, "log-roll", "1")
    made: list[str] = []

    def make(reading: Any) -> str:
        made.append(reading.child.called)
        if len(made) == 1:
            log(cast.mai, "log-roll", "0")
        return make_part(reading)

    parts = fresh_packs(both, TODAY, Ladders(), make)
    assert made == ["Mai", "Mai"]
    assert parts[cast.mai.pk] == make_part(read(cast.mai, TODAY))
    assert parts[cast.mai.pk].count('"clean":') == 3
    assert made_for(both, TODAY) == []


def test_what_somebody_else_makes_meanwhile_is_not_made_again(cast: Cast, log: Logged) -> None:
    log(cast.mai, "log-roll", "1", day=TODAY - datetime.timedelta(days=7))
    both = [cast.mai, cast.ilse]
    made_for(both, TODAY)
    log(cast.mai, "log-roll", "1")
    made: list[str] = []

    def make(reading: Any) -> str:
        made.append(reading.child.called)
        if len(made) == 1:
            assert made_for(both, TODAY) == ["Mai"]
        return make_part(reading)

    parts = fresh_packs(both, TODAY, Ladders(), make)
    assert made == ["Mai"]
    assert parts[cast.mai.pk] == make_part(read(cast.mai, TODAY))

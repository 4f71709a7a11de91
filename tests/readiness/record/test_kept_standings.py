"""Whatever comes in, in whatever order: tallies, standings and flags are those of a fold from
nothing, and a turn of today asks nothing of the years before."""

import datetime
from typing import Any

import pytest

from progression.models import Attempt
from readiness.models import Standing
from readiness.record.ladders import Ladders
from readiness.record.rebuild import Difference, is_near, rebuild
from readiness.record.standings import fresh_standings, load_checkpoints, read, read_whole
from studio.models import Child
from tests.support.cast import Cast
from tests.support.evenings import FIRST, Evenings
from tests.support.ready import place_at


def differences() -> list[Difference]:
    return list(rebuild(Child.objects.order_by("pk"), check=True))


@pytest.mark.django_db
@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_any_sequence_gives_what_a_fold_from_nothing_gives(
    cast: Cast, ladder_content: dict[str, Any], seed: int
) -> None:
    evenings = Evenings(cast, seed, ladder_content)
    from_start = 0
    for number in range(70):
        evenings.class_day()
        if evenings.draw.random() < 0.4:
            children = [cast.mai, evenings.twin]
            ids = [child.pk for child in children]
            from_start += len(load_checkpoints(ids, evenings.day, Ladders()))
            for each in read_whole(children, evenings.day):
                nothing_kept = read(each.child, evenings.day)
                assert each.data == nothing_kept.data, (seed, number)
                assert each.evidence.all_days() == nothing_kept.evidence.all_days()
            fresh_standings(children, evenings.now())
            for standing in Standing.objects.filter(child__in=children):
                whole = read(standing.child, standing.read_on)
                assert is_near(standing.reading, whole.data), (seed, number)
        if number % 10 == 9:
            assert differences() == [], (seed, number)
    assert from_start > 20
    starts = load_checkpoints([cast.mai.pk, evenings.twin.pk], evenings.day, Ladders())
    first = min(start.summary.first for start in starts.values())
    assert first > FIRST + datetime.timedelta(days=60)
    # Something was told of an earlier day since: what is stored is not gone on from.
    of_mai, of_twin = (
        Standing.objects.get(child=cast.mai),
        Standing.objects.get(child=evenings.twin),
    )
    kept, of_mai.start = of_mai.start, of_twin.start | {"events": of_twin.start["events"] + 1}
    of_mai.save(update_fields=["start"])
    (reading,) = read_whole([cast.mai], evenings.day)
    assert reading.data == read(cast.mai, evenings.day).data
    of_mai.start = kept
    of_mai.save(update_fields=["start"])
    # What is long past and only summed up is compared as well.
    assert differences() == []
    for standing in Standing.objects.exclude(start=None):
        assert standing.start is not None
        sums = next(s for *_, s in standing.start["summary"]["clean"] if s is not None)
        sums[0] += 1
        standing.save(update_fields=["start"])
        told = [each.what for each in differences() if each.child == standing.child_id]
        assert told == [f"start of {standing.start_on}"]


@pytest.mark.django_db
@pytest.mark.parametrize("seed", [5, 6])
def test_the_flags_of_a_turn_are_those_that_the_whole_record_gives(
    cast: Cast, ladder_content: dict[str, Any], seed: int
) -> None:
    evenings = Evenings(cast, seed, ladder_content)
    evenings.decide = evenings.strike = lambda: None  # type: ignore[method-assign]
    for child in (cast.mai, evenings.twin):
        place_at(cast, child, 7, FIRST)
    for _ in range(40):
        evenings.class_day()
        fresh_standings([cast.mai], evenings.now())
    found = {
        child: list(Attempt.objects.filter(child=child).order_by("done_at", "drill__key", "value",
                    "clean", "support").values_list("flags", flat=True))
        for child in (cast.mai, evenings.twin)
    }  # fmt: skip
    assert found[cast.mai] == found[evenings.twin]
    assert len({tuple(flags) for flags in found[cast.mai]}) > 2

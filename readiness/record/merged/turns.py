"""Turns that come in under several records of one child: each is stored under the record that it
names, and judged by what the child did under all of them."""

from collections import defaultdict
from collections.abc import Mapping, Sequence

from readiness.engine.tallies import Tally
from readiness.record.day_tallies import DayTurns, Touched, tallies_of
from readiness.record.ladders import Ladders
from studio.models import Child

Tallies = Mapping[Touched, list[Tally]]


def with_records(children: Sequence[Child]) -> list[Child]:
    """These, and the other records of those who have several."""
    others = Child.objects.filter(merged_into__in=[child.pk for child in children])
    return [*children, *others.only("uuid", "merged_into")]


def of_whole_children(
    turns: DayTurns,
    touched: set[Touched],
    tallies: Tallies,
    children: Sequence[Child],
    ladders: Ladders,
) -> tuple[DayTurns, Tallies]:
    """The turns by child where they are given by record, and the tallies of what was touched."""
    into = {child.pk: child.root for child in children if child.root != child.pk}
    if not into:
        return turns, tallies
    found: DayTurns = defaultdict(list)
    for (key, drill, day), some in turns.items():
        found[into.get(key, key), drill, day] += some
    places = {(into.get(key, key), drill, day) for key, drill, day in touched}
    return found, tallies_of({place: found[place] for place in places}, ladders)

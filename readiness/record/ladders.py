"""The ladder versions, as the engine and the pages read them."""

import datetime
from bisect import bisect_right
from collections.abc import Mapping
from functools import cached_property, lru_cache
from typing import Any, NamedTuple

from django.db.models import QuerySet

from progression.log.logbook import Keys
from progression.models import LadderVersion
from readiness.engine.ladder import Ladder
from studio.db.prepared import prepared

# Seconds of one turn at a station, with getting ready, where a ladder does not say (common
# practice, no source).
HELD_SECONDS = 30
SECONDS = {"clean": 20, "grade": 20, "seconds": 40, "reps": 40}


def turn_seconds(drill: Mapping[str, Any], held: bool) -> int:
    """What one turn takes at a station, with getting ready. ``held``: with a spotter."""
    if held:
        return int(drill.get("held_seconds", HELD_SECONDS))
    return int(drill.get("turn_seconds", SECONDS[drill["measure"]]))


class NamedLadder:
    """One version: the engine's ladder, and the names and texts of the file."""

    def __init__(
        self,
        number: int,
        content: Mapping[str, Any],
        split_on: Mapping[str, datetime.date] | None = None,
    ) -> None:
        self.number = number
        self.content = content
        self.engine = Ladder.from_content(content, split_on)

    @cached_property
    def drills(self) -> dict[str, dict[str, Any]]:
        return {drill["key"]: drill for drill in self.content["drill"]}

    @cached_property
    def faults(self) -> dict[str, dict[str, Any]]:
        return {fault["key"]: fault for fault in self.content["fault"]}

    @cached_property
    def surface_names(self) -> dict[str, str]:
        return {surface["key"]: surface["name"] for surface in self.content["surface"]}

    @cached_property
    def strand_names(self) -> dict[str, str]:
        return {strand["key"]: strand["name"] for strand in self.content["strand"]}

    @cached_property
    def pain_names(self) -> dict[str, str]:
        return {pain["place"]: pain["name"] for pain in self.content["pain"]}

    @cached_property
    def stage_names(self) -> dict[str, str]:
        """By the stage's code; a release is named by its drill."""
        names = {str(stage["number"]): stage["name"] for stage in self.content["stage"]}
        for stage in self.content["stage"]:
            for release in stage.get("release", []):
                names[release["code"]] = self.drills[release["drill"]]["name"]
        return names

    @cached_property
    def gates(self) -> dict[str, dict[str, Any]]:
        """Every gate of a stage, of a release, and that a drill needs, as in the file, by code."""
        whole = self.content["stage"]
        parts = [release for stage in whole for release in stage.get("release", [])]
        gates = [gate for each in [*whole, *parts] for gate in each.get("gate", [])]
        needs = [need for drill in self.content["drill"] for need in drill.get("needs", [])]
        return {gate["code"]: gate for gate in [*gates, *needs]}


class Ladders:
    """All versions, for one request or one command."""

    def __init__(self) -> None:
        self._rows = [_Version(*row) for row in _versions()]
        if not self._rows:
            raise LadderVersion.DoesNotExist("no ladder has been loaded")
        self._first_days = [row.from_day for row in self._rows]

    def named_on(self, day: datetime.date) -> NamedLadder:
        """The version in force at the end of a day; the first one before the first day."""
        at = max(bisect_right(self._first_days, day) - 1, 0)
        return self._named(at)

    def on(self, day: datetime.date) -> Ladder:
        return self.named_on(day).engine

    @property
    def versions(self) -> "tuple[_Version, ...]":
        """What tells each from others: with the same ones every day reads the same."""
        return tuple(self._rows)

    @property
    def keys(self) -> Keys:
        """The rows of drills and surfaces, which come with a version and never go."""
        return _keys_with(self.versions)

    @cached_property
    def carrying(self) -> list[str]:
        """The faults that carry over to other skills, in any version."""
        named = [self._named(at) for at in range(len(self._rows))]
        return sorted({fault for each in named for fault in each.engine.carrying})

    @property
    def newest(self) -> NamedLadder:
        """The last version, which may count only from a later day."""
        return self._named(len(self._rows) - 1)

    @property
    def newest_from(self) -> datetime.date:
        return self._first_days[-1]

    def numbered(self, text: str) -> NamedLadder | None:
        """The version whose number somebody wrote; None if there is none."""
        for at, row in enumerate(self._rows):
            if str(row.number) == text:
                return self._named(at)
        return None

    def _named(self, at: int) -> NamedLadder:
        return _named(self.versions[: at + 1])


class _Version(NamedTuple):
    number: int
    from_day: datetime.date
    digest: str
    pk: int


@prepared
def _versions() -> QuerySet[Any, Any]:
    return LadderVersion.objects.order_by("number").values_list(*_Version._fields)


@lru_cache(maxsize=8)
def _keys_with(_known: tuple[tuple[Any, ...], ...]) -> Keys:
    return Keys.load()


@lru_cache(maxsize=32)
def _named(versions: tuple[_Version, ...]) -> NamedLadder:
    """The last of these. Kept by their digests: a version never changes once it is loaded."""
    rows = LadderVersion.objects.order_by("number").values_list("content", flat=True)
    content = rows.get(number=versions[-1].number)
    return NamedLadder(versions[-1].number, content, _split_days(content, versions))


def _split_days(
    content: Mapping[str, Any], versions: tuple[_Version, ...]
) -> dict[str, datetime.date]:
    """From which day each drill that was split from another has been in force; of one that the
    first version has: always, so no day."""
    split = [drill["key"] for drill in content["drill"] if "formerly" in drill]
    if not split or len(versions) == 1:
        return {}
    rows = LadderVersion.objects.filter(number__lte=versions[-1].number).order_by("number")
    keys = [{drill["key"] for drill in row.content["drill"]} for row in rows]
    firsts = {key: next(at for at, known in enumerate(keys) if key in known) for key in split}
    return {key: versions[at].from_day for key, at in firsts.items() if at > 0}

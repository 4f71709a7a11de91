"""What the pack says of the ladder, and of the drills and faults that the class used last."""

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import lru_cache
from typing import Any

from django.conf import settings
from django.db.models import QuerySet, Sum
from django.utils.translation import get_language, override

from progression.models import SUPPORTS
from readiness.engine import day_start
from readiness.engine.evidence import Summary
from readiness.engine.levels import Support
from readiness.engine.tallies import Tally
from readiness.models import FaultTally
from readiness.record.ladders import NamedLadder
from readiness.words.drill_card import card_of, fault_cards
from studio.db.prepared import prepared
from studio.models import Child
from studio.people.records import records_of

# Drills used last come first in the page's strip; faults seen in the last year come first.
RECENT_DRILLS = 10
FAULTS_WITHIN = datetime.timedelta(days=365)

# What the pack says of a ladder is cached for as many versions and languages; one version at a time
# is in force. Made anew it would be a quarter of a pack (docs/benchmarks.md).
LADDERS_IN_USE = 16

Data = dict[str, Any]


def faults_seen(children: Sequence[Child], day: datetime.date) -> defaultdict[str, Counter[str]]:
    """How often each fault of a drill was seen in this class in the last year."""
    counts: defaultdict[str, Counter[str]] = defaultdict(Counter)
    keys = list(records_of([child.pk for child in children]))
    for drill, fault, times in _faults(keys, day - FAULTS_WITHIN):
        counts[drill][fault] = times
    return counts


@prepared
def _faults(children: Sequence[int], first: datetime.date) -> QuerySet[Any, Any]:
    tallies = FaultTally.objects.filter(child__in=children, day__gte=first)
    return tallies.values_list("drill__key", "fault").annotate(Sum("count"))


def ladder_fields(ladder: NamedLadder, counts: defaultdict[str, Counter[str]]) -> Data:
    """The faults of a drill that were seen most come first."""
    common, drills = _in_language(ladder, get_language() or settings.LANGUAGE_CODE)
    return {
        **common,
        "drills": [
            {
                **drill,
                "faults": sorted(faults, key=lambda fault: -counts[drill["key"]][fault["key"]]),
            }
            for drill, faults in drills
        ],
    }


@lru_cache(maxsize=LADDERS_IN_USE)
def _in_language(ladder: NamedLadder, language: str) -> tuple[Data, list[tuple[Data, list[Data]]]]:
    """What is the same in every pack of a language: all but the drills, and each drill with its
    faults."""
    with override(language):
        return _common_fields(ladder), _drills_and_faults(ladder)


def _common_fields(ladder: NamedLadder) -> Data:
    content = ladder.content
    return {
        "supports": [
            {"amount": amount, "code": Support(amount).code, "name": str(name)}
            for amount, name in SUPPORTS
        ],
        "surfaces": [_only(surface, "key", "name") for surface in content["surface"]],
        "strands": [_only(strand, "key", "name") for strand in content["strand"]],
        "pain": [_only(pain, "place", "name", "pause") for pain in content["pain"]],
        "rules": day_start.rules(ladder.engine),
        "fault_texts": {key: card.says for key, card in fault_cards(ladder).items()},
    }


def _drills_and_faults(ladder: NamedLadder) -> list[tuple[Data, list[Data]]]:
    return [(_drill(drill, ladder), _faults_of(drill, ladder)) for drill in ladder.content["drill"]]


def _drill(drill: Data, ladder: NamedLadder) -> Data:
    return {
        **_only(drill, "key", "name", "measure", "most", "support_logged", "strand", "cues"),
        "spotters": drill["spotters"],
        "rubric": _rubric(drill.get("rubric"), ladder),
        "card": [asdict(part) for part in card_of(ladder, ladder.drills[drill["key"]])],
    }


def _faults_of(drill: Data, ladder: NamedLadder) -> list[Data]:
    # "Caught" is a mark of its own on a turn; as a fault it would stand there twice.
    return [
        _only(fault, "key", "sees", "stop") | {"mends": [mend["drill"] for mend in fault["mend"]]}
        for fault in ladder.content["fault"]
        if drill["key"] in fault["belongs"] and fault["key"] != "caught"
    ]


def _rubric(key: str | None, ladder: NamedLadder) -> Data | None:
    for rubric in ladder.content["rubric"]:
        if rubric["key"] == key:
            fields = ("pose", "grade", "words", "also", "angles")
            poses = [_only(pose, *fields) for pose in rubric["pose"]]
            read = _only(rubric, "picture", "unseen", "regions")
            return {"key": key, "view": rubric["view"], "poses": poses, **read}
    return None


def _only(data: Mapping[str, Any], *names: str) -> Data:
    return {name: data[name] for name in names if name in data}


@dataclass(frozen=True)
class LastDone:
    """A child's drills, each with its latest day and the turns of that day; and the surfaces of
    the latest day of all, by turns. Days as text, which sorts as they do; "" for none."""

    drills: Mapping[str, tuple[str, int]]
    day: str
    surfaces: Mapping[str, int]


def last_done(tallies: Iterable[Tally], before: Summary) -> LastDone:
    """``before``: what is summed up of the days before the tallies; of those days, no turns."""
    drills = {drill: (summary.last.isoformat(), 0) for drill, summary in before.drills.items()}
    surfaces: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for tally in tallies:
        on = tally.day.isoformat()
        day, turns = drills.get(tally.drill, (on, 0))
        total = turns + tally.turns if on == day else tally.turns
        drills[tally.drill] = max((day, turns), (on, total))
        surfaces[on][tally.surface] += tally.turns
    latest = max((day for day, _ in drills.values()), default="")
    return LastDone(drills, latest, dict(surfaces[latest]))


def used_last(lasts: Sequence[LastDone]) -> Data:
    """The drills that this class did last, and the surface it was on."""
    drills: dict[str, tuple[str, int]] = {}
    surfaces: Counter[str] = Counter()
    latest = max((last.day for last in lasts), default="")
    for last in lasts:
        for drill, (day, turns) in last.drills.items():
            last_day, times = drills.get(drill, (day, 0))
            total = times + turns if day == last_day else turns
            drills[drill] = max((last_day, times), (day, total))
        if last.day == latest:
            surfaces.update(last.surfaces)
    recent = sorted(sorted(drills), key=lambda drill: drills[drill], reverse=True)
    surface = min(surfaces, key=lambda key: (-surfaces[key], key), default=None)
    return {"recent": recent[:RECENT_DRILLS], "surface": surface}

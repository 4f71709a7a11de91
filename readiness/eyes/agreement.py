"""How alike the studio grades, drill by drill: pairs of grades of the same turns.

Shared: used by the page, and by the evidence page where a gate rests on such grades.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from django.db.models import Exists, OuterRef

from progression.models import Attempt, Strike
from readiness.engine.statistics.agreement import Kappa, quadratic_kappa
from readiness.models import SecondGrade

GRADES = 4
# Twice the square of the number of grades: Cicchetti, *Applied Psychological Measurement*
# 1981;5:101-104.
LEAST_PAIRS = 2 * GRADES**2
# Under this a gate that rests on the drill says so.
WEAK = 0.4

Word = Literal["too-few", "all-alike", "one-sided", "weak", "middling", "good", "very-good"]


@dataclass(frozen=True)
class Agreement:
    """Of one drill. same: pairs with one grade. kappa: only with enough pairs. first, second: how
    often each grade was given. differ: the two grades that stand against each other most often,
    and how often."""

    drill: str
    pairs: int
    same: int
    first: tuple[int, ...]
    second: tuple[int, ...]
    differ: tuple[int, int, int] | None
    kappa: Kappa | None

    @property
    def word(self) -> Word:
        """A plain word, from rules of thumb: no scale serves all weights."""
        if self.kappa is None:
            return "too-few"
        if self.kappa.kappa is None:
            return "all-alike"
        if self.kappa.code == "one-sided":
            return "one-sided"
        for word, under in (("weak", WEAK), ("middling", 0.6), ("good", 0.8)):
            if self.kappa.kappa < under:
                return word  # type: ignore[return-value]
        return "very-good"


def pairs_by_drill(drills: Iterable[str] | None = None) -> dict[str, list[tuple[int, int]]]:
    """All pairs there are, of turns that were not taken back, or those of some drills."""
    struck = Strike.objects.filter(attempt_id=OuterRef("attempt"))
    seconds = SecondGrade.objects.filter(~Exists(struck)).order_by("pk")
    given = list(seconds.values_list("attempt_id", "value"))
    # Each turn by its key: asked in one, a database would look through those of everybody.
    turns = Attempt.objects.filter(pk__in={attempt for attempt, _value in given})
    if drills is not None:
        turns = turns.filter(drill__key__in=list(drills))
    firsts = {
        pk: (drill, value) for pk, drill, value in turns.values_list("pk", "drill__key", "value")
    }
    found: defaultdict[str, list[tuple[int, int]]] = defaultdict(list)
    for attempt, second in given:
        if attempt in firsts:
            drill, first = firsts[attempt]
            found[drill].append((int(first or 0), second))
    return dict(found)


def agreement_of(drill: str, pairs: list[tuple[int, int]]) -> Agreement:
    apart = Counter(tuple(sorted(pair)) for pair in pairs if pair[0] != pair[1])
    most = max(apart, key=lambda two: (apart[two], two), default=None)
    return Agreement(
        drill,
        len(pairs),
        sum(one == other for one, other in pairs),
        tuple(sum(one == grade for one, _ in pairs) for grade in range(GRADES)),
        tuple(sum(other == grade for _, other in pairs) for grade in range(GRADES)),
        (most[0], most[1], apart[most]) if most else None,
        quadratic_kappa(pairs, GRADES) if len(pairs) >= LEAST_PAIRS else None,
    )


def weak_among(drills: Iterable[str]) -> list[str]:
    """Those whose grades two people often do not share, as far as can be told, in their order."""
    wanted = list(dict.fromkeys(drills))
    if not wanted:
        return []
    pairs = pairs_by_drill(wanted)
    return [
        drill
        for drill in wanted
        if drill in pairs and agreement_of(drill, pairs[drill]).word == "weak"
    ]

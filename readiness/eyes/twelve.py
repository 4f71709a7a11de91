"""Twelve drawn figures: begun, graded once, and what the grades say to whoever gave them."""

import datetime
import random
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import QuerySet

from progression.models import LadderVersion
from readiness.engine.eyes.figure import Drawn, twelve
from readiness.engine.eyes.regions import Regions
from readiness.engine.statistics.agreement import Kappa, quadratic_kappa
from readiness.models import Twelve, TwelveAnswers
from readiness.record.ladders import NamedLadder
from studio.models import Staff

Rubric = dict[str, Any]


def rubrics_with_regions(ladder: NamedLadder) -> list[Rubric]:
    return [rubric for rubric in ladder.content["rubric"] if "regions" in rubric]


def begin(rubric: Rubric, ladder: NamedLadder, by: Staff, now: datetime.datetime) -> Twelve:
    version = LadderVersion.objects.get(number=ladder.number)
    seed = random.SystemRandom().randint(1, 2**32 - 1)
    return Twelve.objects.create(ladder=version, rubric=rubric["key"], seed=seed, by=by, at=now)


def visible_sets(staff: Staff) -> "QuerySet[Twelve]":
    """Nobody else's: they are for whoever graded them."""
    return Twelve.objects.filter(by=staff).select_related("ladder", "answers")


def rubric_of(one: Twelve) -> Rubric:
    return next(each for each in one.ladder.content["rubric"] if each["key"] == one.rubric)


def figures_of(one: Twelve) -> list[Drawn]:
    """The same twelve each time, with what they are."""
    rubric = rubric_of(one)
    poses = [pose["angles"] for pose in rubric["pose"]]
    return twelve(one.seed, poses, Regions.from_content(rubric["regions"]))


def answer(one: Twelve, grades: list[int], now: datetime.datetime) -> bool:
    """Keep the grades; False if there are some already, which stay."""
    try:
        with transaction.atomic():
            TwelveAnswers.objects.create(twelve=one, grades=grades, at=now)
    except IntegrityError:
        return False
    return True


@dataclass(frozen=True)
class Miss:
    """A figure that was graded otherwise than it is. number: its place, from 1. sign: what says
    the grade; empty where the ladder names none."""

    number: int
    drawn: Drawn
    given: int
    sign: str


@dataclass(frozen=True)
class Result:
    """kind, strict: figures given more, and less, than they are. missed: the signs that were not
    seen where more was given, the commonest first."""

    kappa: Kappa
    right: int
    kind: int
    strict: int
    misses: list[Miss]
    missed: list[str]


def result_of(one: Twelve) -> Result:
    drawn, given = figures_of(one), one.answers.grades
    regions = rubric_of(one)["regions"]
    misses = [
        Miss(at, each, grade, regions[each.region].get("sign", ""))
        for at, (each, grade) in enumerate(zip(drawn, given, strict=True), start=1)
        if grade != each.grade
    ]
    kind = [miss for miss in misses if miss.given > miss.drawn.grade]
    signs = Counter(miss.sign for miss in kind if miss.sign)
    return Result(
        quadratic_kappa(_pairs(one)),
        len(drawn) - len(misses),
        len(kind),
        len(misses) - len(kind),
        misses,
        [sign for sign, _times in signs.most_common()],
    )


def kappa_over(sets: Iterable[Twelve]) -> Kappa:
    """Of all figures of several sets together."""
    return quadratic_kappa([pair for one in sets for pair in _pairs(one)])


def _pairs(one: Twelve) -> list[tuple[int, int]]:
    return [
        (each.grade, grade) for each, grade in zip(figures_of(one), one.answers.grades, strict=True)
    ]

"""What the pages of grades show."""

import datetime
from typing import Any

from django.urls import reverse

from readiness.engine.eyes.figure import Angles
from readiness.eyes.agreement import agreement_of, pairs_by_drill
from readiness.eyes.forms import GRADES, TwelveForm
from readiness.eyes.second import waiting
from readiness.eyes.twelve import (
    Rubric,
    figures_of,
    kappa_over,
    result_of,
    rubric_of,
    rubrics_with_regions,
    visible_sets,
)
from readiness.eyes.words import (
    agreement_text,
    kappa_text,
    result_texts,
    same_text,
    talk_text,
)
from readiness.models import Twelve, TwelveAnswers
from readiness.record.ladders import NamedLadder
from studio.access import may_direct, visible_colleagues
from studio.models import Meeting, Staff
from studio.people.told_apart import full_names

LATEST = 20


def eyes_context(staff: Staff, ladder: NamedLadder) -> dict[str, object]:
    names = {rubric["key"]: rubric["name"] for rubric in ladder.content["rubric"]}
    latest = visible_sets(staff).order_by("-at", "-pk")[:LATEST]
    return {
        "rubrics": rubrics_with_regions(ladder),
        "sets": [
            {"set": one, "name": names.get(one.rubric, one.rubric), "done": _done(one)}
            for one in latest
        ],
        "directs": may_direct(staff),
    }


def _done(one: Twelve) -> bool:
    return hasattr(one, "answers")


def twelve_context(one: Twelve, form: TwelveForm | None) -> dict[str, object]:
    """The figures, with nothing said of what they are; once graded, what they were."""
    if _done(one):
        return _graded_context(one)
    rubric, given = rubric_of(one), form.data if form else {}
    figures = [
        {"number": at, "name": f"grade-{at}", "given": given.get(f"grade-{at}", "")}
        for at in range(1, len(figures_of(one)) + 1)
    ]
    return {
        "twelve": one,
        "rubric": rubric,
        "figures": figures,
        "grades": [str(grade) for grade in range(GRADES)],
        "drawn": _to_draw(each.angles for each in figures_of(one)),
        "missing": form.missing if form else [],
    }


def _graded_context(one: Twelve) -> dict[str, object]:
    """Beside each figure that was graded otherwise stands how the rubric draws the grade given."""
    rubric, result = rubric_of(one), result_of(one)
    poses = {pose["grade"]: pose for pose in reversed(rubric["pose"])}
    rows = [{"miss": miss, "pose": poses[miss.given]} for miss in result.misses]
    angles = [each for row in rows for each in (row["miss"].drawn.angles, row["pose"]["angles"])]
    all_sets = list(visible_sets(one.by).filter(rubric=one.rubric, answers__isnull=False))
    return {
        "twelve": one,
        "rubric": rubric,
        "texts": [*result_texts(result), kappa_text(result.kappa)],
        "all_sets": len(all_sets),
        "over_all": kappa_text(kappa_over(all_sets)) if len(all_sets) > 1 else "",
        "rows": rows,
        "drawn": _to_draw(angles),
    }


def _to_draw(angles: Any) -> dict[str, list[dict[str, Angles]]]:
    """As static/floor/drawing/poses_on_page.js reads it."""
    return {"pose": [{"angles": each} for each in angles]}


def graded_drills(ladder: NamedLadder) -> dict[str, Rubric]:
    """The drills measured by grade, each with its rubric."""
    rubrics = {rubric["key"]: rubric for rubric in ladder.content["rubric"]}
    return {
        key: rubrics[drill["rubric"]]
        for key, drill in ladder.drills.items()
        if drill["measure"] == "grade"
    }


def second_context(
    meeting: Meeting, ladder: NamedLadder, staff: Staff, now: datetime.datetime
) -> dict[str, object]:
    """Who was graded just now, at what, and never how."""
    drills = graded_drills(ladder)
    turns = list(waiting(meeting, list(drills), staff, now))
    names = full_names([turn.child for turn in turns])
    return {
        "meeting": meeting,
        "address": reverse("second-grade", args=[meeting.uuid]),
        "turns": [
            {
                "id": turn.pk,
                "child": names[turn.child.pk],
                "drill": ladder.drills[turn.drill.key]["name"],
                "ago": max(0, round((now - turn.done_at).total_seconds())),
            }
            for turn in turns
        ],
        "grades": range(GRADES),
    }


def agreement_context(staff: Staff, ladder: NamedLadder) -> dict[str, object]:
    drills, pairs = graded_drills(ladder), pairs_by_drill()
    rows: list[dict[str, object]] = []
    for key, rubric in drills.items():
        one = agreement_of(key, pairs.get(key, []))
        poses = {pose["grade"]: pose for pose in reversed(rubric["pose"])}
        differ = [poses[grade] for grade in (one.differ or ())[:2] if grade in poses]
        rows.append(
            {
                "name": ladder.drills[key]["name"],
                "one": one,
                "text": agreement_text(one),
                "same": same_text(one),
                "talk": talk_text(one),
                "margins": list(zip(range(GRADES), one.first, one.second, strict=True)),
                "poses": differ,
                "id": f"poses-{key}",
                "drawn": _to_draw(pose["angles"] for pose in differ),
            }
        )
    return {"rows": rows, "done": _who_has_done_it(staff, ladder)}


def _who_has_done_it(staff: Staff, ladder: NamedLadder) -> list[dict[str, object]]:
    """Who graded twelve figures of what, and when last: no grade, no score, by name."""
    names = {rubric["key"]: rubric["name"] for rubric in ladder.content["rubric"]}
    people = visible_colleagues(staff).order_by("first_name", "last_name", "pk")
    answers = TwelveAnswers.objects.filter(twelve__by__in=people).order_by("at", "pk")
    last: dict[tuple[int, str], datetime.datetime] = {}
    for by, rubric, at in answers.values_list("twelve__by", "twelve__rubric", "at"):
        last[by, rubric] = at
    return [
        {"who": person.called, "rubric": names.get(rubric, rubric), "at": at}
        for person in people
        for (by, rubric), at in sorted(last.items())
        if by == person.pk
    ]

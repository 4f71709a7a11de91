"""What the pages of drills show: all of them by stage, and one drill's card."""

from collections.abc import Iterable, Mapping
from typing import Any

from django.utils.translation import gettext as _

from readiness.record.ladders import NamedLadder
from readiness.words.drill_card import card_of, fault_cards
from studio.lists import csv_text


def by_stage(ladder: NamedLadder) -> list[dict[str, Any]]:
    """The stages, each with the drills that it opens, in the order of the ladder."""
    drills = ladder.content["drill"]
    return [
        {
            "name": ladder.stage_names[str(stage["number"])],
            "number": stage["number"],
            "drills": [drill for drill in drills if drill["stage"] == stage["number"]],
        }
        for stage in ladder.content["stage"]
    ]


def drills_file(stages: Iterable[Mapping[str, Any]]) -> str:
    """The same for a spreadsheet, a drill a line."""
    rows = (
        (stage["number"], stage["name"], drill["name"], drill["counts"])
        for stage in stages
        for drill in stage["drills"]
    )
    return csv_text([_("number"), _("stage"), _("drill"), _("what counts")], rows)


def card_context(ladder: NamedLadder, key: str) -> dict[str, object]:
    drill = ladder.drills[key]
    faults = fault_cards(ladder)
    rubrics = {rubric["key"]: rubric for rubric in ladder.content["rubric"]}
    return {
        "drill": drill,
        "stage": ladder.stage_names[str(drill["stage"])],
        "sections": card_of(ladder, drill),
        "rubric": rubrics.get(drill.get("rubric")),
        "faults": [
            faults[fault["key"]] for fault in ladder.faults.values() if key in fault["belongs"]
        ],
    }

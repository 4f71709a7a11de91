"""What the pages of drills show: all of them by stage, and one drill's card."""

from readiness.record.ladders import NamedLadder
from readiness.words.drill_card import card_of, fault_cards


def by_stage(ladder: NamedLadder) -> list[dict[str, object]]:
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

"""The shipped ladder as it was before one of its drills was split."""

from typing import Any

HALF = "wall-handstand-half"
WHOLE = "wall-handstand"


def whole_handstand_alone(content: dict[str, Any]) -> None:
    """The ladder as it was before the half-way handstand was a drill of its own."""
    content["drill"] = [drill for drill in content["drill"] if drill["key"] != HALF]
    for fault in content["fault"]:
        fault["belongs"] = [key for key in fault["belongs"] if key != HALF]
        fault["mend"] = [
            {"drill": "front-support"} if mend["drill"] == HALF else mend for mend in fault["mend"]
        ]
    for gate in [gate for stage in content["stage"] for gate in stage.get("gate", [])]:
        gate.pop("or_drill", None)

"""The card that hangs at a station: one drill, short, to be read from two metres away."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext_lazy, ngettext

from readiness.letters.beside.page import AT_HOME
from readiness.record.ladders import NamedLadder
from readiness.words.names import Data

# What one page holds beside the stop signs, which are always all there.
FAULTS_ON_A_CARD = 8
MEASURES: dict[str, Lazy] = {
    "clean": gettext_lazy("clean, or not"),
    "seconds": gettext_lazy("seconds"),
    "reps": gettext_lazy("repetitions"),
    "grade": gettext_lazy("a grade, 0 to 3"),
}
ADULTS: dict[str, Lazy] = {
    "room": gettext_lazy("an adult in the room sees it"),
    "station": gettext_lazy("an adult stands here"),
    "hands": gettext_lazy("a spotter trained for it, each turn"),
}
# What follows from each is said once, above them all.
STOPS: dict[str, Lazy | str] = {
    "yes": "",
    "second": gettext_lazy("the second one tonight"),
    "unheld": gettext_lazy("with nobody's hands"),
}


@dataclass(frozen=True)
class Seen:
    """A fault; ``when``: of a stop sign, when it is one, or empty for always."""

    sees: str
    when: str = ""


@dataclass(frozen=True)
class Drawn:
    """A figure, and in words what it shows: of a shape for home a drawing that there is, of a
    graded drill the angles of its best grade, from which the page draws it."""

    shows: str
    file: str = ""
    angles: str = ""


@dataclass(frozen=True)
class StationCard:
    """``heads``: what asks about the head, at once; ``clean``: it is clean or not."""

    name: str
    measure: str
    clean: bool
    cues: Sequence[str]
    counts: str
    set_up: str
    heads: Sequence[Seen]
    stops: Sequence[Seen]
    others: Sequence[Seen]
    drawn: Drawn | None
    # How many at once, the adult, the gear.
    foot: Sequence[str]


def station_cards(ladder: NamedLadder, keys: Iterable[str]) -> list[StationCard]:
    """In the order of the ladder; a key that it has not is left out."""
    wanted = set(keys)
    return [_card(ladder, drill) for key, drill in ladder.drills.items() if key in wanted]


def _card(ladder: NamedLadder, drill: Data) -> StationCard:
    gear = {each["key"]: each["name"] for each in ladder.content["equipment"]}
    at_once = ngettext("%(n)s at once", "%(n)s at once", drill["at_once"]) % {"n": drill["at_once"]}
    own = [fault for fault in ladder.faults.values() if drill["key"] in fault["belongs"]]
    heads = [_seen(fault) for fault in own if fault.get("asks_head")]
    stops = [_seen(each) for each in own if each["stop"] in STOPS and not each.get("asks_head")]
    others = [Seen(fault["sees"]) for fault in own if fault["stop"] not in STOPS]
    foot = [
        at_once,
        str(ADULTS[drill["adult"]]),
        " + ".join(gear[key] for key in drill["equipment"]),
    ]
    return StationCard(
        name=drill["name"],
        measure=str(MEASURES[drill["measure"]]),
        clean=drill["measure"] == "clean",
        cues=drill["cues"][:3],
        counts=drill["counts"].removeprefix("Clean: "),
        set_up=drill["set_up"],
        heads=heads,
        stops=stops,
        others=others[: max(0, FAULTS_ON_A_CARD - len(heads) - len(stops))],
        drawn=_drawn(ladder, drill),
        foot=[part for part in foot if part],
    )


def _seen(fault: Data) -> Seen:
    return Seen(fault["sees"], str(STOPS.get(fault["stop"], "")))


def _drawn(ladder: NamedLadder, drill: Data) -> Drawn | None:
    """None for a drill that no figure is known of."""
    if drill["key"] in AT_HOME:
        file = f"readiness/home_sheet/figures/{drill['key']}.html"
        return Drawn(shows=drill["name"], file=file)
    poses = [
        pose
        for rubric in ladder.content["rubric"]
        if rubric["key"] == drill.get("rubric")
        for pose in rubric["pose"]
        if "angles" in pose
    ]
    if not poses:
        return None
    best = max(poses, key=lambda pose: int(pose["grade"]))
    says = " ".join(filter(None, (best["words"], best.get("also"))))
    return Drawn(shows=f"{drill['name']}: {says}", angles=json.dumps(best["angles"]))

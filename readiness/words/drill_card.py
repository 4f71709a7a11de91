"""What a ladder says of a drill, as it is told to whoever runs or spots it. Shared: used by the
floor, the pages of drills and the map of faults."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from readiness.record.ladders import NamedLadder, turn_seconds
from readiness.words.names import Data

ADULTS: dict[str, Lazy] = {
    "room": gettext_lazy("A qualified adult is in the room and sees it."),
    "station": gettext_lazy("An adult stands at this station."),
    "hands": gettext_lazy(
        "A spotter trained for this drill touches, or stands ready for, each turn."
    ),
}
STOPS: dict[str, Lazy] = {
    "yes": gettext_lazy("A stop sign."),
    "second": gettext_lazy("A stop sign at the second one of a day."),
    "unheld": gettext_lazy("A stop sign when nobody holds."),
}


@dataclass(frozen=True)
class Section:
    """A heading of a drill's card, and what stands under it."""

    heading: str
    says: list[str]


@dataclass(frozen=True)
class FaultCard:
    """What is seen, whether it is a stop sign, what it leads to and what mends it."""

    sees: str
    says: list[str]


def card_of(ladder: NamedLadder, drill: Data) -> list[Section]:
    """All of a drill but its faults and the pictures of its grades; an older ladder version says
    less."""
    mats = {each["key"]: each["name"] for each in ladder.content["equipment"]}
    hands = [ladder.content.get("hands", ""), drill["hands"]] if drill.get("hands") else []
    at_once = ngettext(
        "At most %(n)s child at once.", "At most %(n)s children at once.", drill["at_once"]
    )
    sections = [
        Section(_("Set-up"), [drill["set_up"]]),
        Section(_("What counts"), [drill["counts"]]),
        Section(_("Cues"), [" · ".join(drill["cues"])]),
        Section(_("Pace"), [drill.get("pace", "")]),
        Section(_("A spotter's hands"), hands),
        Section(_("Adults"), [str(ADULTS[drill["adult"]]), *_spotters(drill)]),
        Section(_("Mats"), [" · ".join(mats[key] for key in drill["equipment"])]),
        Section(_("At once"), [at_once % {"n": drill["at_once"]}]),
        Section(_("A turn at a station"), list(_turn(drill))),
        Section(_("How much"), list(_how_much(drill))),
    ]
    filled = [Section(part.heading, [text for text in part.says if text]) for part in sections]
    return [part for part in filled if part.says]


def _spotters(drill: Data) -> list[str]:
    usual, first = drill["spotters"], drill.get("first_days_spotters")
    sentences = []
    if usual:
        sentences.append(ngettext("%(n)s spotter.", "%(n)s spotters.", usual) % {"n": usual})
    if first:
        on_days = ngettext(
            "Spotters on the first day: %(spotters)s.",
            "Spotters on each of the first %(n)s days: %(spotters)s.",
            first["days"],
        )
        sentences.append(on_days % {"n": first["days"], "spotters": first["spotters"]})
    return sentences


def _turn(drill: Data) -> Iterator[str]:
    """By these the planner of stations knows how long a line may be."""
    seconds = turn_seconds(drill, held=False)
    yield _("About %(n)s seconds, with getting ready.") % {"n": seconds}
    if drill["spotters"] or drill.get("first_days_spotters"):
        yield _("With a spotter about %(n)s seconds.") % {"n": turn_seconds(drill, held=True)}


def _how_much(drill: Data) -> Iterator[str]:
    if "per_set" in drill:
        per_set = ngettext("At most %(n)s in a set.", "At most %(n)s in a set.", drill["per_set"])
        yield per_set % {"n": drill["per_set"]}
    yield drill.get("sets_note", "")
    if drill["landing"] and drill["measure"] == "reps":
        yield ngettext(
            "Each rep is %(n)s landing on the hands.",
            "Each rep is %(n)s landings on the hands.",
            drill["landing"],
        ) % {"n": drill["landing"]}
    elif drill["landing"]:
        yield ngettext(
            "Each turn is %(n)s landing on the hands.",
            "Each turn is %(n)s landings on the hands.",
            drill["landing"],
        ) % {"n": drill["landing"]}


def fault_cards(ladder: NamedLadder) -> dict[str, FaultCard]:
    """Of every fault, by its key."""
    return {
        key: FaultCard(fault["sees"], _of_fault(ladder, fault))
        for key, fault in ladder.faults.items()
    }


def _of_fault(ladder: NamedLadder, fault: Data) -> list[str]:
    stop = [str(STOPS[fault["stop"]])] if fault["stop"] in STOPS else []
    return [
        *stop,
        _("Leads to: %(leads_to)s.") % {"leads_to": fault["leads_to"].rstrip(".")},
        _("Mends it: %(drills)s.") % {"drills": " · ".join(mend_names(ladder, fault))},
    ]


def mend_names(ladder: NamedLadder, fault: Data) -> list[str]:
    """The mending drills by name, each with its note, in the order in which they are offered."""
    return [
        _("%(drill)s (%(note)s)") % {"drill": name, "note": mend["note"]}
        if "note" in mend
        else name
        for mend in fault["mend"]
        for name in [ladder.drills[mend["drill"]]["name"]]
    ]

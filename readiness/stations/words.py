"""The sentences about stations."""

import zoneinfo
from collections.abc import Iterable, Sequence

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from readiness.engine.stations.plan import Fix, Plan
from readiness.engine.stations.problem import At, Post
from readiness.models import HallEquipment, StationPlan
from readiness.record.ladders import NamedLadder
from readiness.stations.evening.equipment import things
from readiness.stations.evening.gather import Evening
from readiness.stations.evening.held import HeldShare
from readiness.stations.evening.set_up import drill_of, split_key
from readiness.stations.evening.works import Need
from readiness.words.numbers import join_words, percent_words
from readiness.words.stations.shares import share_text
from studio.models import Child, Staff


def counted_text(row: HallEquipment) -> str:
    """Who counted a thing, and when."""
    day = date_format(row.hall.day_of(row.at), "j M Y")
    return _("%(day)s, %(name)s.") % {"day": day, "name": row.by.called}


def kept_text(hall: str) -> str:
    return _("What %(hall)s has is kept.") % {"hall": hall}


def taken_text(row: StationPlan) -> str:
    moment = row.at.astimezone(zoneinfo.ZoneInfo(row.meeting.hall.zone))
    about = {"name": row.by.called, "time": date_format(moment, "H:i")}
    return _("Taken by %(name)s at %(time)s.") % about


DRAFT_LOST = gettext_lazy(
    "This plan could not be read any more. Nothing was taken: here is a new one."
)


def spotters_text(spotters: int) -> str:
    """Empty for a station without."""
    if not spotters:
        return ""
    return ngettext("%(n)s spotter", "%(n)s spotters", spotters) % {"n": spotters}


def place_name(evening: Evening, key: str) -> str:
    """The drill of a station; of the second place of one that is split it says so."""
    return place_called(evening.ladder, key)


def place_called(ladder: NamedLadder, key: str) -> str:
    """The same, of a ladder with its names."""
    drill, _spotters = drill_of(key)
    card = ladder.drills.get(drill)
    name: str = card["name"] if card else drill
    return name if split_key(key) is None else _("%(drill)s, second place") % {"drill": name}


def station_name(evening: Evening, key: str) -> str:
    """As it stands in a sentence."""
    spotters = drill_of(key)[1]
    about = {"drill": place_name(evening, key), "spotters": spotters_text(spotters)}
    return _("%(drill)s (%(spotters)s)") % about if spotters else about["drill"]


def split_text(evening: Evening, key: str) -> str:
    return _("%(station)s is at two places.") % {"station": station_name(evening, key)}


def where_text(places: tuple[Sequence[int], Sequence[int]] | None) -> str:
    """The numbers of its places in the hall; empty where there are none."""
    wall, floor = places or ((), ())
    parts = []
    if wall:
        numbers = join_words([str(at + 1) for at in wall])
        parts.append(_("wall %(numbers)s") % {"numbers": numbers})
    if floor:
        numbers = join_words([str(at + 1) for at in floor])
        parts.append(_("floor %(numbers)s") % {"numbers": numbers})
    return ", ".join(parts)


def reason_text(evening: Evening, need: Need) -> str:
    """Why a drill is worth it: the strongest reason, short."""
    if not need.reasons:
        return ""
    first = need.reasons[0]
    about = {"about": evening.ladder.stage_names.get(first.about, first.about)}
    if first.code == "left-out":
        return _("planned twice and not done")
    if first.code == "way-back":
        return _("the way back")
    if first.code == "holds":
        return _("holds back: %(about)s") % about
    if first.code == "gate":
        return _("a gate of: %(about)s") % about
    if first.code == "cause":
        strand = evening.ladder.strand_names.get(first.about, first.about)
        return _("mends: %(strand)s") % {"strand": strand}
    return _("a lead-in of this term")


def person_of(evening: Evening, each: At | Post) -> Child | Staff | None:
    """None: not of the class any more."""
    if isinstance(each, At):
        return evening.children.get(each.child)
    return evening.adults.get(each.adult)


def name_of(person: Child | Staff) -> str:
    return person.listed if isinstance(person, Child) else person.called


def settled_text(evening: Evening, each: At | Post, banned: bool) -> str:
    person = person_of(evening, each)
    about = {
        "name": name_of(person) if person else "",
        "station": station_name(evening, each.station),
        "rotation": each.rotation + 1,
    }
    if banned:
        return _("%(name)s is not at %(station)s in rotation %(rotation)s.") % about
    return _("%(name)s is at %(station)s in rotation %(rotation)s.") % about


def here_text(name: str, rotations: Iterable[int]) -> str:
    numbers = sorted(rotations)
    about = {"name": name, "first": numbers[0] + 1, "last": numbers[-1] + 1} if numbers else {}
    if not numbers:
        return _("%(name)s is not here for stations.") % {"name": name}
    return _("%(name)s is here for rotations %(first)s to %(last)s.") % about


def how_good_text(plan: Plan) -> str:
    if plan.proven_best:
        return _("No plan of this evening serves more. That is proven.")
    share = percent_words(plan.bound)
    return _("The best plan of this evening serves at most %(share)s more.") % {"share": share}


NOBODY_SPOTS = gettext_lazy("Nobody spots tonight: an evening of ground work, nothing is held.")


def notices(evening: Evening) -> list[str]:
    """What the coach should know of the evening before the plan."""
    found = []
    if evening.spotter_gone:
        found.append(_("The spotter is gone: an evening of ground work, nothing is held."))
    elif not evening.may_spot:
        found.append(
            _(
                "Nobody of tonight’s coaches is written down as trained to spot: "
                "an evening of ground work, nothing is held."
            )
        )
    elif evening.ground:
        found.append(str(NOBODY_SPOTS))
    here = [each for each in evening.problem.adults if each.present is None or each.present]
    if len(here) == 1:
        found.append(_("One adult tonight: no spotting while a station needs an adult beside it."))
    if evening.idle:
        names = join_words([child.listed for child in evening.idle])
        found.append(_("No station tonight: %(names)s. Their pages say why.") % {"names": names})
    return found


def held_text(evening: Evening, each: HeldShare) -> str:
    name = evening.children[each.share.held.child].listed
    why = share_text(name, each.share)
    return _("%(drill)s: %(why)s") % {"drill": station_name(evening, each.drill), "why": why}


def missed_text(names: Sequence[str], drills: Sequence[str]) -> str:
    return _("%(name)s: %(drills)s") % {"name": join_words(names), "drills": join_words(drills)}


def done_text(done: int, planned: int) -> str:
    return ngettext(
        "%(done)s of %(n)s planned station was done, by the log.",
        "%(done)s of %(n)s planned stations were done, by the log.",
        planned,
    ) % {"done": done, "n": planned}


def logged_text(turns: int) -> str:
    """Turns at a planned station; an empty one says so."""
    if not turns:
        return _("nothing logged")
    return ngettext("%(n)s turn", "%(n)s turns", turns) % {"n": turns}


# --- it cannot be done ----------------------------------------------------------------------


def remedy_text(evening: Evening, fixes: Sequence[Fix]) -> str:
    """What would be enough by itself."""
    return join_words([_fix_text(evening, fix) for fix in fixes])


def _fix_text(evening: Evening, fix: Fix) -> str:
    child = evening.children.get(fix.person or 0)
    about = {
        "n": fix.amount,
        "name": child.listed if child else "",
        "station": station_name(evening, fix.key),
        "thing": things(evening.ladder).get(fix.key, fix.key),
    }
    if fix.kind in ("lock", "ban") and fix.settled is not None:
        said = settled_text(evening, fix.settled, fix.kind == "ban")
        return _("give up: “%(said)s”") % {"said": said.rstrip(".")}
    if fix.kind == "split":
        return _("give up: “%(said)s”") % {"said": split_text(evening, fix.key).rstrip(".")}
    forms = {
        "spotter": ngettext(
            "%(n)s more person who may spot %(station)s",
            "%(n)s more people who may spot %(station)s",
            fix.amount,
        ),
        "adult": ngettext(
            "%(n)s more adult in the room", "%(n)s more adults in the room", fix.amount
        ),
        "at-once": ngettext(
            "%(n)s more place at once at %(station)s",
            "%(n)s more places at once at %(station)s",
            fix.amount,
        ),
        "equipment": _("%(n)s more: %(thing)s"),
        "wall": ngettext(
            "%(n)s more place for a station at the wall",
            "%(n)s more places for a station at the wall",
            fix.amount,
        ),
        "floor": ngettext(
            "%(n)s more place for a station on the floor",
            "%(n)s more places for a station on the floor",
            fix.amount,
        ),
        "no-station": _("a station that is open to %(name)s"),
    }
    return forms[fix.kind] % about

"""Pauses, and what hurts. Shared: used by the child page, the floor and review."""

from collections.abc import Iterable

from django.utils.translation import gettext as _

from readiness.words.names import Names
from readiness.words.numbers import join_words


def paused_since(names: Names, day: str) -> str:
    return _("Paused since %(day)s") % {"day": names.date(day)}


def paused_until_lifted(names: Names, day: str) -> str:
    return _("Paused since %(day)s, until a director lifts it") % {"day": names.date(day)}


def pause_ends(by: str) -> str:
    return _("%(by)s lifted it today: it ends tomorrow.") % {"by": by}


def pain_today_sentence(names: Names, places: Iterable[str]) -> str:
    """What was said to hurt today, and what follows from it; empty if nothing."""
    hurting = [names.ladder.pain_names.get(place, place) for place in dict.fromkeys(places)]
    if not hurting:
        return ""
    form = _(
        "Told today that something hurts: %(places)s. What loads it rests today; ask again at "
        "the next class. The same place again within %(days)s days is a pause."
    )
    return form % {"places": join_words(hurting), "days": names.ladder.engine.pain_again_days}


def pain_today(names: Names, place: str) -> str:
    values = {"place": names.ladder.pain_names.get(place, place)}
    return _("Hurts today: %(place)s; what loads it rests until the next class") % values


def pain_text(names: Names, place: str) -> str:
    values = {"place": names.ladder.pain_names.get(place, place)}
    return _("Something hurt: %(place)s") % values

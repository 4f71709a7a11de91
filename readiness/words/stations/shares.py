"""Why a child has so many held turns tonight. For staff, on a coach's own tablet only: shown to no
family, and on no screen of the hall."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from readiness.engine.stations.shares import Share
from readiness.words.numbers import percent_words

A_WEEK = 7


def share_text(name: str, share: Share) -> str:
    """One sentence from one share; it says nothing that the share does not hold."""
    values = {"name": name, "turns": turns_word(share.turns)}
    if share.why == "sureness":
        return _by_sureness(share, values)
    if share.why == "too-few":
        return _("%(name)s %(turns)s: not enough turns tonight for two each.") % values
    if not share.held.earlier:
        return _("%(name)s %(turns)s: for learning; no held turns on an evening before.") % values
    values["before"] = turns_word(share.held.earlier[-1])
    return _after_evenings(share, share.held.days_since == A_WEEK) % values


def _by_sureness(share: Share, values: dict[str, str]) -> str:
    """What is left goes by the record; only where nothing else is missing is a review named."""
    held = share.held
    if held.good_evenings:
        form = ngettext(
            "%(name)s %(turns)s: one good evening could bring %(name)s to review.",
            "%(name)s %(turns)s: %(evenings)s good evenings could bring %(name)s to review.",
            held.good_evenings,
        )
        return form % (values | {"evenings": turns_word(held.good_evenings)})
    sureness = held.sureness or 0
    if sureness < held.certainty:
        more = {"now": percent_words(sureness), "asked": percent_words(held.certainty)}
        return _("%(name)s %(turns)s: the record is %(now)s sure, of %(asked)s asked.") % (
            values | more
        )
    if held.missing_days:
        form = ngettext(
            "%(name)s %(turns)s: sure enough; a day with clean turns is missing.",
            "%(name)s %(turns)s: sure enough; %(days)s days with clean turns are missing.",
            held.missing_days,
        )
        return form % (values | {"days": turns_word(held.missing_days)})
    return _("%(name)s %(turns)s: sure enough; clean turns are missing.") % values


def _after_evenings(share: Share, last_week: bool) -> str:
    """Sentences that look back: "last week" only if it was."""
    if share.why == "fewest-last":
        if last_week:
            return _("%(name)s %(turns)s: had the fewest last week, %(before)s.")
        return _("%(name)s %(turns)s: had the fewest last time, %(before)s.")
    if share.why == "few-lately":
        if last_week:
            return _("%(name)s %(turns)s: few turns on the last evenings, %(before)s last week.")
        return _("%(name)s %(turns)s: few turns on the last evenings, %(before)s last time.")
    if last_week:
        return _("%(name)s %(turns)s: for learning; %(before)s last week.")
    return _("%(name)s %(turns)s: for learning; %(before)s last time.")


def turns_word(number: int) -> str:
    """A number as it stands inside a sentence of few words."""
    words = [
        pgettext("number inside a sentence", "none"),
        pgettext("number inside a sentence", "one"),
        pgettext("number inside a sentence", "two"),
        pgettext("number inside a sentence", "three"),
        pgettext("number inside a sentence", "four"),
        pgettext("number inside a sentence", "five"),
        pgettext("number inside a sentence", "six"),
    ]
    return words[number] if number < len(words) else str(number)

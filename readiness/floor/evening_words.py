"""The floor page's sentences about the evening as a whole."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

Counted = dict[str, list[str]]


def evening_words() -> dict[str, str]:
    return {
        "end-turns": _("%(turns)s logged tonight; %(children)s here."),
        "note-title": _("Notes"),
        "note-on": _("A note"),
        "note-of": _("A note · %(name)s"),
        "note-what": _(
            "What was seen; families may read it. Never character, weight or shape, illness or "
            "home."
        ),
        "note-typed": _("In your own words"),
        "note-keep": _("Keep the note"),
        "note-refused": _("It was not taken: the child is not in this class any more."),
        "no-turns": _("No turn logged yet today."),
        "strike-stays": _("Tap the reason to take it back. It is struck, and stays readable."),
        "who-was-told": _("The family is told today. Who was told?"),
        "told-at": _("%(time)s, %(about)s: %(whom)s"),
        "a-fall": _("a fall"),
        "turns-tonight": _("Turns tonight"),
        "turns-of": _("Turns tonight · %(name)s"),
        "turns-all": _("All"),
        "turns-by-child": _("By child"),
        "turns-by-drill": _("By drill"),
        "by-another": _("logged by somebody else"),
        "log-again": _("Log again"),
        "again-of": _("%(name)s · %(drill)s: %(outcome)s"),
        "again-how": _("What was it really? One tap strikes the turn and logs it again."),
        "again-outcome": _("Clean?"),
        "again-support": _("How much help was there?"),
        "class-over": _("The class is over."),
        "over-since": _("The class is over since %(time)s: %(by)s."),
        "desk-by-tomorrow": _(
            "Something happened tonight: the rest is written down at the desk, by tomorrow evening."
        ),
        "coach-closes": _("A coach says when the class is over."),
        "to-tell": _("To tell at the door"),
        "tell-about": _("%(name)s: %(about)s"),
        "a-stop-sign": _("a stop sign"),
        "hands-again": _("hands again"),
        "leaves-with-told": _("%(name)s leaves only with an adult who has been told."),
        "door-note": _("A note for the door"),
        "told-tonight": _("Told tonight"),
        "no-stop-sign": _("None was logged."),
        "not-asked-yet": _("Not asked yet"),
        "who-was-missed": _("Next time"),
        "no-turn-tonight": _("No turn tonight: %(names)s. First next time."),
        "was-not-here": _("Not here: %(names)s."),
    }


def hall_words() -> dict[str, str]:
    """The spotter and the mats; the first five are said of a code of progression/log/lines.py."""
    return {
        "spotter-gone": _("Spotter gone"),
        "spotter-back": _("Spotter is back"),
        "mats-looked-at": _("Mats looked at"),
        "mat-broken": _("A mat is broken"),
        "mat-mended": _("Mended"),
        "hall": _("The hall"),
        "spotter-gone-since": _(
            "The spotter is gone since %(time)s (%(by)s): nothing that needs one."
        ),
        "mats-looked-by": _("The mats were looked at, %(time)s: %(by)s."),
        "mats-not-looked": _("Nobody has looked at the mats yet."),
        "out-of-use": _("out of use"),
        "out-of-use-since": _("%(surface)s: broken, out of use since %(time)s (%(by)s)."),
        "which-mat": _("Which mat is broken?"),
        "which-mat-how": _(
            "It is out of use for this evening, for every class in this hall, until somebody says "
            "that it is mended."
        ),
    }


def evening_counts(samples: list[int]) -> Counted:
    return {
        "not-told-yet": [
            ngettext(
                "%(n)s not told yet. Tap who was told; if nobody is there, call tonight.",
                "%(n)s not told yet. Tap who was told; if nobody is there, call tonight.",
                n,
            )
            for n in samples
        ],
        "notes-wait": [
            ngettext(
                "%(n)s note waits on this tablet for the network.",
                "%(n)s notes wait on this tablet for the network.",
                n,
            )
            for n in samples
        ],
        "lines-here-still": [
            ngettext(
                "%(n)s entry is still on this tablet.",
                "%(n)s entries are still on this tablet.",
                n,
            )
            for n in samples
        ],
    }

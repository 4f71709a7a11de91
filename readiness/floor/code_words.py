"""The floor page's words for codes: measures, causes, reasons, and why a line was refused."""

from django.utils.translation import gettext as _

from readiness.words.pauses import WHOM
from readiness.words.support import SUPPORT_REASONS
from readiness.words.turns import WHY_LESS_SUPPORT


def code_words() -> dict[str, dict[str, str]]:
    return {
        "measures": {
            "clean": _("clean or not"),
            "seconds": _("seconds"),
            "reps": _("reps"),
            "grade": _("grade"),
        },
        "causes": {
            "finished-tonight": _("finished tonight"),
            "stop-sign": _("stop sign"),
            "away": _("away"),
            "lately": _("lately"),
            "evidence-changed": _("record changed"),
            "older-day": _("older day"),
            "placed": _("newly placed"),
            "first-turn": _("first turn"),
            "until-clean": _("first clean turn"),
            "new-surface": _("new floor"),
            "doubt": _("doubt"),
            "growing": _("growing fast"),
            "stopped-before": _("stopped twice"),
            "nothing-backward": _("nothing backward"),
            "after-head": _("after a head knock"),
            "head-knock": _("after a head knock"),
            "no-consent": _("no yes to hands"),
            "no-hands": _("no hands tonight"),
            "no-spotter": _("no spotter"),
            "consent-again": _("hands again"),
        },
        "before": {
            "paused": _("Paused: no tumbling"),
            "head": _("After a head knock"),
            "caution": _("To heed"),
            "no-consent": _("No skill that needs a spotter"),
            "re-check": _("On re-check: more support"),
            "hurt": _("Something hurt last time"),
            "back": _("Back after a long time"),
            "growing": _("Growing fast"),
            "first-turn": _("First turn of the day with somebody standing by"),
            "near": _("One good class from review"),
        },
        "less": {code: str(word) for code, word in WHY_LESS_SUPPORT.items()},
        "whom": {code: str(word) for code, word in WHOM.items()},
        "strikes": {
            "wrong-tap": _("Wrong tap"),
            "wrong-child": _("Wrong child"),
            "wrong-drill": _("Wrong drill"),
            "other": _("Other"),
        },
        "reasons": {code: str(reason) for code, reason in SUPPORT_REASONS.items()},
        "refusals": _refusals(),
    }


def _refusals() -> dict[str, str]:
    """Why the server did not take a line. It keeps each of them in full all the same."""
    renewed = _("The ladder has changed since. Load this page again and log it anew.")
    broken = _("It arrived in a form that the server cannot read. Log it anew.")
    return {
        "unknown-drill": renewed,
        "unknown-surface": renewed,
        "unknown-fault": renewed,
        "unknown-reason": renewed,
        "unknown-place": renewed,
        "newer-version": _("This page is newer than the server. A director can look at it."),
        "may-not-close": _("A coach closes the class."),
        "may-not-begin": _("A coach begins a rotation."),
        "may-not-grade": _("This account may log turns, but not grade them."),
        "unknown-author": _("Whoever tapped this has no account here. A director can look at it."),
        "not-in-class": _("The child is not in this class."),
        "other-server": _("Its class is of another server."),
        "no-access": _("The class is no longer yours. A director sees this, and decides."),
        "not-yours": _("The turn is somebody else's: a coach can take it back."),
        "too-late": _("The class is over: it stays as it was written down."),
        "pause-stays": _(
            "A pause is taken back within two minutes, as the wrong child's. Now a director "
            "lifts it."
        ),
        "other-content": _("The server holds this turn with other content. It keeps both."),
        "clean-with-stop-sign": _("A turn with a stop sign is not clean."),
        "bad-value": _("The number is out of range."),
        "bad-angles": _(
            "The angles that came with it cannot be read. Mended, it goes without them."
        ),
        "bad-time": _("This tablet's clock is far out. Set it, and log the turn anew."),
        **dict.fromkeys(
            ["bad-id", "bad-outcome", "bad-strike", "bad-support", "unknown-kind", "unreadable"],
            broken,
        ),
    }

"""Drawings of a state, a support, a sureness or today's turns, each with its words.

All sizes are whole numbers computed here, because no page may carry an inline style.
Shared: used by every page that draws a state.
"""

from collections.abc import Iterable

from django import template
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

register = template.Library()

STATE_WORDS = {
    "closed": gettext_lazy("closed"),
    "for-review": gettext_lazy("for review"),
    "open": gettext_lazy("open"),
    "re-check": gettext_lazy("re-check"),
    "paused": gettext_lazy("paused"),
}

SUPPORT_WORDS = {
    3: gettext_lazy("hands-on"),
    2: gettext_lazy("light touch"),
    1: gettext_lazy("standing by"),
    0: gettext_lazy("unspotted"),
}

# What lies between the two posts: a bar across, the bar lifted, nothing, the bar fallen and
# broken, two bars. Posts stand at x = 5 and x = 25 in a box of 30 by 28.
STATE_BARS = {
    "closed": "M5 14H25",
    "for-review": "M5 15L18 3",
    "open": "",
    "re-check": "M5 9L11 14M11 25H20",
    "paused": "M5 10H25M5 18H25",
}

# At most this many turns are drawn; older ones are shown as a number.
TURNS_DRAWN = 20


def percent(share: float) -> int:
    """A share from 0 to 1 as a whole percentage, clamped and rounded down.

    Shares carry six decimals, as the gates do: 0.29 is 29 although 0.29 * 100 falls just
    short of it in binary.
    """
    millionths = round(min(max(share, 0.0), 1.0) * 1_000_000)
    return millionths // 10_000


@register.inclusion_tag("includes/gate_mark.html")
def gate_mark(state: str) -> dict[str, object]:
    """The gate in its state, and its word. A KeyError if there is no such state."""
    return {"state": state, "word": STATE_WORDS[state], "bars": STATE_BARS[state]}


@register.inclusion_tag("includes/gate_mark.html")
def gate_sign(state: str) -> dict[str, object]:
    """The gate without its word, for a row that has the state in words elsewhere."""
    return {"state": state, "word": "", "bars": STATE_BARS[state]}


@register.inclusion_tag("includes/support_blocks.html")
def support_blocks(amount: int) -> dict[str, object]:
    """Three blocks, as many filled as there is support, and its word.

    An amount outside 0 to 3 is taken as the nearest of them.
    """
    amount = min(max(amount, 0), 3)
    blocks = [{"x": 1 + 11 * place, "filled": place < amount} for place in range(3)]
    return {"amount": amount, "word": SUPPORT_WORDS[amount], "blocks": blocks}


@register.simple_tag
def support_word(amount: int) -> str:
    """The support's word alone, for a line with no room for a drawing."""
    return str(SUPPORT_WORDS[amount])


@register.inclusion_tag("includes/beam.html")
def beam(
    value: float,
    need: float,
    met: bool = False,
    show_number: bool = True,
    turns: int | None = None,
    days: int = 0,
) -> dict[str, object]:
    """How far ``value`` has come toward ``need``, both shares from 0 to 1, with a notch there.

    turns: of the last ``days`` days, where that is known; older ones count a little still.
    "Met" is shown only when the caller passes it: a gate needs more than its sureness.
    Without the number the page must have it in words beside the beam.
    """
    words = ""
    if show_number and met:
        words = _("met")
    elif show_number:
        words = _("of %(need)s") % {"need": percent(need)}
    if show_number and turns is not None:
        form = ngettext(
            "%(words)s, %(turns)s turn in %(days)s days",
            "%(words)s, %(turns)s turns in %(days)s days",
            turns,
        )
        words = form % {"words": words, "turns": turns, "days": days}
    return {
        "label": _("sure"),
        "number": _("%(number)s %%") % {"number": percent(value)},
        "words": words,
        "show_number": show_number,
        "filled": percent(value),
        "notch": percent(need),
    }


@register.inclusion_tag("includes/beam.html")
def score_beam(score: int) -> dict[str, object]:
    """A stage's score from 0 to 100."""
    filled = min(max(score, 0), 100)
    return {
        "label": _("score"),
        "number": str(filled),
        "words": "",
        "show_number": True,
        "filled": filled,
        "notch": None,
    }


@register.inclusion_tag("includes/beam.html")
def toward_beam(words: str, score: int) -> dict[str, object]:
    """How far a stage has come, in words; only the drawing goes by the score, 0 to 100."""
    return {"label": words, "show_number": True, "filled": min(max(score, 0), 100), "notch": None}


@register.inclusion_tag("includes/beam.html")
def share_beam(name: str, hundredths: int) -> dict[str, object]:
    """A share of a whole, by its name, in hundredths."""
    number = _("%(n)s in 100") % {"n": hundredths}
    return {
        "label": name,
        "number": number,
        "show_number": True,
        "filled": hundredths,
        "notch": None,
    }


@register.inclusion_tag("includes/turn_marks.html")
def turn_marks(turns: Iterable[bool]) -> dict[str, object]:
    """A mark a turn, oldest first: filled if it was clean, struck through if it was not."""
    clean = [bool(turn) for turn in turns]
    count = ngettext("%(count)s turn", "%(count)s turns", len(clean)) % {"count": len(clean)}
    return {
        "drawn": clean[-TURNS_DRAWN:],
        "older": max(len(clean) - TURNS_DRAWN, 0),
        "summary": _("%(turns)s, %(clean)s clean") % {"turns": count, "clean": sum(clean)},
    }

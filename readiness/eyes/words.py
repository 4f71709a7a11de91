"""Sentences about how alike people grade."""

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.engine.statistics.agreement import Kappa
from readiness.eyes.agreement import LEAST_PAIRS, WEAK, Agreement
from readiness.eyes.second import Pair
from readiness.eyes.twelve import Result
from readiness.words.numbers import join_words


def two_decimals(value: float) -> str:
    return number_format(round(value, 2), 2)


def kappa_text(kappa: Kappa) -> str:
    """Agreement beyond chance with its interval, as far as it can be said."""
    if kappa.kappa is None:
        return _("All grades were one and the same: agreement beyond chance cannot be said.")
    if kappa.code == "one-sided":
        return _("One side was the same grade each time: agreement beyond chance cannot be said.")
    if kappa.interval is None:
        return _("Every grade was the same as the other.")
    low, high = kappa.interval
    return _(
        "Beyond chance it is %(kappa)s, somewhere between %(low)s and %(high)s: 1 is full "
        "agreement, 0 is what guessing gives."
    ) % {
        "kappa": two_decimals(kappa.kappa),
        "low": two_decimals(low),
        "high": two_decimals(high),
    }


def result_texts(result: Result) -> list[str]:
    said = [_("%(n)s of 12 as they are.") % {"n": result.right}]
    if result.kind > result.strict:
        text = ngettext(
            "Rather kind: %(kind)s was given more than it is, %(strict)s less.",
            "Rather kind: %(kind)s were given more than they are, %(strict)s less.",
            result.kind,
        )
        said.append(text % {"kind": result.kind, "strict": result.strict})
    elif result.strict > result.kind:
        text = ngettext(
            "Rather strict: %(strict)s was given less than it is, %(kind)s more.",
            "Rather strict: %(strict)s were given less than they are, %(kind)s more.",
            result.strict,
        )
        said.append(text % {"kind": result.kind, "strict": result.strict})
    elif result.kind:
        text = _("Neither kind nor strict: as often more as less.")
        said.append(text)
    if result.missed:
        signs = join_words([f"“{sign}”" for sign in result.missed])
        said.append(_("Look once more for: %(signs)s.") % {"signs": signs})
    return said


WORDS = {
    "too-few": lambda: _("too few to tell"),
    "all-alike": lambda: _("all alike, so nothing to tell"),
    "one-sided": lambda: _("one side always the same, so nothing to tell"),
    "weak": lambda: _("weak: two people often see it differently"),
    "middling": lambda: _("middling"),
    "good": lambda: _("good"),
    "very-good": lambda: _("very good"),
}


def agreement_text(one: Agreement) -> str:
    """The plain word, and the numbers behind it."""
    text = _("Agreement: %(word)s.") % {"word": WORDS[one.word]()}
    if one.kappa is None:
        more = LEAST_PAIRS - one.pairs
        needs = ngettext("%(n)s more pair is needed.", "%(n)s more pairs are needed.", more)
        return f"{text} {needs % {'n': more}}"
    return f"{text} {kappa_text(one.kappa)}"


def same_text(one: Agreement) -> str:
    text = ngettext(
        "%(same)s of %(n)s turn was graded alike.",
        "%(same)s of %(n)s turns were graded alike.",
        one.pairs,
    )
    return text % {"same": one.same, "n": one.pairs}


def talk_text(one: Agreement) -> str:
    """What to talk about: empty where no two grades differ."""
    if one.differ is None:
        return ""
    low, high, times = one.differ
    text = ngettext(
        "To talk about: %(low)s or %(high)s? %(n)s turn was given both.",
        "To talk about: %(low)s or %(high)s? %(n)s turns were given both.",
        times,
    )
    return text % {"low": low, "high": high, "n": times}


def weak_gate_text(drills: list[str]) -> str:
    """``drills``: by name."""
    return _(
        "Two people often grade this differently: %(drills)s. Agreement in this studio is under "
        "%(weak)s, so look at it together before it counts."
    ) % {"drills": join_words(drills), "weak": two_decimals(WEAK)}


def pair_text(name: str, pair: Pair) -> str:
    if pair.first == pair.second:
        return _("%(name)s: you both gave %(grade)s.") % {"name": name, "grade": pair.first}
    return _("%(name)s: you gave %(second)s, the first grade was %(first)s.") % {
        "name": name,
        "second": pair.second,
        "first": pair.first,
    }


def refusal_text(code: str) -> str:
    return {
        "too-late": _("More than a minute has gone by since the turn. Nothing was kept."),
        "own": _("That is your own turn: somebody else gives the second grade. Nothing was kept."),
        "seen": _("You have seen the first grade. Nothing was kept."),
        "twice": _("You have graded this turn already; that grade stands."),
        "no-turn": _("There is no such turn in this class. Nothing was kept."),
    }[code]

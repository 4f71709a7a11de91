"""Where misses come from, in sentences. Shared: used by the child's page, and the causes of a
class and the studio."""

from collections.abc import Sequence

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from readiness.engine.causes.change import Change, ChangeCode, Seen
from readiness.engine.causes.roots import WITHIN_DAYS, Causes, Root, Times
from readiness.record.ladders import NamedLadder
from readiness.words.names import Names
from readiness.words.numbers import join_words

WEEKS = WITHIN_DAYS // 7
# Common practice, no source. Of turns: the list of faults is not bent to reach nine tenths.
OF_TURNS_SEEN = gettext_lazy(
    "About nine in ten faulty handsprings come from the sit or from upper-body support. That is "
    "said of the turns seen, not of the list of faults."
)
FAULTS_NAMED = 3

# Shares that are said in words, the nearest of them.
SHARES: list[tuple[float, Lazy]] = [
    (1 / 5, gettext_lazy("one in five")),
    (1 / 4, gettext_lazy("one in four")),
    (1 / 3, gettext_lazy("one in three")),
    (2 / 5, gettext_lazy("two in five")),
    (1 / 2, gettext_lazy("half")),
    (3 / 5, gettext_lazy("three in five")),
    (2 / 3, gettext_lazy("two in three")),
    (3 / 4, gettext_lazy("three in four")),
    (4 / 5, gettext_lazy("four in five")),
    (9 / 10, gettext_lazy("nine in ten")),
]


VERDICTS: dict[ChangeCode, Lazy] = {
    "fewer": gettext_lazy("It has shrunk."),
    "more": gettext_lazy("It has grown."),
    "too-few-turns": gettext_lazy("Too few turns to say whether it has shrunk."),
}


def share_words(share: float) -> str:
    return str(min(SHARES, key=lambda each: abs(each[0] - share))[1])


def range_text(root: Root, causes: Causes) -> str:
    """The interval of a root's share, in hundredths, and how many misses of the log have it."""
    return _("%(low)s to %(high)s in 100 · logged: %(misses)s of %(marked)s") % {
        "low": round(100 * root.share.lower),
        "high": round(100 * root.share.upper),
        "misses": root.misses,
        "marked": causes.marked,
    }


def cause_sentence(names: Names, drill: str, first: Root) -> str:
    """The first root of a child's misses at a drill."""
    said = _("About %(share)s of %(child)s’s misses at %(drill)s come from %(root)s: %(faults)s.")
    return said % {
        "child": names.child,
        "drill": names.drill(drill),
        "share": share_words(first.share.share),
        "root": root_inside(names.ladder, first.key),
        "faults": faults_text(names.ladder, first.faults),
    }


def too_few_sentence(names: Names, untold: Sequence[Causes]) -> str:
    """The drills at which no root can be named, with their misses; empty without any."""
    if not untold:
        return ""
    drills = [
        _("%(drill)s (%(n)s)") % {"drill": names.drill(each.drill), "n": each.marked}
        for each in untold
    ]
    return _("Too few turns to tell at %(drills)s.") % {"drills": join_words(drills)}


def counted_text(causes: Causes) -> str:
    """What was read: turns, misses, and how many say something."""
    said = ngettext(
        "%(misses)s missed of %(turns)s turn in %(weeks)s weeks, %(marked)s with a fault",
        "%(misses)s missed of %(turns)s turns in %(weeks)s weeks, %(marked)s with a fault",
        causes.turns,
    )
    return said % {
        "misses": causes.misses,
        "turns": causes.turns,
        "weeks": WEEKS,
        "marked": causes.marked,
    }


def stop_signs_text(ladder: NamedLadder, stop_signs: Times) -> str:
    """Told apart; empty without any."""
    if not stop_signs:
        return ""
    return _("Stop signs among them: %(faults)s.") % {"faults": faults_text(ladder, stop_signs, 9)}


def faults_text(ladder: NamedLadder, faults: Times, most: int = FAULTS_NAMED) -> str:
    """As they were seen, the most frequent first, with how often."""
    return "; ".join(
        _("%(fault)s (%(n)s)") % {"fault": _seen_inside(ladder, fault), "n": times}
        for fault, times in faults[:most]
    )


def _seen_inside(ladder: NamedLadder, fault: str) -> str:
    """What is seen, without what is said to it after a semicolon."""
    return _inside(ladder.faults[fault]["sees"].partition(";")[0])


def root_inside(ladder: NamedLadder, root: str) -> str:
    """A root's name as it stands inside a sentence."""
    return _inside(ladder.strand_names[root])


def change_text(names: Names, change: Change) -> str:
    """What has become of a cause since it was named."""
    said = _(
        "Up to %(since)s the first cause was %(root)s: %(before)s. "
        "Since then %(after)s. %(verdict)s"
    )
    return said % {
        "since": names.date(change.since),
        "root": root_inside(names.ladder, change.root),
        "before": _seen(change.before),
        "after": _seen(change.after),
        "verdict": VERDICTS[change.code],
    }


def _seen(seen: Seen) -> str:
    return ngettext("%(misses)s of %(turns)s turn", "%(misses)s of %(turns)s turns", seen.turns) % {
        "misses": seen.misses,
        "turns": seen.turns,
    }


def _inside(text: str) -> str:
    return text[:1].lower() + text[1:]

"""What merging two records would change for the child, in sentences."""

from collections import defaultdict
from collections.abc import Iterable, Mapping

from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.engine.reading import ChildReading
from readiness.record.standings import Reading
from readiness.words.names import Names
from readiness.words.numbers import join_words

NOT_MERGED: Mapping[str, Lazy] = {
    "may-not": gettext_lazy("Only a director does this."),
    "merged-already": gettext_lazy("Somebody has merged one of the two in the meantime."),
    "same-child": gettext_lazy("These are one child already."),
    "opens-signed": gettext_lazy(
        "The other record has a stage signed that the one that stays has not, and one person alone "
        "opens none. Let the signed record stay instead, or let two people decide on this one."
    ),
    "undone-already": gettext_lazy("Somebody has parted them already."),
}
# More than any support: not at all.
NOT_NOW = 4
SUPPORT_CHANGES: Mapping[str, Lazy] = {
    "new": gettext_lazy("May be done, and might not: %(drills)s."),
    "less": gettext_lazy("Less support than now: %(drills)s."),
    "more": gettext_lazy("More support than now: %(drills)s."),
    "gone": gettext_lazy("May not be done, and might: %(drills)s."),
}


def change_sentences(before: Reading, after: Reading) -> list[str]:
    """What the record that stays would say otherwise; what allows more comes first."""
    names = Names(after.child.called, after.ladder, after.read.day)
    return [
        *_stage_sentences(names, before.read, after.read),
        *_support_sentences(names, before.read, after.read),
        *_pause_sentences(names, before.read, after.read),
        *_hands_sentences(names, before.read, after.read),
    ]


def _stage_sentences(names: Names, before: ChildReading, after: ChildReading) -> Iterable[str]:
    for stage in after.stages:
        was = before.stage(stage.stage.code)
        values = {"stage": names.stage(stage.stage.code)}
        if stage.opening is not None and was.opening is None:
            yield _("%(stage)s: open, and was not.") % values
        elif stage.opening is None and was.opening is not None:
            yield _("%(stage)s: closed, and was open.") % values
        elif stage.state != was.state and stage.state == "re-check":
            yield _("%(stage)s: goes to re-check.") % values
        elif stage.state != was.state and stage.state == "for-review":
            yield _("%(stage)s: for review.") % values


def _support_sentences(names: Names, before: ChildReading, after: ChildReading) -> Iterable[str]:
    was, now = _support_of(before), _support_of(after)
    kinds: dict[str, list[str]] = defaultdict(list)
    for (drill, on), support in now.items():
        kinds[_kind(was.get((drill, on), NOT_NOW), support)].append(drill)
    for kind, sentence in SUPPORT_CHANGES.items():
        if drills := list(dict.fromkeys(kinds[kind])):
            yield str(sentence) % {"drills": join_words([names.drill(key) for key in drills])}


def _kind(before: int, after: int) -> str:
    if before == after:
        return ""
    if NOT_NOW in (before, after):
        return "new" if before == NOT_NOW else "gone"
    return "less" if after < before else "more"


def _support_of(reading: ChildReading) -> dict[tuple[str, str], int]:
    return {
        (each.drill, each.surface): NOT_NOW
        if each.allowed.support is None
        else each.allowed.support
        for each in reading.support
    }


def _pause_sentences(names: Names, before: ChildReading, after: ChildReading) -> Iterable[str]:
    if after.paused_since and not before.paused_since:
        yield _("%(child)s is paused until a director lifts it.") % {"child": names.child}
    if before.paused_since and not after.paused_since:
        yield _("%(child)s is no longer paused.") % {"child": names.child}


def _hands_sentences(names: Names, before: ChildReading, after: ChildReading) -> Iterable[str]:
    was, now = before.state.consent, after.state.consent
    if now == was:
        return
    if now == "yes":
        yield _("The family's yes to a coach's hands counts for %(child)s.") % {
            "child": names.child
        }
    elif now == "no":
        yield _("The family's no to a coach's hands counts for %(child)s.") % {"child": names.child}
    else:
        yield _("No yes to a coach's hands is on file for %(child)s.") % {"child": names.child}

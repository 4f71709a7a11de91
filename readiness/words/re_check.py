"""Why a stage is on re-check, and the way back from it. Shared: used by the child page, the floor
and review."""

from collections.abc import Set
from typing import Any

from django.utils.functional import Promise as Lazy
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.engine.levels import Support
from readiness.engine.reading import StageReading, StoredReading
from readiness.engine.replay.next_step import WayBackNow
from readiness.words.names import Names
from readiness.words.support import SUPPORT_REASONS
from studio.templatetags.marks import SUPPORT_WORDS

# Drills and the less support that was given today: Reading.given_today.
Given = Set[tuple[str, int]]

CAUSES: dict[str, Lazy] = {
    "stop-sign": gettext_lazy("A stop sign on %(day)s."),
    "away": gettext_lazy("On %(day)s it had been more than %(away)s days without a turn."),
    "lately": gettext_lazy("Too few clean turns lately, on %(day)s."),
    "evidence-changed": gettext_lazy(
        "The evidence has changed: by the record as it stands, this could not have been signed "
        "on %(day)s."
    ),
    "placed": gettext_lazy("Placed on %(day)s: starts hands-on."),
}

# What makes a way back begin hands-on and sends no stage to re-check.
BEGINS = ("head-knock", "consent-again")


def re_check_causes(names: Names, stage: StageReading) -> list[str]:
    """Why an open stage is on re-check."""
    away = names.ladder.engine.way_back.away_days
    return [
        str(CAUSES[cause.code]) % {"day": names.date(cause.day), "away": away}
        for cause in stage.causes
    ]


def fell_today(names: Names, stage: StageReading, reading: StoredReading) -> bool:
    """True if a turn of today sent a skill of this stage to re-check, for this stage or for
    another one: its way back begins again. ``reading``: the whole one."""
    return bool(_support_asked_today(names, stage, reading))


def brings_back(
    names: Names, stage: StageReading, reading: StoredReading, given: Given = frozenset()
) -> list[str]:
    """What brings a stage back from re-check, step by step."""
    if not stage.causes:
        return []
    if fell_today(names, stage, reading):
        return [_("%(sentence)s.") % {"sentence": support_asked_now(names, stage, reading)}]
    backs = _ways_back(stage, reading)
    # Why hands came first, where it is no cause of a re-check.
    others = dict.fromkeys(cause for back in backs for cause in back.causes if cause in BEGINS)
    return [
        *(str(SUPPORT_REASONS[cause]) for cause in others),
        *(
            _("%(drill)s, %(level)s now. %(step)s")
            % {
                "drill": names.drill(back.drill),
                "level": str(SUPPORT_WORDS[back.level]),
                "step": way_back_sentence(back, given),
            }
            for back in backs
        ),
    ]


def brings_back_short(
    names: Names, stage: StageReading, reading: StoredReading, given: Given = frozenset()
) -> str:
    """The same in the few words that a list has room for."""
    backs = _ways_back(stage, reading)
    if fell_today(names, stage, reading) or not backs:
        return support_asked_now(names, stage, reading)
    return way_back_short(names, backs[0], given)


def yes_is_due(stage: StageReading, reading: StoredReading, given: Given = frozenset()) -> bool:
    """A step of a way back is earned and waits for somebody's yes."""
    return any(
        back.tapped and back.ready and not _is_given(back, given)
        for back in _ways_back(stage, reading)
    )


def has_begun_back(stage: StageReading, reading: StoredReading) -> bool:
    """Clean turns of the way back are there, or a step of it has been walked."""
    return any(
        back.clean > 0 or back.level < Support.HANDS_ON for back in _ways_back(stage, reading)
    )


def support_asked_now(names: Names, stage: StageReading, reading: StoredReading) -> str:
    """The support that a stage on re-check asks for, before its way back has begun: what
    today's falls ask, and no less than the day began with."""
    today = _support_asked_today(names, stage, reading)
    walked = [back.level for back in _ways_back(stage, reading)]
    every = [cause.asks for cause in stage.causes]
    most = max([*today, *walked] or every, default=None)
    if most is None:
        return ""
    form = _("%(support)s now; the way back begins on the next class day")
    return capfirst(form % {"support": SUPPORT_WORDS[most]})


def _support_asked_today(
    names: Names, stage: StageReading, reading: StoredReading
) -> list[Support]:
    """What today's falls at the stage's skills ask for."""
    skills = set(stage.stage.skills)
    return [
        cause.asks
        for other in reading.stages
        if skills.intersection(other.stage.skills)
        for cause in other.causes
        if cause.code in ("stop-sign", "lately") and cause.day == names.day
    ]


def _ways_back(stage: StageReading, reading: StoredReading) -> list[WayBackNow]:
    """The ways back of the stage's own skills."""
    return [back for back in reading.ways_back if back.drill in stage.stage.skills]


def way_back_sentence(back: WayBackNow, given: Given = frozenset()) -> str:
    """What brings the next step of a way back."""
    if back.tapped and back.ready:
        return _waits_for_a_yes(back, given)
    if back.ready:
        form = (
            _("Earned: open again from tomorrow.")
            if _last_step(back)
            else _("Earned: %(next)s from tomorrow.")
        )
    elif back.tapped and back.director:
        form = _(
            "To %(next)s: %(need)s clean turns, nearly all clean, at %(level)s or less, the first "
            "turn of that day clean, no stop sign, and then a director's yes. %(clean)s of "
            "%(need)s so far."
        )
    elif back.tapped:
        form = _(
            "To %(next)s: %(need)s clean turns, nearly all clean, at %(level)s or less, the first "
            "turn of that day clean, no stop sign, and then a coach's yes. %(clean)s of %(need)s "
            "so far."
        )
    elif _last_step(back):
        form = _(
            "The re-check ends with %(need)s clean turns, nearly all clean, at %(level)s or "
            "less, the first turn of that day clean, and no stop sign. %(clean)s of %(need)s "
            "so far."
        )
    else:
        form = _(
            "To %(next)s: %(need)s clean turns, nearly all clean, at %(level)s or less, the "
            "first turn of that day clean, and no stop sign. %(clean)s of %(need)s so far."
        )
    said = form % _step_values(back)
    if _is_unsteady(back):
        return f"{said} {_('Not nearly all were clean, or not the first of the day.')}"
    return said


def way_back_short(names: Names, back: WayBackNow, given: Given = frozenset()) -> str:
    """The same in the few words that a list has room for."""
    if back.tapped and back.ready:
        return _waits_for_a_yes(back, given)
    if _is_unsteady(back):
        form = _(
            "%(drill)s: %(level)s now, enough are clean, but not nearly all, or not the first of "
            "the day"
        )
    elif _last_step(back):
        form = _("%(drill)s: %(level)s now, %(clean)s of %(need)s clean to end the re-check")
    else:
        form = _("%(drill)s: %(level)s now, %(clean)s of %(need)s clean for the next step")
    return form % {**_step_values(back), "drill": names.drill(back.drill)}


def way_back_waits() -> str:
    return _("The way back begins on the next class day.")


def _waits_for_a_yes(back: WayBackNow, given: Given) -> str:
    """Or that it has been said today."""
    if _is_given(back, given):
        form = _("Given today: %(next)s from tomorrow, if nothing more comes in.")
    elif back.director:
        form = _("%(next)s again is earned: it waits for a director's yes.")
    else:
        form = _("%(next)s again is earned: it waits for a coach's yes.")
    return capfirst(form % _step_values(back))


def _is_given(back: WayBackNow, given: Given) -> bool:
    return (back.drill, max(back.goal, _one_less(back.level))) in given


def _step_values(back: WayBackNow) -> dict[str, Any]:
    return {
        "level": str(SUPPORT_WORDS[back.level]),
        "next": str(SUPPORT_WORDS[_one_less(back.level)]),
        "clean": min(back.clean, back.clean_need),
        "need": back.clean_need,
    }


def _is_unsteady(back: WayBackNow) -> bool:
    """Enough clean turns, and yet the step is not earned."""
    return back.clean >= back.clean_need and not back.ready


def _last_step(back: WayBackNow) -> bool:
    """Nothing is left of the way back but the end of the re-check."""
    return back.level <= back.goal


def _one_less(support: Support) -> Support:
    return Support(max(support - 1, Support.UNSPOTTED))

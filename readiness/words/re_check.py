"""Why a stage is on re-check, and the way back from it. Shared: used by the child page, the floor
and review."""

from typing import Any

from django.utils.functional import Promise as Lazy
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.engine.levels import SUPPORT_BY_CODE, Support
from readiness.words.names import Data, Names
from readiness.words.stages import all_stages
from readiness.words.support import support_word
from studio.templatetags.marks import SUPPORT_WORDS

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


def re_check_causes(names: Names, stage: Data) -> list[str]:
    """Why an open stage is on re-check."""
    away = names.ladder.engine.way_back.away_days
    return [
        str(CAUSES[cause["code"]]) % {"day": names.date(cause["day"]), "away": away}
        for cause in stage["fallen"]
    ]


def fell_today(names: Names, stage: Data, data: Data) -> bool:
    """True if a turn of today sent a skill of this stage to re-check, for this stage or for
    another one: its way back begins again. ``data``: the whole reading."""
    return bool(_support_asked_today(names, stage, data))


def brings_back(names: Names, stage: Data, data: Data) -> list[str]:
    """What brings a stage back from re-check, step by step."""
    if not stage["fallen"]:
        return []
    if fell_today(names, stage, data):
        return [_("%(sentence)s.") % {"sentence": support_asked_now(names, stage, data)}]
    return [
        _("%(drill)s, %(level)s now. %(step)s")
        % {
            "drill": names.drill(back["drill"]),
            "level": support_word(back["level"]),
            "step": way_back_sentence(back),
        }
        for back in _ways_back(names, stage, data)
    ]


def brings_back_short(names: Names, stage: Data, data: Data) -> str:
    """The same in the few words that a list has room for."""
    backs = _ways_back(names, stage, data)
    if fell_today(names, stage, data) or not backs:
        return support_asked_now(names, stage, data)
    return way_back_short(names, backs[0])


def support_asked_now(names: Names, stage: Data, data: Data) -> str:
    """The support that a stage on re-check asks for, before its way back has begun: what
    today's falls ask, and no less than the day began with."""
    today = _support_asked_today(names, stage, data)
    walked = [SUPPORT_BY_CODE[back["level"]] for back in _ways_back(names, stage, data)]
    every = [SUPPORT_BY_CODE[cause["asks"]] for cause in stage["fallen"]]
    most = max([*today, *walked] or every, default=None)
    if most is None:
        return ""
    form = _("%(support)s now; the way back begins on the next class day")
    return capfirst(form % {"support": SUPPORT_WORDS[most]})


def _support_asked_today(names: Names, stage: Data, data: Data) -> list[Support]:
    """What today's falls at the stage's skills ask for."""
    engine, today = names.ladder.engine, names.day.isoformat()
    skills = set(engine.stage[stage["code"]].skills)
    return [
        SUPPORT_BY_CODE[cause["asks"]]
        for stage_data in all_stages(data)
        if skills.intersection(engine.stage[stage_data["code"]].skills)
        for cause in stage_data["fallen"]
        if cause["code"] in ("stop-sign", "lately") and cause["day"] == today
    ]


def _ways_back(names: Names, stage: Data, data: Data) -> list[Data]:
    """The ways back of the stage's own skills."""
    skills = names.ladder.engine.stage[stage["code"]].skills
    return [back for back in data["ways_back"] if back["drill"] in skills]


def way_back_sentence(back: Data) -> str:
    """What brings the next step of a way back."""
    if back["tapped"] and back["ready"]:
        return _waits_for_a_yes(back)
    if back["ready"]:
        form = (
            _("Earned: open again from tomorrow.")
            if _last_step(back)
            else _("Earned: %(next)s from tomorrow.")
        )
    elif back["tapped"] and back["director"]:
        form = _(
            "To unspotted: %(need)s clean turns and hardly a miss at %(level)s, the first turn "
            "of that day clean, no stop sign, and then a director's yes. %(clean)s of %(need)s "
            "so far."
        )
    elif back["tapped"]:
        form = _(
            "To unspotted: %(need)s clean turns and hardly a miss at %(level)s, the first turn "
            "of that day clean, no stop sign, and then a coach's yes. %(clean)s of %(need)s "
            "so far."
        )
    elif _last_step(back):
        form = _(
            "The re-check ends with %(need)s clean turns and hardly a miss at %(level)s or "
            "less, the first turn of that day clean, and no stop sign. %(clean)s of %(need)s "
            "so far."
        )
    else:
        form = _(
            "To %(next)s: %(need)s clean turns and hardly a miss at %(level)s or less, the "
            "first turn of that day clean, and no stop sign. %(clean)s of %(need)s so far."
        )
    return form % _step_values(back)


def way_back_short(names: Names, back: Data) -> str:
    """The same in the few words that a list has room for."""
    if back["tapped"] and back["ready"]:
        return _waits_for_a_yes(back)
    if _last_step(back):
        form = _("%(drill)s: %(level)s now, %(clean)s of %(need)s clean to end the re-check")
    else:
        form = _("%(drill)s: %(level)s now, %(clean)s of %(need)s clean for the next step")
    return form % {**_step_values(back), "drill": names.drill(back["drill"])}


def way_back_waits() -> str:
    return _("The way back begins on the next class day.")


def _waits_for_a_yes(back: Data) -> str:
    if back["director"]:
        return _("Unspotted again is earned: it waits for a director's yes.")
    return _("Unspotted again is earned: it waits for a coach's yes.")


def _step_values(back: Data) -> dict[str, Any]:
    return {
        "level": support_word(back["level"]),
        "next": support_word(_one_less(back["level"])),
        "clean": min(back["clean"], back["clean_need"]),
        "need": back["clean_need"],
    }


def _last_step(back: Data) -> bool:
    """Nothing is left of the way back but the end of the re-check."""
    return SUPPORT_BY_CODE[back["level"]] <= SUPPORT_BY_CODE[back["goal"]]


def _one_less(code: str) -> str:
    return Support(max(SUPPORT_BY_CODE[code] - 1, Support.UNSPOTTED)).code

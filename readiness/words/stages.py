"""The stages of a reading, and what the ladder says beside each. Shared: used by the child page,
the floor and review."""

from typing import Any

from django.utils.translation import gettext as _

from readiness.words.names import Data, Names
from readiness.words.numbers import join_words
from studio.templatetags.marks import STATE_WORDS


def all_stages(data: Data) -> list[dict[str, Any]]:
    """Every stage of a reading with its code, a stage's own skills right after it."""
    stages = []
    for stage in data["stages"]:
        stages.append({**stage, "code": str(stage["stage"])})
        stages.extend({**part, "code": part["stage"]} for part in stage.get("skills", []))
    return stages


def stage_of(data: Data, code: str) -> dict[str, Any]:
    """One stage of a reading; KeyError if there is none of that code."""
    for stage in all_stages(data):
        if stage["code"] == code:
            return stage
    raise KeyError(code)


def stage_to_show(data: Data) -> dict[str, Any]:
    """The stage that matters most now: on re-check, for review, or next in reach."""
    stages = all_stages(data)
    for state in ("re-check", "for-review"):
        in_state = [stage for stage in stages if stage["state"] == state]
        if in_state:
            return in_state[-1]
    closed = [stage for stage in stages if stage["open_since"] is None]
    if not closed:
        return stages[-1]
    ready = [stage for stage in closed if not stage["waits_for"]]
    return max(ready or closed[:1], key=lambda stage: stage["score"])


def stage_state(names: Names, stage: Data) -> str:
    """A stage's state with its date, for the ladder."""
    if stage["state"] != "open":
        return str(STATE_WORDS[stage["state"]])
    values = {"day": names.date(stage["open_since"])}
    match stage["opened_by"]:
        case "start":
            return _("open from the start")
        case "signature":
            return _("signed, open since %(day)s") % values
        case "placing":
            return _("placed, open since %(day)s") % values
    return _("open since %(day)s") % values


def stage_notes(names: Names, stage: Data) -> list[str]:
    """What a stage waits for, apart from its gates."""
    notes = []
    if stage["waits_for"]:
        waits = join_words([names.stage(code) for code in stage["waits_for"]])
        notes.append(_("Waits for: %(stages)s.") % {"stages": waits})
    if stage["opens_tomorrow"]:
        notes.append(_("All gates are met: it opens tomorrow."))
    if stage["sent_back"]:
        notes.append(_("Sent back: it waits for a new class day."))
    return notes

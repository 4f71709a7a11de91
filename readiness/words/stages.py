"""The stages of a reading, and what the ladder says beside each. Shared: used by the child page,
the floor and review."""

from django.utils.translation import gettext as _

from readiness.engine.reading import StageReading
from readiness.words.names import Names
from readiness.words.numbers import join_words
from studio.templatetags.marks import STATE_WORDS


def stage_state(names: Names, stage: StageReading) -> str:
    """A stage's state with its date, for the ladder."""
    if stage.state != "open" or stage.opening is None:
        return str(STATE_WORDS[stage.state])
    values = {"day": names.date(stage.opening.since)}
    match stage.opening.how:
        case "start":
            return _("open from the start")
        case "signature":
            return _("signed, open since %(day)s") % values
        case "placing":
            return _("placed, open since %(day)s") % values
    return _("open since %(day)s") % values


def stage_notes(names: Names, stage: StageReading) -> list[str]:
    """What a stage waits for, apart from its gates."""
    notes = []
    if stage.waits_for:
        waits = join_words([names.stage(code) for code in stage.waits_for])
        notes.append(_("Waits for: %(stages)s.") % {"stages": waits})
    if stage.opens_tomorrow:
        notes.append(_("All gates are met: it opens tomorrow."))
    if stage.sent_back:
        notes.append(_("Sent back: it waits for a new class day."))
    return notes

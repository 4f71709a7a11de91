"""A child who grows fast. Shared: used by the child page and the floor."""

import datetime

from django.utils.translation import gettext as _

from readiness.engine.ladder import GrowingRule
from readiness.words.names import Names


def growing_fast() -> str:
    return _(
        "First turns with one step more, fewer landings on the hands. Ask about knees, heels and "
        "back."
    )


def growing_until(names: Names, rule: GrowingRule, since: datetime.date) -> str:
    """Since when, and until when unless a coach ends it before."""
    values = {"since": names.date(since), "until": names.date(since + rule.time)}
    return _("Growing fast since %(since)s, until %(until)s.") % values


def growing_text(ends: bool, said_by: str) -> str:
    """In the child's notes."""
    if ends:
        return _("No longer growing fast")
    return _("Growing fast, says %(by)s") % {"by": said_by} if said_by else _("Growing fast")

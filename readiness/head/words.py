"""The sentences of the page about a head knock."""

import datetime

from django.utils.translation import gettext as _

from readiness.words.names import Names


def knock_text(names: Names, on: datetime.date, elsewhere: bool) -> str:
    values = {"day": names.date(on)}
    if elsewhere:
        return _("A knock on the head on %(day)s, elsewhere") % values
    return _("A knock on the head on %(day)s") % values


def symptom_text(names: Names, on: datetime.date) -> str:
    return _("A symptom on %(day)s") % {"day": names.date(on)}


def clearance_text(names: Names, by: str, on: datetime.date) -> str:
    return _("Cleared by %(by)s on %(day)s") % {"by": by, "day": names.date(on)}


def step_text(names: Names, step: int, said_by: str, said_on: datetime.date) -> str:
    values = {"step": step, "by": said_by, "day": names.date(said_on)}
    return _("Step %(step)s given; %(by)s said “no symptoms” on %(day)s") % values

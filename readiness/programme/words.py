"""The sentences of the programme."""

import datetime
from math import ceil

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from readiness.engine.statistics.time_in_stage import Quantile
from readiness.record.ladders import NamedLadder
from readiness.words.gates import gate_title
from readiness.words.names import Names


def quantile_text(quantile: Quantile | None) -> str:
    """Weeks, with the interval in which they lie; a dash where it was not reached yet."""
    if quantile is None or quantile.weeks is None:
        return "–"
    values = {"weeks": ceil(quantile.weeks), "low": ceil(quantile.low or 0)}
    if quantile.high is None:
        return _("%(weeks)s (%(low)s or more)") % values
    return _("%(weeks)s (%(low)s to %(high)s)") % {**values, "high": ceil(quantile.high)}


def gate_text(named: NamedLadder, code: str) -> str:
    """What a gate asks, in a few words."""
    for stage in named.engine.stages:
        for gate in stage.gates:
            if gate.code == code:
                need = getattr(gate, "at_least", getattr(gate, "clean", 0))
                return gate_title(Names("", named, datetime.date.min), gate, need)
    return code


def days_range(first: datetime.date, last: datetime.date) -> str:
    values = {"first": date_format(first, "j M Y"), "last": date_format(last, "j M Y")}
    return _("%(first)s to %(last)s") % values

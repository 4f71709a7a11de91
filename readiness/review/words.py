"""The sentences of the review about logs that look too good."""

import datetime
from collections.abc import Iterator

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.engine.statistics.agreement import LogReading
from readiness.engine.statistics.first_turns import SAMPLE, FewTurns
from readiness.review.logs import TooGood


def log_sentences(found: TooGood) -> Iterator[str]:
    """What stands out in one person's log: how many turns, how many not clean, since when."""
    since = date_format(found.since, "j M Y")
    if found.misses is not None:
        yield _misses(found.misses, since)
    if found.few is not None:
        yield _few_turns(found.few, since)


def _misses(read: LogReading, since: str) -> str:
    values = {
        "turns": read.turns,
        "missed": read.missed,
        "since": since,
        "expected": round(read.expected or 0),
    }
    if read.missed == 0:
        first = ngettext(
            "%(turns)s turn since %(since)s, all of them clean.",
            "%(turns)s turns since %(since)s, all of them clean.",
            read.turns,
        )
    else:
        first = ngettext(
            "%(turns)s turn since %(since)s, %(missed)s of them not clean.",
            "%(turns)s turns since %(since)s, %(missed)s of them not clean.",
            read.turns,
        )
    second = _("By what the others log at the same drills, about %(expected)s would not be clean.")
    return f"{first % values} {second % values}"


def _few_turns(read: FewTurns, since: str) -> str:
    values = {
        "short": read.short, "evenings": read.evenings, "sample": SAMPLE, "since": since,
        "others_short": read.others_short, "others": read.others,
    }  # fmt: skip
    first = _(
        "Fewer than %(sample)s turns of a child at a drill on %(short)s of %(evenings)s evenings "
        "since %(since)s."
    )
    second = _("With the others it is %(others_short)s of %(others)s.") if read.others else ""
    third = _("If more were done, look whether those left out are the ones that went wrong.")
    return " ".join(each % values for each in (first, second, third) if each)


def nothing_stands_out(since: datetime.date) -> str:
    values = {"since": date_format(since, "j M Y")}
    return _("Since %(since)s no log stands out among the others.") % values

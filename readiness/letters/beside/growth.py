"""What has grown, then and now: holds only, and only those that did grow."""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, field
from statistics import median

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.letters.facts import LATELY, TERM, ChildFacts
from readiness.letters.rests_on import named
from readiness.letters.sentence import RestsOn, Sentence

# Medians of so many days at each end; with fewer there is too little to say. Nothing has grown by
# less than so many seconds, or by less than this share (common practice, no source).
DAYS_AT_EACH_END = 2
LEAST_SECONDS = 3
LEAST_SHARE = 1.2
# The least at the beginning of which "about so many seconds" says something.
LEAST_THEN = 2
MOST_DRAWN = 2


@dataclass(frozen=True)
class Grown:
    """A hold: about how many seconds in that month, and now. said: the sentence; now_said: the word
    for now."""

    drill: str
    month: str
    then: int
    now: int
    said: str
    now_said: str
    rests_on: tuple[RestsOn, ...] = field(default=(), compare=False)

    @property
    def sentence(self) -> Sentence:
        return Sentence(self.said, self.rests_on)


def grown(child: ChildFacts) -> tuple[Grown, ...]:
    """Those that grew most; none while tumbling is paused or something hurts."""
    if child.paused_since or child.hurt_lately():
        return ()
    most = sorted(_all_grown(child), key=lambda each: each.now / each.then, reverse=True)
    return tuple(most[:MOST_DRAWN])


def _all_grown(child: ChildFacts) -> Iterator[Grown]:
    for key, drill in child.now.ladder.engine.drills.items():
        if drill.measure != "seconds":
            continue
        best = _best_by_day(child, key)
        days = sorted(best)
        if len(days) < 2 * DAYS_AT_EACH_END:
            continue
        earlier, later = days[:DAYS_AT_EACH_END], days[-DAYS_AT_EACH_END:]
        then, now = (round(median(best[day] for day in ends)) for ends in (earlier, later))
        lately = later[0] > child.day - LATELY and later[0] - earlier[-1] >= LATELY
        if lately and _grew(then, now):
            rests_on = named.turns_of_days(child, key, (*earlier, *later))
            month = date_format(earlier[0], "F")
            yield _told(child.drill_name(key), month, then, now, rests_on)


def _told(drill: str, month: str, then: int, now: int, rests_on: tuple[RestsOn, ...]) -> Grown:
    sentence = ngettext(
        "%(drill)s: about %(then)d second in %(month)s, %(now)d now.",
        "%(drill)s: about %(then)d seconds in %(month)s, %(now)d now.",
        then,
    )
    said = sentence % {"drill": drill, "then": then, "month": month, "now": now}
    return Grown(drill, month, then, now, said, _("now"), rests_on)


def _grew(then: int, now: int) -> bool:
    return then >= LEAST_THEN and now >= then + LEAST_SECONDS and now >= then * LEAST_SHARE


def _best_by_day(child: ChildFacts, drill: str) -> dict[datetime.date, float]:
    """The longest hold of each day of this term, while turns of this drill were logged as such."""
    evidence, found = child.now.evidence, {}
    first = child.day - TERM + datetime.timedelta(days=1)
    for span in child.now.ladder.engine.logged_as(drill):
        for day in evidence.days(span.drill, min(child.day, span.last), max(first, span.first)):
            held = [tally.best for tally in evidence.on(span.drill, day) if tally.best is not None]
            if held:
                found[day] = max(held)
    return found

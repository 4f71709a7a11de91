"""The sentences: what a reading says, for staff.

They are made from the plain data of a reading (readiness.engine.reading.as_json) and the
names of the ladder it was read under, and from nothing else. No sentence promises that a
child comes to no harm; a child is called by name.
"""

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import ceil
from typing import Any

from django.utils.formats import date_format, number_format
from django.utils.functional import Promise as Lazy
from django.utils.text import capfirst
from django.utils.translation import get_language, gettext_lazy, ngettext, pgettext
from django.utils.translation import gettext as _

from readiness.engine.ladder import SUPPORT_BY_CODE, Support
from readiness.engine.statistics.hand_contacts import HandContacts
from readiness.engine.statistics.proportions import most_after_none
from readiness.record.ladders import NamedLadder
from studio.templatetags.marks import STATE_WORDS, SUPPORT_WORDS, percent

Data = Mapping[str, Any]

# (turns, days) of clean turns that would open a gate; None if no such number was found.
Promise = tuple[int, int] | None
NOTHING_PROMISED = (0, 0)

# Clean rates that are said as so many times in so many, in hundredths.
RATES = {60: (3, 5), 70: (7, 10), 75: (3, 4), 80: (4, 5), 90: (9, 10)}

STEADY: dict[str, Lazy] = {
    "hands-on": gettext_lazy("%(drill)s: steady hands-on"),
    "light-touch": gettext_lazy("%(drill)s: steady at light touch or less"),
    "standing-by": gettext_lazy("%(drill)s: steady at standing by or less"),
    "unspotted": gettext_lazy("%(drill)s: steady unspotted"),
}

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

SUPPORT_REASONS: dict[str, Lazy] = {
    "paused": gettext_lazy("%(child)s is paused: no tumbling until a director lifts it."),
    "closed": gettext_lazy("Not open for %(child)s yet."),
    "pain": gettext_lazy("Something hurts: %(child)s rests from this today."),
    "stop-sign": gettext_lazy("After a stop sign: more support until the way back is walked."),
    "finished-tonight": gettext_lazy(
        "A stop sign while held: finished with this for tonight. Now the drills that mend it."
    ),
    "away": gettext_lazy("After long without a turn: more support until the way back is walked."),
    "lately": gettext_lazy(
        "Too few clean turns lately: more support until the way back is walked."
    ),
    "evidence-changed": gettext_lazy(
        "The evidence behind the signature has changed: more support until the way back is walked."
    ),
    "placed": gettext_lazy("Newly placed: starts hands-on, and walks the way back."),
    "first-turn": gettext_lazy("The first turn of each day, for everybody; then unspotted."),
}


FLAGS: dict[str, Lazy] = {
    "less-support": gettext_lazy("less support than allowed"),
    "paused": gettext_lazy("done while paused"),
    "closed": gettext_lazy("done while not open"),
    "pain": gettext_lazy("done although something hurt"),
    "clock": gettext_lazy("the tablet's clock was off"),
    "said-to-be-by": gettext_lazy("only said to be by this coach: it counts as nobody's grade"),
}

# Why less support was given than the tablet showed.
LESS: dict[str, Lazy] = {
    "judged-right": gettext_lazy("I saw it and judged it right"),
    "made-easier": gettext_lazy("The set-up was made easier"),
    "no-spotter": gettext_lazy("No spotter was free"),
    "went-alone": gettext_lazy("Went before I was there"),
}

STRIKES: dict[str, Lazy] = {
    "wrong-child": gettext_lazy("wrong child"),
    "wrong-tap": gettext_lazy("wrong tap"),
    "other": gettext_lazy("another reason"),
}

DECIDED: dict[str, Lazy] = {
    "recommend": gettext_lazy("Recommended: %(stage)s, on %(surface)s"),
    "sign": gettext_lazy("Signed: %(stage)s, on %(surface)s and easier"),
    "send-back": gettext_lazy("Sent back: %(stage)s"),
    "exception": gettext_lazy("Exception written: %(stage)s"),
    "step": gettext_lazy("%(drill)s: %(support)s given"),
}

# What was there first, when somebody comes second.
WAS_DECIDED: dict[str, Lazy] = {
    "recommend": gettext_lazy("recommended"),
    "sign": gettext_lazy("signed"),
    "send-back": gettext_lazy("sent back"),
    "exception": gettext_lazy("exception written"),
    "step": gettext_lazy("less support given"),
    "placing": gettext_lazy("placed"),
    "pauselift": gettext_lazy("pause lifted"),
}


def rate_words(rate: float) -> str:
    """A clean rate as "4 times in 5", or "65 times in 100" where no short form is known."""
    hundredths = round(rate * 100, 6)
    times, of = RATES.get(round(hundredths), (hundredths, 100))
    if hundredths != round(hundredths):
        times, of = hundredths, 100
    return _("%(times)s times in %(of)s") % {"times": number_words(times), "of": of}


def percent_words(share: float) -> str:
    """A share as a percentage, rounded down."""
    return _("%(number)s %%") % {"number": percent(share)}


def number_words(value: float) -> str:
    """A number with at most one decimal, and none if it is whole."""
    return _number(round(value, 1), get_language())


@lru_cache(maxsize=2000)
def _number(rounded: float, _language: str | None) -> str:
    """Kept by the language too, which Django itself asks for: the same few numbers stand in the
    sentences about every child."""
    return number_format(rounded, 0 if rounded == int(rounded) else 1)


def support_word(code: str) -> str:
    return str(SUPPORT_WORDS[SUPPORT_BY_CODE[code]])


def none_in_words(turns: int) -> str:
    """What no stop sign in so many turns still leaves possible: seldom is not never."""
    most = ceil(100 * (most_after_none(turns) or 1))
    return ngettext(
        "None in %(turns)s turn still leaves up to about %(most)s in 100 possible.",
        "None in %(turns)s turns still leaves up to about %(most)s in 100 possible.",
        turns,
    ) % {"turns": turns, "most": most}


def count_word(number: int) -> str:
    """A number as it stands at the start of a sentence."""
    words = [
        pgettext("number at the start of a sentence", "Nobody"),
        pgettext("number at the start of a sentence", "One"),
        pgettext("number at the start of a sentence", "Two"),
        pgettext("number at the start of a sentence", "Three"),
        pgettext("number at the start of a sentence", "Four"),
        pgettext("number at the start of a sentence", "Five"),
        pgettext("number at the start of a sentence", "Six"),
        pgettext("number at the start of a sentence", "Seven"),
        pgettext("number at the start of a sentence", "Eight"),
        pgettext("number at the start of a sentence", "Nine"),
        pgettext("number at the start of a sentence", "Ten"),
    ]
    return words[number] if number < len(words) else str(number)


def join_words(parts: Sequence[str]) -> str:
    """A list in a sentence."""
    if len(parts) < 2:
        return "".join(parts)
    return _("%(first)s and %(last)s") % {"first": ", ".join(parts[:-1]), "last": parts[-1]}


def all_stages(data: Data) -> list[dict[str, Any]]:
    """Every stage of a reading with its code, a stage's own skills right after it."""
    found = []
    for stage in data["stages"]:
        found.append({**stage, "code": str(stage["stage"])})
        found.extend({**part, "code": part["stage"]} for part in stage.get("skills", []))
    return found


def stage_of(data: Data, code: str) -> dict[str, Any]:
    """One stage of a reading; KeyError if there is none of that code."""
    for stage in all_stages(data):
        if stage["code"] == code:
            return stage
    raise KeyError(code)


def holding_gate(stage: Data) -> Data | None:
    """The gate with the least progress, ties by the ladder's order; None if all are met."""
    unmet = [gate for gate in stage["gates"] if not gate["met"]]
    return min(unmet, key=lambda gate: gate["progress"], default=None)


def stage_to_show(data: Data) -> dict[str, Any]:
    """The stage that matters most now: on re-check, for review, or next in reach."""
    stages = all_stages(data)
    for state in ("re-check", "for-review"):
        found = [stage for stage in stages if stage["state"] == state]
        if found:
            return found[-1]
    closed = [stage for stage in stages if stage["open_since"] is None]
    if not closed:
        return stages[-1]
    ready = [stage for stage in closed if not stage["waits_for"]]
    return max(ready or closed[:1], key=lambda stage: stage["score"])


@dataclass(frozen=True)
class Words:
    """The sentences about one child, under one ladder, read on one day."""

    child: str
    ladder: NamedLadder
    day: datetime.date

    # --- names and days --------------------------------------------------------------

    def date(self, day: datetime.date | str) -> str:
        """A day and a month; the year only if it is another one."""
        if isinstance(day, str):
            day = datetime.date.fromisoformat(day)
        return date_format(day, "j M" if day.year == self.day.year else "j M Y")

    def drill(self, key: str) -> str:
        drill = self.ladder.drills.get(key)
        return drill["name"] if drill else key

    def surface(self, key: str) -> str:
        return self.ladder.surface_names.get(key, key)

    def surfaces(self, keys: Sequence[str]) -> str:
        """Surfaces that lie side by side in the ladder's order, easiest first."""
        every = list(self.ladder.surface_names)
        if len(keys) > 1 and keys[0] == every[0]:
            return _("%(surface)s and easier") % {"surface": self.surface(keys[-1])}
        if len(keys) > 1 and keys[-1] == every[-1]:
            return _("%(surface)s and harder") % {"surface": self.surface(keys[0])}
        return join_words([self.surface(key) for key in keys])

    def stage(self, code: str) -> str:
        return self.ladder.stage_names.get(code, code)

    # --- gates -----------------------------------------------------------------------

    def gate_title(self, gate: Data) -> str:
        """What a gate asks, in a few words."""
        file, drill = self.ladder.gates[gate["code"]], self.ladder.drills[gate["drill"]]
        need = number_words(gate["need"])
        match gate["kind"]:
            case "clean" if "support" in file:
                form = str(STEADY[file["support"]])
            case "clean":
                form = _("%(drill)s: steady")
            case "reach" if drill["measure"] == "seconds":
                form = _("%(drill)s: %(need)s s")
            case "reach" if drill["measure"] == "grade":
                form = _("%(drill)s: grade %(need)s")
            case "reach":
                form = _("%(drill)s: %(need)s")
            case "clear":
                form = _("%(drill)s: no stop sign lately")
            case "count":
                form = _("%(drill)s: %(need)s clean")
            case "seen-by-two":
                form = _("%(drill)s: seen by two")
            case _other:
                form = _("%(drill)s: first turn of the day")
        return form % {"drill": drill["name"], "need": need}

    def gate(self, gate: Data, promise: Promise = NOTHING_PROMISED, entered: bool = False) -> str:
        """Where a gate stands. ``promise``: the clean turns that would open a clean gate;
        ``entered``: its stage is open, and the gate no more than a reminder."""
        match gate["kind"]:
            case "clean":
                return " ".join(self._clean(gate, promise, entered)).strip()
            case "reach":
                return self._reach(gate)
            case "clear":
                return self._clear(gate)
            case "count":
                return _("%(value)s of %(need)s clean turns.") % _counts(gate)
            case "seen-by-two":
                return self._seen_by_two(gate)
        return self._first_turn(gate)

    def _clean(self, gate: Data, promise: Promise, entered: bool) -> Iterable[str]:
        said = {
            "sure": percent_words(gate["value"]),
            "need": percent_words(gate["need"]),
            "child": self.child,
            "rate": rate_words(gate["parts"]["rate"]),
        }
        if gate["met"] or entered:
            form = _(
                "The record is %(sure)s sure that %(child)s is clean at least %(rate)s; "
                "%(need)s is asked."
            )
            yield form % said
            return
        if gate["parts"]["clean"] == 0:
            yield _("No clean turn counts yet.")
        yield _("The record is %(sure)s sure that %(child)s is clean at least %(rate)s.") % said
        if gate["value"] >= gate["need"]:
            yield from self._lacks(gate["parts"])
        yield self._opens(gate, promise)

    def _lacks(self, parts: Data) -> Iterable[str]:
        """What else a clean gate asks, once it is sure enough."""
        if parts["days"] < parts["days_need"]:
            yield _("Clean turns on %(days)s of %(days_need)s days.") % parts
        if parts["clean"] < parts["clean_need"]:
            yield _("%(clean)s of %(clean_need)s clean turns.") % parts
        if parts["age"] > parts["fresh"]:
            form = _("The newest clean turn is %(age)s days old; it may be %(fresh)s at most.")
            yield form % parts

    def _opens(self, gate: Data, promise: Promise) -> str:
        said = {"need": percent_words(gate["need"]), "more": self._more(promise)}
        sure = gate["value"] >= gate["need"]
        if promise is None:
            return _("The next classes are too few to open it.")
        if promise == NOTHING_PROMISED:
            return "" if sure else _("This opens at %(need)s.") % said
        if sure:
            return _("This opens with about %(more)s.") % said
        return _("This opens at %(need)s: about %(more)s.") % said

    def _more(self, promise: Promise) -> str:
        if not promise or promise == NOTHING_PROMISED:
            return ""
        turns, days = promise
        if days == 1:
            form = ngettext(
                "%(turns)s more clean turn on one day",
                "%(turns)s more clean turns on one day",
                turns,
            )
        else:
            form = ngettext(
                "%(turns)s more clean turn on %(days)s days",
                "%(turns)s more clean turns on %(days)s days",
                turns,
            )
        return form % {"turns": turns, "days": days}

    def _reach(self, gate: Data) -> str:
        parts = gate["parts"]
        measure = self.ladder.drills[gate["drill"]]["measure"]
        said = {
            "best": self._measured(parts["best"], measure),
            "need": self._measured(gate["need"], measure),
            "bare_best": number_words(parts["best"]),
            "bare_need": number_words(gate["need"]),
            "days": parts["days"],
            "days_need": parts["days_need"],
            "reached": join_words([self.date(day) for day in gate["days"][-2:]]),
        }
        return self._reach_form(gate, measure == "grade") % said

    def _reach_form(self, gate: Data, is_grade: bool) -> str:
        parts = gate["parts"]
        if is_grade and gate["met"]:
            return _("Grade %(bare_need)s reached, last on %(reached)s.")
        if is_grade:
            return _(
                "Grade %(bare_need)s on %(days)s of %(days_need)s days: a day counts with its "
                "second-best graded turn."
            )
        if gate["met"]:
            return _("%(need)s reached, last on %(reached)s.")
        if parts["days"]:
            return _("%(need)s reached on %(days)s of %(days_need)s days, at best %(best)s.")
        if parts["best"]:
            return _("%(bare_best)s of %(need)s at best, on %(days)s of %(days_need)s days.")
        return _("Nothing of %(need)s yet, on %(days)s of %(days_need)s days.")

    def _measured(self, value: float, measure: str) -> str:
        """A value with its unit, as it stands inside a sentence."""
        number = {"number": number_words(value)}
        if measure == "seconds":
            return _("%(number)s s") % number
        if measure == "grade":
            return _("grade %(number)s") % number
        return number["number"]

    def _clear(self, gate: Data) -> str:
        parts = gate["parts"]
        if parts["none_ever"]:
            return _("No stop sign on record.")
        said = {**_counts(gate), **parts, "day": self.date(gate["days"][0])}
        if gate["met"]:
            form = _(
                "No stop sign since %(day)s: %(value)s clean turns on later days, %(since)s days."
            )
        else:
            form = _(
                "Since the stop sign on %(day)s: %(value)s of %(need)s clean turns on later "
                "days, %(since)s of %(days_need)s days."
            )
        return form % said

    def _seen_by_two(self, gate: Data) -> str:
        said = {**_counts(gate), "days": join_words([self.date(day) for day in gate["days"][-3:]])}
        if gate["met"]:
            form = _("Seen clean by two graders, last on %(days)s.")
        elif gate["value"] >= gate["need"]:
            form = _(
                "Two graders, but on one day only (%(days)s): another day, or three clean "
                "turns seen by each."
            )
        else:
            form = _("Seen clean by %(value)s of %(need)s graders.")
        return form % said

    def _first_turn(self, gate: Data) -> str:
        file = self.ladder.gates[gate["code"]]
        said = {
            "support": support_word(file.get("support", "hands-on")),
            "within": file.get("within", 28),
            "day": self.date(gate["days"][0]) if gate["days"] else "",
        }
        if gate["met"]:
            return _("The first turn on %(day)s was clean.") % said
        if not gate["days"]:
            return _("No turn in the last %(within)s days.") % said
        form = _(
            "The first turn on %(day)s does not count: it has to be clean, graded, and at "
            "%(support)s or less."
        )
        return form % said

    def stale(self, gate: Data) -> str:
        """Until when a gate stays met with nothing more; empty if it does not fall."""
        if not gate["met"] or not gate["stale_on"]:
            return ""
        return _("With nothing more, no longer met from %(day)s.") % {
            "day": self.date(gate["stale_on"])
        }

    def chart_line(self, gate: Data) -> str:
        """What the level line of a gate's chart stands for."""
        if gate["kind"] == "clean":
            return _("the line: %(need)s sure") % {"need": percent_words(gate["need"])}
        measure = self.ladder.drills[gate["drill"]]["measure"]
        return _("the line: %(need)s") % {"need": self._measured(gate["need"], measure)}

    def gate_short(self, gate: Data) -> str:
        """What an unmet gate lacks, in the few words that a list has room for."""
        said = {**_counts(gate), **gate["parts"], "drill": self.drill(gate["drill"])}
        match gate["kind"]:
            case "clean" if gate["value"] < gate["need"]:
                said |= {"sure": percent(gate["value"]), "asked": percent(gate["need"])}
                form = _("%(drill)s: %(sure)s %% sure of %(asked)s")
            case "clean" if gate["parts"]["days"] < gate["parts"]["days_need"]:
                form = _("%(drill)s: clean on %(days)s of %(days_need)s days")
            case "clean" if gate["parts"]["clean"] < gate["parts"]["clean_need"]:
                form = _("%(drill)s: %(clean)s of %(clean_need)s clean turns")
            case "clean":
                form = _("%(drill)s: last clean turn %(age)s days ago")
            case "reach" if gate["parts"]["days"]:
                form = _("%(drill)s: %(need)s reached on %(days)s of %(days_need)s days")
            case "reach":
                measure = self.ladder.drills[gate["drill"]]["measure"]
                said["best"] = number_words(gate["parts"]["best"])
                said["need"] = self._measured(gate["need"], measure)
                form = _("%(drill)s: %(best)s of %(need)s")
            case "clear" if gate["value"] < gate["need"]:
                form = _("%(drill)s: %(value)s of %(need)s clean since the stop sign")
            case "clear":
                form = _("%(drill)s: %(since)s of %(days_need)s days since the stop sign")
            case "count":
                form = _("%(drill)s: %(value)s of %(need)s clean")
            case "seen-by-two":
                form = _("%(drill)s: not yet seen by two")
            case _other:
                form = _("%(drill)s: first turn of the day")
        return form % said

    # --- stages ----------------------------------------------------------------------

    def stage_state(self, stage: Data) -> str:
        """A stage's state with its date, for the ladder."""
        if stage["state"] != "open":
            return str(STATE_WORDS[stage["state"]])
        said = {"day": self.date(stage["open_since"])}
        match stage["opened_by"]:
            case "start":
                return _("open from the start")
            case "signature":
                return _("signed, open since %(day)s") % said
            case "placing":
                return _("placed, open since %(day)s") % said
        return _("open since %(day)s") % said

    def stage_notes(self, stage: Data) -> list[str]:
        """What a stage waits for, apart from its gates."""
        notes = []
        if stage["waits_for"]:
            names = join_words([self.stage(code) for code in stage["waits_for"]])
            notes.append(_("Waits for: %(stages)s.") % {"stages": names})
        if stage["opens_tomorrow"]:
            notes.append(_("All gates are met: it opens tomorrow."))
        if stage["sent_back"]:
            notes.append(_("Sent back: it waits for a new class day."))
        return notes

    def causes(self, stage: Data) -> list[str]:
        """Why an open stage is on re-check."""
        away = self.ladder.engine.way_back.away_days
        return [
            str(CAUSES[cause["code"]]) % {"day": self.date(cause["day"]), "away": away}
            for cause in stage["fallen"]
        ]

    def fell_today(self, stage: Data, data: Data) -> bool:
        """True if a turn of today sent a skill of this stage to re-check, for this stage or for
        another one: its way back begins anew. ``data``: the whole reading."""
        return bool(self._asked_today(stage, data))

    def _asked_today(self, stage: Data, data: Data) -> list[Support]:
        """What today's falls at the stage's skills ask for."""
        engine, today = self.ladder.engine, self.day.isoformat()
        skills = set(engine.stage[stage["code"]].skills)
        return [
            SUPPORT_BY_CODE[cause["asks"]]
            for each in all_stages(data)
            if skills.intersection(engine.stage[each["code"]].skills)
            for cause in each["fallen"]
            if cause["code"] in ("stop-sign", "lately") and cause["day"] == today
        ]

    def _backs(self, stage: Data, data: Data) -> list[Data]:
        """The ways back of the stage's own skills."""
        skills = self.ladder.engine.stage[stage["code"]].skills
        return [back for back in data["ways_back"] if back["drill"] in skills]

    def brings_back(self, stage: Data, data: Data) -> list[str]:
        """What brings a stage back from re-check, step by step."""
        if not stage["fallen"]:
            return []
        if self.fell_today(stage, data):
            return [_("%(sentence)s.") % {"sentence": self.asked_now(stage, data)}]
        return [
            _("%(drill)s, %(level)s now. %(step)s")
            % {
                "drill": self.drill(back["drill"]),
                "level": support_word(back["level"]),
                "step": self.way_back(back),
            }
            for back in self._backs(stage, data)
        ]

    def brings_back_short(self, stage: Data, data: Data) -> str:
        """The same in the few words that a list has room for."""
        backs = self._backs(stage, data)
        if self.fell_today(stage, data) or not backs:
            return self.asked_now(stage, data)
        return self.way_back_short(backs[0])

    def asked_now(self, stage: Data, data: Data) -> str:
        """The support that a stage on re-check asks for, before its way back has begun: what
        today's falls ask, and no less than the day began with."""
        today = self._asked_today(stage, data)
        walked = [SUPPORT_BY_CODE[back["level"]] for back in self._backs(stage, data)]
        every = [SUPPORT_BY_CODE[cause["asks"]] for cause in stage["fallen"]]
        most = max([*today, *walked] or every, default=None)
        if most is None:
            return ""
        form = _("%(support)s now; the way back begins on the next class day")
        return capfirst(form % {"support": SUPPORT_WORDS[most]})

    def holding(self, stage: Data) -> str:
        """What holds a closed stage, in a few words; that all gates are met, if they are."""
        gate = holding_gate(stage)
        if gate is not None:
            return self.gate_short(gate)
        return ngettext("The one gate is met", "All %(n)s gates met", len(stage["gates"])) % {
            "n": len(stage["gates"])
        }

    def review_line(self, kind: str, by: str, day: datetime.date | None) -> str:
        """What a stage for review waits for; ``kind``: the last decision, empty if none."""
        said = {"by": by, "day": self.date(day) if day else ""}
        if kind == "recommend":
            return _("Recommended by %(by)s on %(day)s") % said
        if kind == "sign" and day == self.day:
            return _("Signed by %(by)s today: it opens tomorrow") % said
        return _("Waits for a recommendation")

    def paused_since(self, day: str) -> str:
        return _("Paused since %(day)s") % {"day": self.date(day)}

    def paused_until(self, day: str) -> str:
        return _("Paused since %(day)s, until a director lifts it") % {"day": self.date(day)}

    def pause_ends(self, by: str) -> str:
        return _("%(by)s lifted it today: it ends tomorrow.") % {"by": by}

    def hurts_today(self, places: Iterable[str]) -> str:
        """What was told to hurt today, and what comes of it; empty if nothing."""
        names = [self.ladder.pain_names.get(place, place) for place in dict.fromkeys(places)]
        if not names:
            return ""
        form = _(
            "Told today that something hurts: %(places)s. What loads it rests today; ask again at "
            "the next class. The same place again within %(days)s days is a pause."
        )
        return form % {"places": join_words(names), "days": self.ladder.engine.pain_again_days}

    # --- support ---------------------------------------------------------------------

    def support_why(self, causes: Iterable[str]) -> list[str]:
        """Why a child gets more support than the open stages alone would ask."""
        return [str(SUPPORT_REASONS[cause]) % {"child": self.child} for cause in causes]

    def way_back(self, back: Data) -> str:
        """What brings the next step of a way back."""
        said = {
            "level": support_word(back["level"]),
            "next": support_word(_one_less(back["level"])),
            "clean": min(back["clean"], back["clean_need"]),
            "need": back["clean_need"],
        }
        if back["tapped"] and back["ready"]:
            return self._waits_for_a_yes(back)
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
        return form % said

    def _waits_for_a_yes(self, back: Data) -> str:
        if back["director"]:
            return _("Unspotted again is earned: it waits for a director's yes.")
        return _("Unspotted again is earned: it waits for a coach's yes.")

    def way_back_waits(self) -> str:
        return _("The way back begins on the next class day.")

    def way_back_short(self, back: Data) -> str:
        said = {
            "level": support_word(back["level"]),
            "drill": self.drill(back["drill"]),
            "clean": min(back["clean"], back["clean_need"]),
            "need": back["clean_need"],
        }
        if back["tapped"] and back["ready"]:
            return self._waits_for_a_yes(back)
        if _last_step(back):
            form = _("%(drill)s: %(level)s now, %(clean)s of %(need)s clean to end the re-check")
        else:
            form = _("%(drill)s: %(level)s now, %(clean)s of %(need)s clean for the next step")
        return form % said

    # --- landings on the hands -------------------------------------------------------

    def hand_contacts(self, read: HandContacts) -> list[str]:
        """Landings this week beside the usual, and the caution where the reading asks for one."""
        said = [self._landings_this_week(read.week), *self._usual_landings(read)]
        if read.caution:
            form = (
                _(
                    "A caution, not a rule: that is a lot after three weeks without. Ask about "
                    "wrists and elbows, and think of fewer landings today. What such numbers "
                    "foretell is not established."
                )
                if read.code == "back-after-weeks"
                else _(
                    "A caution, not a rule: that is half as much again as %(child)s is used to, "
                    "or more. Ask about wrists and elbows, and think of fewer landings today. "
                    "What such numbers foretell is not established."
                )
            )
            said.append(form % {"child": self.child})
        return said

    def _landings_this_week(self, week: float) -> str:
        if not week:
            return _("No landing on the hands in the last 7 days.")
        return ngettext(
            "%(n)s landing on the hands in the last 7 days.",
            "%(n)s landings on the hands in the last 7 days.",
            round(week),
        ) % {"n": number_words(week)}

    def _usual_landings(self, read: HandContacts) -> list[str]:
        if read.code == "no-usual-yet":
            return [_("The record is too young to say what is usual.")]
        if read.usual is None:
            return []
        form = _("%(child)s's own usual week, from the last 28 days: %(usual)s.")
        return [form % {"child": self.child, "usual": number_words(read.usual)}]

    # --- turns and decisions ---------------------------------------------------------

    def outcome(self, drill: str, clean: bool | None, value: float | None, caught: bool) -> str:
        """What came of one turn."""
        if value is not None:
            measure = self.ladder.drills.get(drill, {}).get("measure", "reps")
            return self._measured(value, measure)
        if caught:
            return _("caught")
        return _("clean") if clean else _("not clean")

    def struck(self, by: str, code: str) -> str:
        why = str(STRIKES.get(code, STRIKES["other"]))
        return _("struck by %(by)s: %(why)s") % {"by": by, "why": why}

    def flag(self, code: str) -> str:
        return str(FLAGS.get(code, code))

    def turn(self, drill: str, support: int) -> str:
        """A turn at a drill, with the support it was done at."""
        said = {"drill": self.drill(drill), "support": SUPPORT_WORDS[support]}
        if not self.ladder.drills.get(drill, {}).get("support_logged"):
            return self.drill(drill)
        return _("%(drill)s, %(support)s") % said

    def mending(self, mend: Data) -> str:
        """A drill that mends a fault, with its note."""
        said = {"drill": self.drill(mend["drill"]), "note": mend.get("note", "")}
        return _("%(drill)s (%(note)s)") % said if said["note"] else said["drill"]

    def decided(self, decision: Data) -> str:
        """A decision in the child's history."""
        return str(DECIDED[decision["kind"]]) % {
            "stage": self.stage(decision["stage"]),
            "surface": self.surface(decision["surface"]) if decision["surface"] else "–",
            "drill": self.drill(decision["drill"]) if decision["drill"] else "",
            "support": SUPPORT_WORDS[decision["support"] or 0],
        }

    def placed(self, stage: str, surface: str) -> str:
        said = {"stage": self.stage(stage), "surface": self.surface(surface)}
        return _("Placed at %(stage)s, on %(surface)s") % said

    def hurt_today(self, place: str) -> str:
        said = {"place": self.ladder.pain_names.get(place, place)}
        return _("Hurts today: %(place)s; what loads it rests until the next class") % said

    def hurt(self, place: str) -> str:
        said = {"place": self.ladder.pain_names.get(place, place)}
        return _("Something hurt: %(place)s") % said

    def tap(self, drill: str, support: int, again: bool) -> str:
        """The words on the button that gives less support."""
        said = {"drill": self.drill(drill), "support": SUPPORT_WORDS[support]}
        if again:
            return _("%(drill)s: %(support)s again") % said
        return _("%(drill)s: give %(support)s") % said


def _last_step(back: Data) -> bool:
    """Nothing is left of the way back but the end of the re-check."""
    return SUPPORT_BY_CODE[back["level"]] <= SUPPORT_BY_CODE[back["goal"]]


def _one_less(code: str) -> str:
    return Support(max(SUPPORT_BY_CODE[code] - 1, Support.UNSPOTTED)).code


def _counts(gate: Data) -> dict[str, str]:
    return {"value": number_words(gate["value"]), "need": number_words(gate["need"])}


# --- decisions -----------------------------------------------------------------------

REFUSALS: dict[str, Lazy] = {
    "may-not": gettext_lazy("Your account may not decide this."),
    "same-person": gettext_lazy(
        "You recommended this yourself. Somebody else has to sign: two people, two looks."
    ),
    "evidence-changed": gettext_lazy(
        "The evidence has changed since this page was drawn. Nothing was decided. This is the "
        "record as it stands now: look again."
    ),
    "already-decided": gettext_lazy(
        "Already decided by %(by)s at %(time)s: %(what)s. Nothing was changed."
    ),
    "not-for-review": gettext_lazy("This stage is not for review now."),
    "no-recommendation": gettext_lazy(
        "Nobody has recommended this yet. One person recommends, another signs."
    ),
    "reason-missing": gettext_lazy("Write a reason: it stays with the decision."),
    "surface-not-met": gettext_lazy("The gates are not met on this surface, or it was not named."),
    "stage-too-high": gettext_lazy(
        "A child is placed at stage %(most)s at most. What lies above is reached by gates and "
        "signature."
    ),
    "stage-unknown": gettext_lazy("This ladder has no such stage."),
    "signed-stage": gettext_lazy("This stage is reached by its gates and a signature only."),
    "already-open": gettext_lazy("This stage is open already."),
    "no-exception": gettext_lazy("There is nothing here for an exception to lift."),
    "not-earned": gettext_lazy("The record does not give this step today."),
    "not-paused": gettext_lazy("There is no pause to lift."),
}


def refusal(code: str, said: Mapping[str, object]) -> str:
    """Why a decision was refused."""
    return str(REFUSALS[code]) % said

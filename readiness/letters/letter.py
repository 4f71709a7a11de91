"""What a letter to a family says: sentences made from the record and nothing else.

No numbers that could be read as marks, no date for what comes, no other child.
"""

import datetime
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from django.conf import settings
from django.utils import translation
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from readiness.engine.gates import GateReading
from readiness.engine.ladder import Ladder
from readiness.engine.reading import RE_CHECK, StageReading
from readiness.letters.type import as_printed, on_one_line
from readiness.record.standings import Reading, local_today, read
from studio.models import Child, ClassGroup, Location, Staff, Studio

# "Since last time": the weeks of about one term (common practice, no source).
LOOK_BACK = datetime.timedelta(days=84)
# "In the last four weeks": what is worked on now.
LATELY = datetime.timedelta(days=28)
# The most that one list names, so that a letter stays a page.
MOST_NAMED = 4
# What a drill asks for; the other gates ask for time and for people.
DRILL_GATES = ("reach", "clean", "count")


@dataclass(frozen=True)
class Sender:
    """Who the letter comes from."""

    studio: str
    place: str
    coach: str


@dataclass(frozen=True)
class Section:
    heading: str
    paragraphs: tuple[str, ...]


@dataclass(frozen=True)
class Letter:
    """Every sentence of a letter, as printed. ``own`` is the coach's own and may be empty."""

    language: str
    child: str
    sender: Sender
    date: str
    title: str
    greeting: str
    own: str
    sections: tuple[Section, ...]
    regards: str
    signs: str
    cautions: str
    # Names of people and of the studio: each is kept in one typeface.
    names: tuple[str, ...]

    @property
    def head(self) -> str:
        return " · ".join(filter(None, (self.sender.place, self.date)))

    def texts(self) -> Iterator[str]:
        """Everything that is printed."""
        yield from (self.sender.studio, self.head, self.title, self.greeting, self.own)
        for section in self.sections:
            yield section.heading
            yield from section.paragraphs
        yield from (self.regards, self.sender.coach, self.signs, self.cautions)


def write_letter(child: Child, staff: Staff, now: datetime.datetime, own: str = "") -> Letter:
    """The letter about a child, as of today, in the language the family reads."""
    day = local_today([child], now)[child.pk]
    reading, earlier = read(child, day), read(child, day - LOOK_BACK)
    studio = Studio.objects.first()
    sender = Sender(studio.name if studio else "", _place(child, staff), staff.called)
    with translation.override(language_of(child)):
        return compose(reading, earlier, sender, own)


def language_of(child: Child) -> str:
    """The family's language if there are sentences in it, else English."""
    try:
        return translation.get_supported_language_variant(child.letter_language)
    except LookupError:
        return "en"


def _place(child: Child, staff: Staff) -> str:
    """The hall of the child's class, one that the sender teaches before any other."""
    groups = ClassGroup.objects.filter(children=child).select_related("location").order_by("pk")
    own = groups.filter(staff=staff).first()
    group = own or groups.first()
    return _address(group.location) if group else ""


def _address(location: Location) -> str:
    return ", ".join(filter(None, (location.name, location.address)))


def compose(reading: Reading, earlier: Reading, sender: Sender, own: str) -> Letter:
    """The sentences, in the language that is active. ``earlier``: the same child at the day
    since which the letter tells."""
    child = on_one_line(reading.child.name)
    told = _Told(reading, earlier)
    sender = Sender(*map(on_one_line, (sender.studio, sender.place, sender.coach)))
    guardian = on_one_line(reading.child.guardian)
    return Letter(
        language=translation.get_language() or settings.LANGUAGE_CODE,
        child=child,
        sender=sender,
        date=_day(reading.read.day),
        title=_("Backward tumbling: where %(child)s stands") % {"child": child},
        greeting=_("Dear %(guardian)s,") % {"guardian": guardian}
        if guardian
        else _("To the family of %(child)s,") % {"child": child},
        own=as_printed(own),
        sections=tuple(section for section in told.sections() if section.paragraphs),
        regards=_("With kind regards,"),
        signs=_("for %(studio)s") % {"studio": sender.studio},
        cautions=_cautions(),
        names=(child, told.name, guardian, sender.studio, sender.coach),
    )


def _cautions() -> str:
    program = _(
        "The program behind this letter counts and reminds; a qualified coach in the room "
        "decides, each turn. An open step is the answer of a counting rule, not a promise: mats "
        "and hands make harm rarer, they do not rule it out. Follow local law, your insurer, "
        "the governing body and licensed medical advice."
    )
    head = _(
        "After a blow to the head, or with a sore neck: stop, and no return until a licensed "
        "clinician clears it. No backward tumbling at home, on beds or trampolines. Nobody "
        "spots who has not been trained to."
    )
    return f"{program} {head}"


def _day(day: datetime.date) -> str:
    return date_format(day, pgettext("date format in a letter, as in 3 October 2026", "j F Y"))


def _list(names: Sequence[str]) -> str:
    """Names of drills have commas in them."""
    return pgettext("between the names in a list", "; ").join(names)


@dataclass(frozen=True)
class _Told:
    """One child's record, told section by section."""

    now: Reading
    earlier: Reading

    @property
    def name(self) -> str:
        return on_one_line(self.now.child.called)

    @property
    def day(self) -> datetime.date:
        return self.now.read.day

    @property
    def since(self) -> datetime.date:
        return self.earlier.read.day

    @property
    def paused_since(self) -> datetime.date | None:
        return self.now.read.state.paused_since

    def sections(self) -> Iterator[Section]:
        values = {"child": self.name, "date": _day(self.since)}
        if self.paused_since:
            works_on = _("What stays open for %(child)s")
            yield Section(_("A pause for now"), tuple(self._pause(self.paused_since)))
        else:
            works_on = _("What %(child)s works on now")
            yield Section(_("Something hurt"), tuple(self._pain()))
        yield Section(works_on % values, tuple(self._works_on()))
        yield Section(_("What has come since %(date)s") % values, tuple(self._has_come()))
        yield Section(
            _("What comes next, and why “not yet” is good teaching"), tuple(self._comes_next())
        )
        yield Section(_("What helps at home"), tuple(self._at_home()))

    # --- care ------------------------------------------------------------------------

    def _pause(self, since: datetime.date) -> Iterator[str]:
        yield _(
            "Tumbling has been paused for %(child)s since %(date)s. A pause is care, not a step "
            "back: what has opened stays on our record, and we begin again gently, with more "
            "help at first. It ends when you, and a licensed clinician if one is needed, say "
            "yes. Please talk to us whenever you like."
        ) % {"child": self.name, "date": _day(since)}

    def _pain(self) -> Iterator[str]:
        hurt = self._hurt()
        if hurt:
            day, places = hurt
            yield _(
                "On %(date)s something hurt in class; the coach wrote down: %(places)s. We "
                "left out what puts weight on it, and ask again before the next turns. We cannot "
                "say what it is: if it goes on, please ask a licensed clinician, and tell us."
            ) % {"date": _day(day), "places": _list(places)}

    def _hurt(self) -> tuple[datetime.date, list[str]] | None:
        """The latest day on which something hurt, if that is not long ago, and where."""
        pains = self.now.read.state.pains
        last = max((day for day, _place in pains), default=None)
        within = self.now.ladder.engine.pain_again_days
        if last is None or (self.day - last).days > within:
            return None
        places = dict.fromkeys(place for day, place in pains if day == last)
        names = self.now.ladder.pain_names
        return last, [on_one_line(names.get(place, place)) for place in places]

    # --- now -------------------------------------------------------------------------

    def _works_on(self) -> Iterator[str]:
        ladder = self.now.ladder.engine
        opened = [each.stage.code for each in self.now.read.stages if each.opening]
        stages = [self._stage(code) for code in furthest(opened, ladder)]
        open_now = _("Open on our ladder: %(stages)s.") % {"stages": _list(stages)}
        if self.paused_since:
            yield open_now
            return
        meaning = _(
            "“Open” means that %(child)s may practise it in class, with as much help from a "
            "coach as the day asks for."
        ) % {"child": self.name}
        yield f"{open_now} {meaning}"
        practised = self._practised()
        if practised:
            yield _("In the last four weeks we worked at: %(drills)s.") % {
                "drills": _list(practised)
            }
        more_help = self._more_help()
        if more_help:
            yield _(
                "For now there is more help again at: %(drills)s. Coaches give it after a break "
                "or on unsteady days, and take it away again step by step as turns grow steady."
            ) % {"drills": _list(more_help)}

    def _practised(self) -> list[str]:
        """The drills of most days lately, of equals the furthest; in the ladder's order."""
        since = self.day - LATELY
        drills = list(self.now.ladder.drills)
        days = {
            drill: sum(day >= since for day in self.now.evidence.days(drill, self.day))
            for drill in reversed(drills)
        }
        ranked = sorted(filter(days.get, days), key=days.__getitem__, reverse=True)
        return self._drills(drill for drill in drills if drill in ranked[:MOST_NAMED])

    def _more_help(self) -> list[str]:
        stages = [each for each in self.now.read.stages if each.state == RE_CHECK]
        return self._drills(skill for each in stages for skill in each.stage.skills)

    # --- since last time -------------------------------------------------------------

    def _has_come(self) -> Iterator[str]:
        opened = self._opened()
        if opened:
            yield _("New on the ladder: %(stages)s.") % {"stages": _list(opened)}
        reached = self._reached()
        if reached:
            yield _("%(child)s has come to what a next step asks for at: %(drills)s.") % {
                "child": self.name,
                "drills": _list(self._drills(reached)),
            }
        begun = [drill for drill in self._begun() if drill not in reached]
        if begun:
            yield _("Done for the first time: %(drills)s.") % {"drills": _list(self._drills(begun))}
        if not (opened or reached or begun) and self._was_here():
            yield _(
                "These weeks went into practice that shows later, and that is good work: a "
                "skill stands on what has become steady."
            )

    def _was_here(self) -> bool:
        return any(self.since < day <= self.day for day in self.now.evidence.all_days())

    def _opened(self) -> list[str]:
        """Stages opened since, with the day; of those opened together, the furthest."""
        found: dict[datetime.date, list[str]] = {}
        for each in self.now.read.stages:
            if each.opening and each.opening.how != "start" and each.opening.since > self.since:
                found.setdefault(each.opening.since, []).append(each.stage.code)
        return [
            _("%(stage)s (%(date)s)") % {"stage": self._stage(code), "date": _day(day)}
            for day in sorted(found)
            for code in furthest(found[day], self.now.ladder.engine)
        ][-MOST_NAMED:]

    def _reached(self) -> list[str]:
        """Drills at which a gate is met that was not met then, the furthest stage's first."""
        before = {gate.gate.code for gate in _drill_gates(self.earlier.read.stages) if gate.met}
        newly = [
            gate.gate
            for gate in _drill_gates(self.now.read.stages)
            if gate.met and gate.gate.code not in before
        ]
        return [gate.drill for gate in reversed(newly)]

    def _begun(self) -> list[str]:
        """Drills of which the record has a first day since then, the furthest first; none
        for a record that is itself so new."""
        first = {
            drill: days[0]
            for drill in self.now.ladder.drills
            if (days := self.now.evidence.days(drill, self.day))
        }
        if not any(day <= self.since for day in first.values()):
            return []
        return [drill for drill in reversed(first) if first[drill] > self.since]

    # --- next ------------------------------------------------------------------------

    def _comes_next(self) -> Iterator[str]:
        following = self._following()
        if not following:
            yield _(
                "%(child)s has come to the top of our ladder. What comes next is keeping it "
                "steady, on new surfaces, and in the dance."
            ) % {"child": self.name}
        for each in following:
            yield self._next_step(each)
        yield _(
            "Backward skills are done without seeing the floor, so arms, shoulders and shape "
            "come first, and they grow at their own pace. A step opens when everything it asks "
            "for is there at once. “Not yet” means that the ground under the next step is being "
            "built; that is why we name no date."
        )

    def _following(self) -> list[StageReading]:
        """The stages that rest on open ones only: one or two, as the ladder's tracks run."""
        state = self.now.read.state
        return [
            each
            for each in self.now.read.stages
            if not each.opening
            and all(
                need in state.opened
                or (each.stage.code in state.exceptions and need in each.stage.exception_for)
                for need in each.stage.needs
            )
        ][:2]

    def _next_step(self, each: StageReading) -> str:
        values = {"stage": self._stage(each.stage.code)}
        if self.paused_since:
            return _("Next on the ladder, once the pause is over: %(stage)s.") % values
        return " ".join([_("Next on the ladder: %(stage)s.") % values, *self._waits_for(each)])

    def _waits_for(self, each: StageReading) -> Iterator[str]:
        asks = self._still_asks(each)
        if asks:
            yield _("It still asks for: %(list)s.") % {"list": _list(asks)}
            if each.stage.sign_off:
                yield _("Then a director looks too, and decides.")
        elif each.sent_back:
            yield _("A director has looked, and asks for more time on it first.")
        elif each.stage.sign_off:
            yield _("What it asks for is on the record; a director looks at it and decides.")
        else:
            yield _("What it asks for is on the record.")

    def _still_asks(self, each: StageReading) -> list[str]:
        unmet = [gate.gate for gate in each.gates if not gate.met]
        drills = [
            gate.drill
            for gate in unmet
            if gate.kind in DRILL_GATES and gate.drill not in each.stage.skills
        ]
        asks = self._drills(drills)
        if len(asks) < len(drills):
            asks.append(_("and more"))
        if len(drills) < len(unmet):
            asks.append(_("calm, steady turns over several weeks"))
        return asks

    # --- at home ---------------------------------------------------------------------

    def _at_home(self) -> Iterator[str]:
        if self.paused_since:
            yield _("Rest. Please no practice at home either, until the pause is over.")
            return
        if self._hurt():
            yield _("Rest first. Please no practice at home until nothing hurts any more.")
            return
        yield _(
            "A few minutes on a mat or a carpet: the hollow (on the back, arms by the ears, low "
            "back pressed down), the arch (face down, arms, chest and legs lifted, eyes on the "
            "floor) and the front support (hands under the shoulders, arms straight, one line "
            "from head to heels). Short and neat; stop when the shape goes, or if anything hurts."
        )
        yield _(
            "Only these shapes. Please no backward tumbling at home, on beds or trampolines, "
            "not even with somebody helping."
        )

    # --- names -----------------------------------------------------------------------

    def _drills(self, keys: Iterable[str]) -> list[str]:
        """The names of the first few drills, each once."""
        named = self.now.ladder.drills
        return [on_one_line(named[key]["name"]) for key in dict.fromkeys(keys)][:MOST_NAMED]

    def _stage(self, code: str) -> str:
        name = on_one_line(self.now.ladder.stage_names[code])
        if self.now.ladder.engine.stage[code].part_of is None:
            return name
        return _("%(skill)s, unspotted") % {"skill": name}


def _drill_gates(stages: Iterable[StageReading]) -> list[GateReading]:
    return [gate for each in stages for gate in each.gates if gate.gate.kind in DRILL_GATES]


def furthest(codes: Sequence[str], ladder: Ladder) -> list[str]:
    """Those stages on which none of the others rests."""
    below = {under for code in codes for under in _rests_on(code, ladder)}
    return [code for code in codes if code not in below]


def _rests_on(code: str, ladder: Ladder) -> set[str]:
    needs = ladder.stage[code].needs
    return set(needs).union(*(_rests_on(need, ladder) for need in needs))

"""A letter to a family: sentences made from the record and nothing else.

No numbers that could be read as marks, no date for what comes, no other child.
"""

import datetime
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from django.conf import settings
from django.utils import translation
from django.utils.translation import gettext as _

from readiness.letters.beside.growth import grown
from readiness.letters.beside.page import Beside, beside
from readiness.letters.beside.slip import slip
from readiness.letters.decided import last_placings, signatures
from readiness.letters.facts import ChildFacts
from readiness.letters.format import letter_date
from readiness.letters.rests_on import named
from readiness.letters.sections import Section, sections
from readiness.letters.sentence import Sentence
from readiness.letters.type import as_printed, on_one_line
from readiness.record.ladders import Ladders
from readiness.record.standings import read_whole
from studio import access
from studio.models import Child, Location, Staff, Studio
from studio.people.class_lists import classes_of
from studio.people.language import ENGLISH, language_name, letter_language
from studio.people.today import local_today


@dataclass(frozen=True)
class Sender:
    """Who the letter comes from."""

    studio: str
    place: str
    coach: str
    is_director: bool = False
    # Where and when families can ask, as the hall says it.
    questions: str = ""


@dataclass(frozen=True)
class Letter:
    """Every sentence of a letter, as printed. ``own`` is the coach's own and may be empty."""

    language: str
    child: str
    sender: Sender
    day: datetime.date
    date: str
    title: str
    # What the file says that it is.
    subject: str
    greeting: str
    own: str
    sections: tuple[Section, ...]
    regards: str
    signs: str
    cautions: str
    # Names of people, of the studio and its place, and the date: each is set in one typeface.
    names: tuple[str, ...]
    # What the ladder calls those of its drills, stages, surfaces and places that stand in this
    # letter in the ladder's own words, since it has none in the letter's language.
    lacking: tuple[str, ...] = ()
    # The map, what has grown, the shapes for home, the slip.
    beside: Beside = field(default_factory=Beside)
    # Where and when to ask; empty where the hall does not say.
    questions: str = ""

    @property
    def head(self) -> str:
        return " · ".join(filter(None, (self.sender.place, self.date)))

    @property
    def direction(self) -> str:
        return direction_of(self.language)

    def texts(self) -> Iterator[str]:
        """Everything that is printed, in the order of reading."""
        beside = self.beside
        yield from (self.sender.studio, self.head, self.title, beside.called)
        yield from beside.of_the_map()
        yield from (self.greeting, self.own)
        for section in self.sections:
            if section.at_home:
                yield from beside.of_growth()
            yield section.heading
            if section.at_home:
                yield from beside.names_of_shapes()
            yield from section.paragraphs
        yield from (
            self.questions,
            self.regards,
            self.sender.coach,
            self.signs,
            beside.director,
            self.cautions,
        )
        if beside.slip:
            yield from beside.slip.texts()


def letter_facts(child: Child, now: datetime.datetime) -> ChildFacts:
    """What a letter about a child may tell, as of today."""
    return letter_facts_of([child], now)[child.pk]


def letter_facts_of(children: Sequence[Child], now: datetime.datetime) -> dict[int, ChildFacts]:
    """The same of several, by a fixed number of queries."""
    days, ladders = local_today(children, now), Ladders()
    signed, placed = signatures(children), last_placings(children)
    return {
        reading.child.pk: ChildFacts(
            reading, signed[reading.child.pk], placed.get(reading.child.pk)
        )
        for day in set(days.values())
        for reading in read_whole([c for c in children if days[c.pk] == day], day, ladders)
    }


def write_letter(facts: ChildFacts, staff: Staff, own: str = "", review: bool = False) -> Letter:
    """The letter about a child, from a member of staff; see ``write_from``."""
    child = facts.now.child
    return write_from(facts, senders([child], staff)[child.pk], own, review)


def write_from(
    facts: ChildFacts,
    sender: Sender,
    own: str = "",
    review: bool = False,
    replaces: datetime.date | None = None,
) -> Letter:
    """The letter about a child, in the language the family reads. own: a sentence of the
    sender's. review: say that a director has begun to watch, where one is waited for. replaces:
    the day of the letter that it corrects."""
    with translation.override(language_of(facts.now.child)):
        return compose(facts, sender, own, review, replaces)


def sentences_about(facts: ChildFacts, corrects: Iterable[datetime.date]) -> Iterator[Sentence]:
    """All that a letter about a child may say today, in the language the family reads. corrects:
    the days of the letters that it may correct."""
    with translation.override(language_of(facts.now.child)):
        for day in corrects:
            yield from (each for section in _instead_of(day) for each in section.sentences)
        yield from (each for section in sections(facts, review=True) for each in section.sentences)
        yield from (each.sentence for each in grown(facts))
        yield slip(facts, facts.name).answer


def senders(children: Sequence[Child], staff: Staff) -> dict[int, Sender]:
    """Who a letter about each child comes from, if this member of staff signs it: with the hall
    of a class that they teach before any other."""
    studio, classes = Studio.objects.first(), classes_of(children)
    taught = set(staff.classes.values_list("pk", flat=True))
    found = {}
    for child in children:
        groups = sorted(classes[child.pk], key=lambda group: (group.pk not in taught, group.pk))
        hall = groups[0].location if groups else None
        found[child.pk] = Sender(
            studio=studio.name if studio else "",
            place=_address(hall) if hall else "",
            coach=staff.called,
            is_director=access.may_decide(staff),
            questions=hall.questions if hall else "",
        )
    return found


def language_of(child: Child) -> str:
    """The family's language if there are sentences in it, else English."""
    return letter_language(child.letter_language) or ENGLISH


def direction_of(language: str) -> str:
    return "rtl" if language in settings.LANGUAGES_BIDI else "ltr"


def language_not_met(child: Child) -> str:
    """The name of the family's language, where there are no sentences in it; else ""."""
    wish = child.letter_language
    return language_name(wish) if wish and not letter_language(wish) else ""


def _address(location: Location) -> str:
    return ", ".join(filter(None, (location.name, location.address)))


def compose(
    facts: ChildFacts,
    sender: Sender,
    own: str,
    review: bool = False,
    replaces: datetime.date | None = None,
) -> Letter:
    """The sentences, in the language that is active."""
    facts = replace(facts, lacking={})
    child = on_one_line(facts.now.child.name)
    sender = replace(
        sender,
        studio=on_one_line(sender.studio),
        place=on_one_line(sender.place),
        coach=on_one_line(sender.coach),
        questions=on_one_line(sender.questions).removesuffix("."),
    )
    guardian = on_one_line(facts.now.child.guardian)
    written = letter_date(facts.day)
    told = (*_instead_of(replaces), *sections(facts, review))
    others = beside(facts, child, review, sender.is_director)
    return Letter(
        language=translation.get_language() or ENGLISH,
        child=child,
        sender=sender,
        day=facts.day,
        date=written,
        title=_title(facts, child),
        subject=_("Letter about %(child)s, %(date)s") % {"child": child, "date": written},
        greeting=_("Dear %(guardian)s,") % {"guardian": guardian}
        if guardian
        else _("To the family of %(child)s,") % {"child": child},
        own=as_printed(own),
        sections=tuple(section for section in told if section.sentences),
        regards=_("With kind regards,"),
        signs=_("for %(studio)s") % {"studio": sender.studio},
        cautions=_cautions(),
        names=_names(facts, sender, written),
        lacking=tuple(facts.lacking),
        beside=others,
        questions=_questions(sender.questions),
    )


def _names(facts: ChildFacts, sender: Sender, written: str) -> tuple[str, ...]:
    child = facts.now.child
    people = on_one_line(child.name), facts.name, on_one_line(child.guardian)
    return *people, sender.studio, sender.coach, sender.place, sender.questions, written


def _questions(where: str) -> str:
    return _("Questions are welcome: %(where)s.") % {"where": where} if where else ""


def _instead_of(day: datetime.date | None) -> Iterator[Section]:
    if day is not None:
        replaced = _("This letter replaces the one of %(date)s.") % {"date": letter_date(day)}
        told = Sentence(replaced, named.replaced_letter(day))
        yield Section(_("A letter put right"), (told,))


def _title(facts: ChildFacts, child: str) -> str:
    if facts.paused_since:
        return _("A pause for %(child)s") % {"child": child}
    return _("What %(child)s works on") % {"child": child}


def _cautions() -> str:
    return _(
        "Our teachers decide each turn by what they see. Mats and hands make accidents rarer, "
        "not impossible. After a blow to the head, or with a sore neck: stop, and no return "
        "before a licensed clinician says yes. No backward tumbling at home, on beds or "
        "trampolines. Nobody spots who has not been trained."
    )

"""A letter to a family: sentences made from the record and nothing else.

No numbers that could be read as marks, no date for what comes, no other child.
"""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass

from django.conf import settings
from django.utils import translation
from django.utils.translation import gettext as _

from readiness.letters.decided import last_placing, signatures
from readiness.letters.facts import ChildFacts
from readiness.letters.format import letter_date
from readiness.letters.sections import Section, sections
from readiness.letters.type import as_printed, on_one_line
from readiness.record.standings import read
from studio.models import Child, Location, Staff, Studio
from studio.people.class_lists import classes_of
from studio.people.language import language_name
from studio.people.today import local_today


@dataclass(frozen=True)
class Sender:
    """Who the letter comes from."""

    studio: str
    place: str
    coach: str


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
    # Names of people and of the studio: each is set in one typeface.
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


def letter_facts(child: Child, now: datetime.datetime) -> ChildFacts:
    """What a letter about a child may tell, as of today."""
    day = local_today([child], now)[child.pk]
    return ChildFacts(read(child, day), signatures(child), last_placing(child))


def write_letter(facts: ChildFacts, staff: Staff, own: str = "", review: bool = False) -> Letter:
    """The letter about a child, in the language the family reads. own: a sentence of the
    sender's. review: say that a director has begun to watch, where one is waited for."""
    child, studio = facts.now.child, Studio.objects.first()
    sender = Sender(studio.name if studio else "", _place(child, staff), staff.called)
    with translation.override(language_of(child)):
        return compose(facts, sender, own, review)


def language_of(child: Child) -> str:
    """The family's language if there are sentences in it, else English."""
    try:
        return translation.get_supported_language_variant(child.letter_language)
    except LookupError:
        return "en"


def language_not_met(child: Child) -> str:
    """The name of the family's language, where there are no sentences in it; else ""."""
    wish = child.letter_language
    if not wish or wish.partition("-")[0] == language_of(child).partition("-")[0]:
        return ""
    return language_name(wish)


def _place(child: Child, staff: Staff) -> str:
    """The hall of the child's class, one that the sender teaches before any other."""
    groups = classes_of([child])[child.pk]
    taught = set(staff.classes.values_list("pk", flat=True))
    groups.sort(key=lambda group: (group.pk not in taught, group.pk))
    return _address(groups[0].location) if groups else ""


def _address(location: Location) -> str:
    return ", ".join(filter(None, (location.name, location.address)))


def compose(facts: ChildFacts, sender: Sender, own: str, review: bool = False) -> Letter:
    """The sentences, in the language that is active."""
    child = on_one_line(facts.now.child.name)
    sender = Sender(*map(on_one_line, (sender.studio, sender.place, sender.coach)))
    guardian = on_one_line(facts.now.child.guardian)
    return Letter(
        language=translation.get_language() or settings.LANGUAGE_CODE,
        child=child,
        sender=sender,
        day=facts.day,
        date=letter_date(facts.day),
        title=_title(facts, child),
        subject=_("Letter about %(child)s, %(date)s")
        % {"child": child, "date": letter_date(facts.day)},
        greeting=_("Dear %(guardian)s,") % {"guardian": guardian}
        if guardian
        else _("To the family of %(child)s,") % {"child": child},
        own=as_printed(own),
        sections=tuple(section for section in sections(facts, review) if section.paragraphs),
        regards=_("With kind regards,"),
        signs=_("for %(studio)s") % {"studio": sender.studio},
        cautions=_cautions(),
        names=(child, facts.name, guardian, sender.studio, sender.coach),
    )


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

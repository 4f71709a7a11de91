"""A sentence of a letter beside what it rests on."""

import datetime
from dataclasses import dataclass

from readiness.letters.kept.keeping import kept_letters
from readiness.letters.letter import direction_of, language_of, letter_facts, sentences_about
from readiness.letters.rests_on.rows import Rows, rows_of
from readiness.letters.sentence import Sentence
from studio.models import Child
from studio.people.today import local_today
from studio.people.told_apart import who


@dataclass(frozen=True)
class SentencePage:
    """``sentence``: None if no letter about the child says it today; ``language``: its own."""

    child: Child
    who: str
    language: str
    sentence: Sentence | None
    rows: Rows | None

    @property
    def direction(self) -> str:
        return direction_of(self.language)


def sentence_page(child: Child, key: str, now: datetime.datetime) -> SentencePage:
    facts = letter_facts(child, now)
    corrects = kept_letters([child]).values_list("day", flat=True)
    said = (each for each in sentences_about(facts, set(corrects)) if each.key == key)
    sentence = next(said, None)
    rests_on = sentence.rests_on if sentence else ()
    rows = rows_of(facts.now, rests_on) if rests_on else None
    today = local_today([child], now)[child.pk]
    return SentencePage(child, who(child, today), language_of(child), sentence, rows)

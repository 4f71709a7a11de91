"""Who read the sentences of a language: without that, nobody at home in it has."""

import datetime
from dataclasses import dataclass

from django.conf import settings

from readiness.models import LetterLanguageRead
from studio.models import Staff
from studio.people.language import ENGLISH, language_name


@dataclass(frozen=True)
class LetterLanguage:
    """read: the latest time; None if nobody has."""

    code: str
    name: str
    read: LetterLanguageRead | None

    @property
    def is_translated(self) -> bool:
        """The sentences were written in English."""
        return self.code != ENGLISH


def letter_languages() -> list[LetterLanguage]:
    rows = LetterLanguageRead.objects.select_related("by").order_by("at", "pk")
    latest = {row.language: row for row in rows}
    return [
        LetterLanguage(code, language_name(code), latest.get(code))
        for code in settings.LETTER_LANGUAGES
    ]


def mark_read(language: str, reader: str, by: Staff, now: datetime.datetime) -> None:
    LetterLanguageRead.objects.create(language=language, reader=reader, by=by, at=now)

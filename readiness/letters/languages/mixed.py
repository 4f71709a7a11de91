"""What staff is told of a letter that would mix two languages, before it is printed."""

from django.utils.translation import gettext as _

from readiness.letters.format import name_list
from readiness.letters.letter import Letter
from studio.people.language import language_name


def mixes_languages(letter: Letter) -> str:
    """A sentence for staff; empty for a letter in one language."""
    if not letter.lacking:
        return ""
    return _(
        "The ladder has no words in %(language)s for what this letter names, so its own words "
        "stand in it: %(names)s."
    ) % {"language": language_name(letter.language), "names": name_list(letter.lacking)}

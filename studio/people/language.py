"""Languages: their names, for staff, and which of them letters are written in.

Shared: used by the pages of children, the letter's page and the checks of a ladder.
"""

from django.conf import settings
from django.conf.locale import LANG_INFO
from django.utils.translation import gettext as _

ENGLISH = "en"


def letter_language(wish: str) -> str | None:
    """The language in which letters are written to a family that reads this one; None if there
    are none in it. Of a language as it is spoken somewhere, the language ("pt-br": "pt")."""
    code = wish.lower().replace("_", "-").partition("-")[0]
    return code if code in settings.LETTER_LANGUAGES else None


def language_name(code: str) -> str:
    """In the reader's own language; the code itself if it is no language that is known."""
    return _(LANG_INFO[code]["name"]) if "name" in LANG_INFO.get(code, {}) else code

"""The name of a language, for staff.

Shared: used by the pages of children and the letter's page.
"""

from django.conf.locale import LANG_INFO
from django.utils.translation import gettext as _


def language_name(code: str) -> str:
    """In the reader's own language; the code itself if it is no language that is known."""
    return _(LANG_INFO[code]["name"]) if "name" in LANG_INFO.get(code, {}) else code

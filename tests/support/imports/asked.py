"""What an import's page asks, read off the page as a person would: words, and whose a line is."""

import html
import re

_SELECT = re.compile(r'<select name="(word:[^"]+)".*?</select>', re.S)
_OPTION = re.compile(r'<option value="([^"]*)"( selected)?>([^<]*)</option>')


def words_asked(page: str) -> dict[str, dict[str, str]]:
    """Of each word without an answer yet, what may be answered: value by label."""
    asked = {}
    for found in _SELECT.finditer(page):
        options = _OPTION.findall(found[0])
        if any(not value and chosen for value, chosen, _label in options):
            asked[html.unescape(found[1])] = {
                html.unescape(label): html.unescape(value) for value, _chosen, label in options
            }
    return asked


def confirm_fields(page: str) -> dict[str, str]:
    """The hidden fields of the confirming form."""
    return dict(re.findall(r'name="(token|shown)" value="([^"]+)"', page))

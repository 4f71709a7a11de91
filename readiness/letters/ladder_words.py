"""The words that a ladder has for families, in each language of letters."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import get_language

from progression.ladder.field_types import OWN_LANGUAGE


def name_and_what(line: str) -> tuple[str, str]:
    """The two parts of a line for families: what is called so, and what it is."""
    name, _colon, what = line.partition(":")
    return name.strip(), what.strip()


def told(row: Mapping[str, Any], name: str) -> str | None:
    """What a drill, a stage, a surface or a place says in this field, in the language that is
    active; "" where it says nothing in any, None where it says nothing in this one."""
    language = (get_language() or OWN_LANGUAGE).partition("-")[0]
    if language == OWN_LANGUAGE:
        return str(row.get(name, ""))
    return row.get(f"{name}_in", {}).get(language)

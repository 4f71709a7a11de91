"""Somebody's own words in a table that is only added to: they may be erased, and nothing else may.

Erased they are NULL in the database, which the triggers let through (append_only.py), and empty to
whoever reads them. Shared: used by the models of such tables.
"""

from typing import Any

from django.db import models


class _Erasable:
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs | {"null": True})

    def deconstruct(self) -> Any:
        name, path, args, kwargs = super().deconstruct()  # type: ignore[misc]
        del kwargs["null"]
        return name, path, args, kwargs

    def from_db_value(self, value: str | None, *_about: Any) -> str:
        return value or ""


class ErasableChar(_Erasable, models.CharField):
    """A CharField whose text may be erased."""


class ErasableText(_Erasable, models.TextField):
    """A TextField whose text may be erased."""

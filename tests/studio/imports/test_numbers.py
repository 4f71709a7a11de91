"""One table of numbers as people type them, for every field of the site and the paper log."""

import json
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.exceptions import ValidationError
from django.utils import translation

from progression.paper.words import WordError, _number
from readiness.gates.forms import ClassesForm
from studio.classes.forms import PlanForm
from studio.imports.numbers import NumberField, WholeNumberField, read_number

TABLE = json.loads((Path(__file__).parents[2] / "vectors" / "numbers.json").read_text("utf-8"))
HOLD = {"key": "hold", "name": "Hold", "measure": "seconds", "most": 10_000}
LANGUAGES = ["en", "de", "fr", "pl", "ar"]


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_field_reads_the_table_alike_in_five_languages(language):
    with translation.override(language):
        for typed, number in TABLE:
            expected = None if number is None else Decimal(str(number))
            assert read_number(typed) == expected, typed
            _holds(NumberField(), typed, expected)
            whole = expected if expected is not None and expected == int(expected) else None
            _holds(WholeNumberField(), typed, whole)


def _holds(field, typed, expected):
    if expected is None:
        with pytest.raises(ValidationError):
            field.clean(typed)
    else:
        assert field.clean(typed) == expected, typed


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_paper_log_reads_the_same_numbers_with_or_without_their_unit(language):
    with translation.override(language):
        for typed, number in TABLE:
            for cell in (typed.strip(), f"{typed.strip()} s"):
                if number is not None:
                    assert _number(cell, HOLD) == number
                elif typed != "7s":
                    with pytest.raises(WordError):
                        _number(cell, HOLD)


def test_what_was_refused_stays_in_the_field():
    form = ClassesForm({"a_week": "1", "turns": "7,5"})
    assert form.errors["turns"] == ["Write a whole number such as 7."]
    assert 'value="7,5"' in str(form["turns"])
    assert isinstance(PlanForm.base_fields["minutes"], WholeNumberField)

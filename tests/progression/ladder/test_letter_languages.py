"""What a ladder says to families in other languages than its own."""

import copy

import pytest

from progression.ladder.field_types import OTHER_LANGUAGES
from progression.ladder.file import dump, faults_in, parse
from progression.ladder.tighter import unproven_changes
from tests.support.engine.records import CONTENT


def with_(kind, at, **values):
    content = copy.deepcopy(CONTENT)
    content[kind][at].update(values)
    return content


def test_the_shipped_ladder_has_words_for_families_in_every_language():
    for kind, name in (("drill", "letter"), ("stage", "letter"), ("surface", "name"),
                       ("pain", "name")):  # fmt: skip
        for row in CONTENT[kind]:
            assert set(row[f"{name}_in"]) == set(OTHER_LANGUAGES), row["name"]


@pytest.mark.parametrize("language", OTHER_LANGUAGES)
def test_no_two_drills_and_no_two_stages_are_called_the_same(language):
    for kind in ("drill", "stage"):
        names = [row["letter_in"][language].split(":")[0].strip() for row in CONTENT[kind]]
        assert len(set(names)) == len(names)


WRONG = [
    ("drill", {"letter_in": {"es": "Sin dos puntos."}}),
    ("drill", {"letter_in": {"es": "Puente: 3 veces."}}),
    ("drill", {"letter_in": {"es": "Puente: " + "o" * 88}}),
    ("drill", {"letter_in": {"es": "Puente: ya sale solo."}}),
    ("drill", {"letter_in": {"es": "Puente: es seguro."}}),
    ("drill", {"letter_in": {"fr": "Pont : en sécurité."}}),
    ("drill", {"letter_in": {"fr": "Pont : toute seule."}}),
    ("drill", {"letter_in": {"pt": "Ponte: sozinha."}}),
    ("drill", {"letter_in": {"de": "Brücke: allein."}}),
    ("drill", {"letter_in": {"de": "Brücke: ganz sicher."}}),
    ("drill", {"letter_in": {"ar": "الجسر: وحده."}}),
    ("drill", {"letter_in": {"ar": "الجسر: آمن."}}),
    ("drill", {"letter_in": {"nl": "Brug: op lange armen."}}),
    ("drill", {"letter_in": {"en": "Bridge: on long arms."}}),
    ("drill", {"letter_in": "Puente: sobre brazos largos."}),
    ("stage", {"letter_in": {"es": "Sin dos puntos."}}),
    ("surface", {"name_in": {"es": " "}}),
    ("surface", {"name_in": {"nl": "wig"}}),
    ("pain", {"name_in": {"es": 3}}),
]


@pytest.mark.parametrize(("kind", "values"), WRONG)
def test_a_line_in_another_language_keeps_the_rules_of_its_own(kind, values):
    (fault,) = faults_in(with_(kind, 2, **values))
    assert next(iter(values)) in fault.message


def test_a_ladder_may_have_some_languages_or_none():
    assert faults_in(with_("drill", 2, letter_in={"de": "Rolle: lang und ruhig."})) == []
    content = copy.deepcopy(CONTENT)
    for kind in ("drill", "stage", "surface", "pain"):
        for row in content[kind]:
            row.pop("letter_in", None)
            row.pop("name_in", None)
    assert faults_in(content) == []


@pytest.mark.parametrize(
    ("kind", "values"),
    [
        ("drill", {"letter_in": {"de": "Rolle: lang und ruhig."}}),
        ("stage", {"letter_in": {}}),
        ("surface", {"name_in": {"de": "Boden"}}),
        ("pain", {"name_in": {}}),
    ],
)
def test_one_director_changes_them(kind, values):
    assert unproven_changes(CONTENT, with_(kind, 2, **values)) == []


def test_a_file_that_is_written_and_read_again_keeps_them():
    assert parse(dump(CONTENT)) == CONTENT

"""Uploads that wait for their confirmation, also those that an earlier release has stored."""

import pytest

from studio.imports.bring_in import FileOptions, NotBroughtIn, PlanChanged, require_unchanged
from studio.imports.drafts import answers_in


@pytest.mark.parametrize(
    ("stored", "options"),
    [
        ({}, FileOptions()),
        # As the paper log's page stored them, and as the roster's did.
        (
            {"encoding": None, "delimiter": ";", "dates": "day-first", "usual": "sprung"},
            FileOptions(delimiter=";", dates="day-first", usual="sprung"),
        ),
        (
            {"encoding": "utf-8", "delimiter": None, "dates": None, "usual": "Minis",
             "choices": {"3": "new", "5": "line:3"}},
            FileOptions(encoding="utf-8", usual="Minis", choices={3: "new", 5: "line:3"}),
        ),
    ],
)  # fmt: skip
def test_options_stored_by_an_earlier_release_are_read(stored, options):
    assert FileOptions.from_json(stored) == options


def test_only_answers_to_a_line_are_taken_from_a_form():
    posted = {"answer-3": "new", "answer-4": "", "answer-x": "new", "encoding": "utf-8"}
    assert answers_in(posted) == {3: "new"}


def test_what_was_shown_is_stored_and_nothing_else():
    require_unchanged("a", left_out=True, shown="a")
    require_unchanged("a", left_out=True)
    with pytest.raises(PlanChanged):
        require_unchanged("a", left_out=False, shown="b")


def test_all_or_nothing_refuses_lines_left_out():
    require_unchanged("a", left_out=False, all_or_nothing=True)
    with pytest.raises(NotBroughtIn):
        require_unchanged("a", left_out=True, all_or_nothing=True)

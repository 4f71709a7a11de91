"""The class sheet: every child of the evening twice, under the words that the paper log reads."""

import datetime
import re

import pytest
import time_machine

from progression.paper.log import COLUMNS, REQUIRED
from readiness.models import Pause
from studio.models import Child, Meeting
from tests.support.cast import NOW, TODAY, give_consent, make_child, make_class

pytestmark = pytest.mark.django_db
WEEK = datetime.timedelta(days=7)


@pytest.fixture
def page(client, cast, ladder):
    client.force_login(cast.omar)
    with time_machine.travel(NOW, tick=False):
        yield client


def sheet(page, group, asked=""):
    return page.get(f"/classes/{group.uuid}/sheet{asked}")


def test_its_heads_are_words_of_the_paper_log_and_none_that_is_needed_is_missing(page, cast):
    html = sheet(page, cast.blue).content.decode()
    heads = re.findall(r'<th scope="col" class="col-[a-z]+" translate="no">([a-z]+)</th>', html)
    # In the order in which the sheet is drawn.
    assert heads == [
        "date", "child", "drill", "surface", "support", "value", "faults", "caught", "coach",
        "note",
    ]  # fmt: skip
    assert set(REQUIRED) <= set(heads) <= set(COLUMNS)


def test_each_child_has_two_lines_with_the_day_as_the_file_reads_it(page, cast):
    html = sheet(page, cast.blue).content.decode()
    lines = re.findall(r'<td class="nums">([^<]*)</td><th scope="row">([^<]*)</th>', html)
    day = TODAY.isoformat()
    names = ["Ilse Brand", "Ilse Brand", "Mai Tran", "Mai Tran", ""]
    assert lines == [(day, name) for name in names]


def test_who_has_left_is_not_on_it_and_the_next_evening_is_taken_when_none_is_asked(page, cast):
    Child.objects.filter(pk=cast.ilse.pk).update(left_on=TODAY)
    with time_machine.travel(NOW + datetime.timedelta(days=1), tick=False):
        context = sheet(page, cast.blue).context
    assert [child.name for child, _marks in context["children"]] == ["Mai Tran"]
    assert context["evening"].day == TODAY + WEEK


def test_an_evening_that_does_not_take_place_has_no_sheet(page, cast):
    assert sheet(page, cast.blue, f"?day={TODAY - WEEK}").status_code == 200
    assert sheet(page, cast.blue, f"?day={TODAY - datetime.timedelta(days=1)}").status_code == 404
    Meeting.objects.update(cancelled=True)
    assert sheet(page, cast.blue, f"?day={TODAY}").status_code == 404


def test_children_who_are_called_alike_are_named_before_it_is_printed(page, cast):
    assert "Called alike here" not in sheet(page, cast.blue).content.decode()
    make_child("Mai Tran", cast.blue, born=(2014, 1))
    assert "Called alike here" in sheet(page, cast.blue).content.decode()


def test_every_stop_sign_of_the_ladder_stands_apart(page, cast, ladder_content):
    context = sheet(page, cast.blue).context
    stops = {
        fault["key"]
        for fault in ladder_content["fault"]
        if fault["stop"] in ("yes", "second", "unheld")
    }
    signs = [each.split(" (")[0] for each in context["stop_signs"]]
    assert set(signs) == stops
    assert "chin-lifts (the second)" in context["stop_signs"]
    every = {fault["key"] for fault in ladder_content["fault"]}
    assert {*signs, *context["faults"]} == every


def test_who_may_not_or_may_less_is_marked_beside_the_name(page, cast):
    def marks():
        return {child.called: marks for child, marks in sheet(page, cast.blue).context["children"]}

    assert marks() == {"Ilse": [], "Mai": []}
    Pause.objects.create(child=cast.mai, by=cast.petra, at=NOW, day=TODAY, reason="Rests.")
    give_consent(cast.ilse, yes=False)
    assert marks() == {"Ilse": ["no yes to hands"], "Mai": ["paused"]}
    words = " ".join(re.sub("<[^>]+>", " ", sheet(page, cast.blue).content.decode()).split())
    assert words.count("Mai Tran paused") == 1


def test_another_class_is_not_found_and_an_assistant_is_refused(page, cast):
    assert sheet(page, cast.red).status_code == 404
    page.force_login(cast.tam)
    assert sheet(page, cast.blue).status_code == 403


def test_it_asks_no_more_with_twenty_children_than_with_two(
    page, cast, django_assert_max_num_queries
):
    def queries(group):
        with django_assert_max_num_queries(60) as counted:
            assert sheet(page, group).status_code == 200
        return len(counted)

    many = make_class("Many", cast.hall, cast.omar)
    for number in range(20):
        make_child(f"Child {number}", many)
    # The ladder's text is read once in a process.
    sheet(page, cast.blue)
    assert queries(cast.blue) == queries(many)

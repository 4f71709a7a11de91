"""The home sheet: three shapes with one cue each, never backward; none while a child rests."""

import datetime

import pytest
import time_machine

from readiness.models import HeadKnock, Pain, Pause
from tests.support.cast import NOW, TODAY, time_ordered_id
from tests.support.pages import text_of

pytestmark = pytest.mark.django_db
# Common practice, no source.
NEVER = "Never: no backward tumbling at home, on beds or trampolines."


@pytest.fixture
def page(client, cast, ladder):
    client.force_login(cast.omar)
    with time_machine.travel(NOW, tick=False):
        yield client


def sheet(page, child):
    return page.get(f"/children/{child.uuid}/home-sheet")


def told(cast, **about):
    said = {"id": time_ordered_id(NOW), "child": cast.mai, "at": NOW, "by": cast.omar, "digest": ""}
    return said | {"day": TODAY, "received_at": NOW} | about


def test_it_has_three_shapes_with_a_figure_and_one_cue_each(page, cast, ladder_content):
    drills = {drill["key"]: drill for drill in ladder_content["drill"]}
    answer = sheet(page, cast.mai)
    html = answer.content.decode()
    keys = ("hollow-hold", "arch-hold", "front-support")
    assert [shape.cue for shape in answer.context["shapes"]] == [drills[k]["cues"][0] for k in keys]
    assert html.count('class="figure"') == 3
    assert NEVER in text_of(answer)
    assert "data-print" in html


def test_a_shape_that_loads_what_hurts_is_left_out(page, cast):
    Pain.objects.create(**told(cast, place="wrist"))
    answer = sheet(page, cast.mai)
    assert [shape.name for shape in answer.context["shapes"]] == ["Hollow", "Arch"]
    assert "left out of this sheet" in text_of(answer)


@pytest.mark.parametrize(
    ("language", "said"), [("en", False), ("en-gb", False), ("es", True), ("pl", True)]
)
def test_that_it_is_in_english_is_said_where_the_family_reads_another_language(
    page, cast, language, said
):
    cast.mai.letter_language = language
    cast.mai.save(update_fields=["letter_language"])
    answer = text_of(sheet(page, cast.mai))
    assert ("This sheet is in English" in answer) is said
    if language == "es":
        assert "The family reads Spanish." in answer


@pytest.mark.parametrize("table", [Pause, HeadKnock])
def test_a_child_who_rests_gets_no_sheet(page, cast, table):
    if table is Pause:
        Pause.objects.create(child=cast.mai, reason="x", by=cast.omar, at=NOW, day=TODAY)
    else:
        HeadKnock.objects.create(**told(cast, on=TODAY - datetime.timedelta(days=1)))
    answer = sheet(page, cast.mai)
    assert answer.context["shapes"] == []
    assert "no sheet is given" in text_of(answer)
    assert "data-print" not in answer.content.decode()


def test_a_child_of_another_class_is_not_found_and_an_assistant_is_refused(page, cast):
    assert sheet(page, cast.rosa).status_code == 404
    page.force_login(cast.tam)
    assert sheet(page, cast.mai).status_code == 403

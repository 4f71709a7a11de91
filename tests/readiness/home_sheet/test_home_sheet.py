"""The home sheet: three shapes, never backward; none while a child rests."""

import datetime

import pytest

from readiness.home_sheet.words import KEEPS
from readiness.letters.beside.page import AT_HOME
from readiness.models import HeadKnock, Pain, Pause
from tests.support.cast import NOW, TODAY, time_ordered_id
from tests.support.pages import text_of

pytestmark = pytest.mark.django_db
# Common practice, no source.
NEVER = "Never: no backward tumbling at home, on beds or trampolines."


def sheet(page, child):
    return page.get(f"/children/{child.uuid}/home-sheet")


def told(cast, **about):
    said = {"id": time_ordered_id(NOW), "child": cast.mai, "at": NOW, "by": cast.omar, "digest": ""}
    return said | {"day": TODAY, "received_at": NOW} | about


def shapes_of(answer):
    return answer.context["sheet"].shapes


def test_it_has_three_shapes_with_a_figure_and_what_can_be_seen_of_each(page, cast, ladder_content):
    lines = {drill["key"]: drill.get("letter") for drill in ladder_content["drill"]}
    answer = sheet(page, cast.mai)
    html = answer.content.decode()
    told = [f"{shape.name}: {shape.says[0].lower()}{shape.says[1:]}" for shape in shapes_of(answer)]
    assert told == [lines[key] for key in AT_HOME]
    assert [shape.keeps for shape in shapes_of(answer)] == [str(KEEPS[key]) for key in AT_HOME]
    assert html.count('class="figure"') == 3
    assert NEVER in text_of(answer)
    assert "data-print" in html


def test_a_shape_that_loads_what_hurts_is_left_out(page, cast):
    Pain.objects.create(**told(cast, place="wrist"))
    answer = sheet(page, cast.mai)
    assert [shape.name for shape in shapes_of(answer)] == ["Hollow", "Arch"]
    assert "left out of this sheet" in text_of(answer)


@pytest.mark.parametrize("table", [Pause, HeadKnock])
def test_a_child_who_rests_gets_no_sheet(page, cast, table):
    if table is Pause:
        Pause.objects.create(child=cast.mai, reason="x", by=cast.omar, at=NOW, day=TODAY)
    else:
        HeadKnock.objects.create(**told(cast, on=TODAY - datetime.timedelta(days=1)))
    answer = sheet(page, cast.mai)
    assert answer.context["sheet"] is None
    assert "no sheet is given" in text_of(answer)
    assert "data-print" not in answer.content.decode()


def test_a_child_of_another_class_is_not_found_and_an_assistant_is_refused(page, cast):
    assert sheet(page, cast.rosa).status_code == 404
    page.force_login(cast.tam)
    assert sheet(page, cast.mai).status_code == 403

"""The map from fault to root to drill and back: everything on it, and only a part of it."""

import csv
import html
import io
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from readiness.fault_map.drawing import fan, in_fewest_crossings, lines
from readiness.fault_map.page import map_page, numbers
from readiness.record.ladders import Ladders
from tests.support.cast import TODAY, make_staff
from tests.support.pages import get, text_of

pytestmark = pytest.mark.usefixtures("_later")

SIX_ROOTS = ["Shape", "Arms and shoulders", "Back line", "The sit", "Commitment"]
SIX_ROOTS += ["Push from the hands"]


def whole(key=""):
    return map_page(Ladders().named_on(TODAY), key)


def test_every_fault_of_the_ladder_stands_under_its_root_with_all_that_is_said_of_it(
    cast, client, ladder_content
):
    page = whole()
    assert [part.name for part in page.parts] == SIX_ROOTS
    words = html.unescape(text_of(get(client, cast.tam, "/fault-map")))
    for part in page.parts:
        rooted = [fault for fault in ladder_content["fault"] if fault["root"] == part.key]
        assert [fault.key for fault in part.faults] == [fault["key"] for fault in rooted]
    for fault in ladder_content["fault"]:
        assert fault["sees"] in words
        assert fault["leads_to"] in words
        for note in [mend["note"] for mend in fault["mend"] if "note" in mend]:
            assert f"({note})" in words


def test_every_join_of_the_ladder_is_a_line_in_words_and_by_number(cast, ladder_content):
    page, ladder = whole(), Ladders().named_on(TODAY)
    number = numbers(ladder)
    assert sorted(number.values()) == list(range(1, len(ladder_content["fault"]) + 1))
    shown = {
        (int(found), end.key)
        for part in page.parts
        for end in part.ends
        for found in end.numbers.split(" · ")
    }
    joins = [
        (number[fault["key"]], mend["drill"])
        for fault in ladder_content["fault"]
        for mend in fault["mend"]
    ]
    assert shown == set(joins)
    assert sum(len(part.to_ends) for part in page.parts) == len(joins)
    assert sum(len(part.from_name) for part in page.parts) == len(ladder_content["fault"])
    back = {
        (found, drill.key)
        for drill in page.back
        for root in drill.roots
        for found, _sees in root.faults
    }
    assert back == set(joins)
    said = {fault.key: fault.joined for part in page.parts for fault in part.faults}
    assert said["bridge-arms-bent"] == (
        "Mended by: Wall handstand, belly to the wall · Front support · "
        "Bridge hold, arms straight (feet raised)"
    )


def test_of_a_skill_only_what_is_seen_at_it_and_what_it_mends(cast, client, ladder_content):
    page = whole("barrel")
    seen = {fault["key"] for fault in ladder_content["fault"] if "barrel" in fault["belongs"]}
    assert {fault.key for part in page.parts for fault in part.faults} == seen
    mended = {
        fault["key"]
        for fault in ladder_content["fault"]
        if "barrel" in [mend["drill"] for mend in fault["mend"]]
    }
    assert {fault.key for fault in page.mends.faults} == mended
    assert all(fault.joined.startswith("Root: ") for fault in page.mends.faults)
    # A thick line: the fault is mended by this drill first.
    (first,) = [f["key"] for f in ladder_content["fault"] if f["mend"][0]["drill"] == "barrel"]
    thick = [line.first for line in page.mends.to_ends]
    assert [f.key for f, one in zip(page.mends.faults, thick, strict=True) if one] == [first]
    words = text_of(get(client, cast.omar, "/fault-map?drill=barrel"))
    assert "Seen at: Tip over the barrel" in words
    assert "Mended by: Tip over the barrel" in words
    assert "Low back comes off the floor in the hollow" not in words


def test_a_skill_that_mends_nothing_says_so(cast, client):
    words = text_of(get(client, cast.omar, "/fault-map?drill=handspring"))
    assert "This drill stands in no mending list." in words


def test_a_number_is_the_same_on_the_whole_map_and_on_a_part(cast):
    on_all = {fault.key: fault.number for part in whole().parts for fault in part.faults}
    on_part = {
        fault.key: fault.number for part in whole("handspring").parts for fault in part.faults
    }
    assert on_part.items() <= on_all.items()


def test_a_stop_sign_is_said(cast):
    stops = {fault.key: fault.stop for part in whole().parts for fault in part.faults}
    assert stops["arms-give"] == "A stop sign."
    assert stops["undercut"] == "A stop sign at the second one of a day."
    assert stops["lands-low"] == "A stop sign when nobody holds."
    assert stops["squats"] == ""


def test_common_practice_is_marked_as_such_and_said_of_turns(cast, client):
    words = text_of(get(client, cast.tam, "/fault-map"))
    assert (
        "Common practice About nine in ten faulty handsprings come from the sit or from "
        "upper-body support. That is said of the turns seen, not of the list of faults."
    ) in words


def test_a_drill_that_there_is_not_is_not_found(cast, client):
    assert get(client, cast.omar, "/fault-map?drill=somersault").status_code == 404
    assert get(client, cast.petra, "/fault-map/somersault").status_code == 404


def test_it_is_linked_from_the_drills_and_from_each_drill_and_leads_back(cast, client):
    assert 'href="/fault-map"' in get(client, cast.tam, "/drills").text
    assert 'href="/fault-map?drill=barrel"' in client.get("/drills/barrel").text
    page = client.get("/fault-map").text
    assert 'href="/drills/barrel"' in page
    assert 'href="/drills"' in page


def test_the_file_has_a_line_for_each_join(cast, client, ladder_content):
    answer = get(client, cast.tam, "/fault-map?as=csv")
    assert 'filename="fault-map-2026-03-04.csv"' in answer["Content-Disposition"]
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert len(rows) == sum(len(fault["mend"]) for fault in ladder_content["fault"])
    row = next(row for row in rows if row["fault"] == "Elbows bent in the bridge")
    assert (row["root"], row["offered"]) == ("Arms and shoulders", "1")
    assert row["seen at"].startswith("Bridge hold, arms straight, Bridge line")


def test_only_who_may_change_it_has_a_way_to(cast, client):
    guest = make_staff("Greta", "director", cast.hall)
    guest.guest_on = TODAY
    guest.save(update_fields=["guest_on"])
    for who in (cast.omar, cast.tam, guest):
        answer = get(client, who, "/fault-map")
        assert answer.status_code == 200
        assert "/fault-map/squats" not in answer.text
    assert 'href="/fault-map/squats"' in get(client, cast.petra, "/fault-map").text


def test_the_whole_map_takes_as_many_queries_as_a_part(cast, client):
    def queries(address):
        with CaptureQueriesContext(connection) as caught:
            assert client.get(address).status_code == 200
        return len(caught)

    get(client, cast.omar, "/fault-map")
    assert queries("/fault-map") == queries("/fault-map?drill=name-the-shape") <= 8


def test_nothing_is_drawn_by_a_style_or_a_script_of_the_page(cast, client):
    page = get(client, cast.petra, "/fault-map").text
    part = re.search(r'<section class="map-part".*</section>', page, re.S).group()
    assert "style=" not in part
    assert "<script" not in part


# The lines


def test_a_line_goes_from_the_middle_of_a_row_to_the_middle_of_another():
    """Two rows of 1000 have their middles at 250 and 750, four at 125, 375, 625, 875."""
    found = lines([("a", "b"), ("d",)], ["a", "b", "c", "d"], ["a", "d"])
    ends = [re.findall(r"M0 ([\d.]+)H8L92 ([\d.]+)H100", line.path) for line in found]
    assert ends == [[("250.0", "125.0")], [("250.0", "375.0")], [("750.0", "875.0")]]
    assert [line.first for line in found] == [True, False, True]
    assert [line.path[:8] for line in fan(2)] == ["M0 500.0"] * 2


def test_ends_stand_beside_the_rows_that_lead_to_them():
    assert in_fewest_crossings([("b",), ("a", "b"), ("a", "c")]) == ["b", "a", "c"]
    assert in_fewest_crossings([("b", "a")]) == ["b", "a"]

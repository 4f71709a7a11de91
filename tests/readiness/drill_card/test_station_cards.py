"""Cards for stations: of the drills chosen, the stop signs first."""

import copy
import json

import pytest

from readiness.drill_card.station import station_cards
from readiness.record.ladders import NamedLadder
from tests.support.pages import text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def page(client, cast, ladder):
    client.force_login(cast.tam)
    return client


def cards(page, *keys):
    return page.get("/station-cards/print", {"drill": keys}).context["cards"]


def test_every_drill_can_be_chosen_and_each_has_a_card(page, ladder_content):
    html = page.get("/station-cards").content.decode()
    keys = [drill["key"] for drill in ladder_content["drill"]]
    assert [key for key in keys if f'value="{key}"' not in html] == []
    assert [card.name for card in cards(page, *keys)] == [
        drill["name"] for drill in ladder_content["drill"]
    ]


def test_a_key_of_no_ladder_is_left_out_and_none_chosen_says_so(page):
    assert cards(page, "somersault") == []
    assert "No drill was chosen." in text_of(page.get("/station-cards/print"))


def test_a_card_says_what_its_ladder_says_of_the_drill(page, ladder_content):
    (card,) = cards(page, "sit-fall")
    (drill,) = [each for each in ladder_content["drill"] if each["key"] == "sit-fall"]
    assert list(card.cues) == drill["cues"][:3]
    assert drill["counts"] == f"Clean: {card.counts}"
    assert card.set_up == drill["set_up"]
    assert card.foot[0] == f"{drill['at_once']} at once"
    words = text_of(page.get("/station-cards/print?drill=sit-fall"))
    assert "Clean when feet still" in words
    assert "A sore place: not today." in words


def test_the_head_comes_first_then_the_stop_signs_all_of_them(page, ladder_content):
    (card,) = cards(page, "handspring")
    own = [fault for fault in ladder_content["fault"] if "handspring" in fault["belongs"]]
    stops = {fault["sees"] for fault in own if fault["stop"] in ("yes", "second", "unheld")}
    assert {each.sees for each in [*card.heads, *card.stops]} == stops
    assert [each.sees[:12] for each in card.heads] == ["Head touches"]
    words = text_of(page.get("/station-cards/print?drill=handspring"))
    # Common practice, no source.
    head = words.index("Stop, ask, coach now Head touches the floor.")
    assert head < words.index("Stop sign: finished for tonight, tell the coach")


def test_a_drill_that_is_no_yes_or_no_says_what_counts(page):
    words = text_of(page.get("/station-cards/print?drill=hollow-hold"))
    assert "What counts The clock stops" in words
    assert "Stop sign" not in words


def test_a_card_is_drawn_where_a_figure_is_known_and_says_what_it_shows(page):
    hollow, graded, none = cards(page, "hollow-hold", "sit-depth", "sit-fall")
    assert (hollow.drawn.shows, hollow.drawn.angles) == ("Hollow hold", "")
    # Its best grade, as its page and the tablet draw it.
    assert json.loads(graded.drawn.angles) == {
        "shin_lean": 2, "knee": 115, "trunk_lean": 20, "heel_lift": 0,
    }  # fmt: skip
    assert graded.drawn.shows.startswith("The sit, hands held: Right. Ribs in")
    assert none.drawn is None
    html = page.get("/station-cards/print?drill=hollow-hold&drill=sit-fall").content.decode()
    assert html.count("station-figure") == 1
    assert 'role="img" aria-label="Hollow hold"' in html


def test_a_rubric_without_angles_leaves_a_card_without_a_figure(ladder_content):
    content = copy.deepcopy(ladder_content)
    for rubric in content["rubric"]:
        for pose in rubric["pose"]:
            pose.pop("angles", None)
    (card,) = station_cards(NamedLadder(1, content), ["sit-depth"])
    assert card.drawn is None

"""A drill's card: all that the ladder says of it, one tap from where it is named."""

import json

import pytest

from readiness.floor.pack import build_pack
from readiness.record.ladders import Ladders
from readiness.words.drill_card import card_of, fault_cards
from tests.support.cast import NOW, TODAY

# What a coach has to read of a drill; keys of the ladder's file.
TEXTS = ("set_up", "counts", "pace", "hands", "sets_note")


def test_every_text_of_every_drill_is_on_its_page(client, cast, ladder_content):
    client.force_login(cast.tam)
    mats = {each["key"]: each["name"] for each in ladder_content["equipment"]}
    for drill in ladder_content["drill"]:
        page = client.get(f"/drills/{drill['key']}").context
        said = [text for part in page["sections"] for text in part.says]
        for text in [drill[name] for name in TEXTS if name in drill]:
            assert text in said, drill["key"]
        assert " · ".join(drill["cues"]) in said
        assert all(mats[key] in " ".join(said) for key in drill["equipment"])
        seen = [
            fault["sees"] for fault in ladder_content["fault"] if drill["key"] in fault["belongs"]
        ]
        assert [fault.sees for fault in page["faults"]] == seen


def test_a_drill_with_hands_says_first_what_holds_for_all_hands(cast, ladder_content):
    ladder = Ladders().named_on(TODAY)
    card = {part.heading: part.says for part in card_of(ladder, ladder.drills["handspring"])}
    assert card["A spotter's hands"] == [
        ladder_content["hands"],
        ladder.drills["handspring"]["hands"],
    ]
    assert card["Adults"] == [
        "A spotter trained for this drill touches, or stands ready for, each turn.",
        "1 spotter.",
        "Spotters on each of the first 2 days: 2.",
    ]
    assert card["At once"] == ["At most 1 child at once."]
    assert card["A turn at a station"] == [
        "About 20 seconds, with getting ready.",
        "With a spotter about 30 seconds.",
    ]


def test_a_fault_says_what_it_leads_to_whether_it_stops_and_what_mends_it_by_name(cast):
    says = fault_cards(Ladders().named_on(TODAY))["undercut"].says
    assert says == [
        "A stop sign at the second one of a day.",
        "Leads to: Arms take a drop instead of a push.",
        says[2],
    ]
    assert "Sit" in says[2]
    assert "sit-" not in says[2]


def test_an_older_ladder_without_these_fields_has_a_card_all_the_same(cast):
    ladder = Ladders().named_on(TODAY)
    plain = {
        name: value
        for name, value in ladder.drills["handspring"].items()
        if name not in ("pace", "hands", "letter", "turn_seconds", "held_seconds")
    }
    card = card_of(ladder, plain)
    headings = [part.heading for part in card]
    (turn,) = [part.says for part in card if part.heading == "A turn at a station"]
    assert turn[0] == "About 20 seconds, with getting ready."
    assert headings[:3] == ["Set-up", "What counts", "Cues"]
    assert "Pace" not in headings


def test_the_pack_carries_each_text_once_and_none_for_each_child(cast):
    pack = build_pack(cast.meeting, cast.omar, NOW)
    general = Ladders().named_on(TODAY).drills["hollow-hold"]["set_up"]
    assert pack.count(general) == 1
    known = json.loads(pack)
    drill = next(each for each in known["drills"] if each["key"] == "hollow-hold")
    assert {"heading": "Set-up", "says": [general]} in drill["card"]
    assert all(
        fault["key"] in known["fault_texts"] for each in known["drills"] for fault in each["faults"]
    )


def test_the_list_has_every_drill_under_its_stage(client, cast, ladder_content):
    client.force_login(cast.tam)
    page = client.get("/drills").text
    for drill in ladder_content["drill"]:
        assert f'href="/drills/{drill["key"]}"' in page


def test_a_drill_that_there_is_not_is_not_found(client, cast):
    client.force_login(cast.omar)
    assert client.get("/drills/somersault").status_code == 404


@pytest.mark.parametrize("address", ["/drills", "/drills/handspring"])
def test_it_is_read_only_and_needs_a_sign_in(client, cast, address):
    assert client.get(address).status_code == 302
    client.force_login(cast.omar)
    assert client.post(address).status_code == 405

"""The review as a queue: who comes first, and on to the next."""

import datetime
from dataclasses import replace

import pytest
import time_machine

from readiness.engine.reading import FOR_REVIEW
from readiness.models import Look, Standing
from readiness.record.decisions import pause
from readiness.record.ladders import Ladders
from readiness.record.list_facts import list_facts
from readiness.record.standings import consents_changed, read
from readiness.record.told.head_knocks import tell_knock
from tests.support.cast import NOW, TODAY, give_consent, make_child
from tests.support.pages import evidence, get, recommended, text_of
from tests.support.ready import MAT, place_at, ready_to_be_signed

LATER = NOW + datetime.timedelta(hours=2)


@pytest.fixture(autouse=True)
def _frozen():
    with time_machine.travel(LATER, tick=False):
        yield


def review(client, who):
    return text_of(get(client, who, "/review"))


def in_order(words, *parts):
    places = [words.index(part) for part in parts]
    assert places == sorted(places), words


@pytest.fixture
def two_ready(cast, log):
    """Mai and Zoe are both ready to be signed."""
    zoe = make_child("Zoe Lind", cast.blue)
    for child in (cast.mai, zoe):
        ready_to_be_signed(cast, log, child)
    return cast.mai, zoe


def test_the_week_stands_on_top_then_decisions_then_what_went_wrong(cast, client, two_ready, log):
    _mai, zoe = two_ready
    log(zoe, "back-walkover", "0", support=1, surface=MAT, faults=("arms-give",))
    log(cast.ilse, "hollow-hold", [12.0], support=0)
    in_order(
        review(client, cast.petra),
        "This week", "Stop signs: 1 entry", "Needs a decision 1", "On re-check 1", "Nothing more",
    )  # fmt: skip


def test_the_oldest_request_comes_first(cast, client, two_ready):
    mai, zoe = two_ready
    recommended(client, cast.omar, zoe)
    with time_machine.travel(LATER + datetime.timedelta(minutes=5), tick=False):
        recommended(client, cast.omar, mai)
        in_order(review(client, cast.petra), "Needs a decision 2", "Zoe", "Mai")


def test_what_waits_for_the_reader_comes_before_what_waits_for_others(cast, client, two_ready):
    _mai, zoe = two_ready
    recommended(client, cast.omar, zoe)
    words = review(client, cast.petra)
    in_order(words, "Zoe", "Recommended by Omar", "Mai", "Waits for a recommendation")


def test_every_stage_that_waits_is_told(cast, client, two_ready):
    """Of a reading with two stages for review, as a ladder with two ways can have."""
    mai, _zoe = two_ready
    whole = read(mai, TODAY).read
    stages = [
        replace(stage, state=FOR_REVIEW) if stage.stage.code in ("4", "6") else stage
        for stage in whole.stages
    ]
    facts = list_facts(replace(whole, stages=tuple(stages)), {}, ())
    review(client, cast.petra)
    Standing.objects.filter(child=mai).update(**facts._asdict())
    names = Ladders().named_on(TODAY).stage_names
    words = review(client, cast.petra)
    in_order(words, "Mai", names["4"], names["6"], "Waits for a recommendation")


def test_it_says_what_has_come_in_since_the_reader_looked(cast, client, two_ready, log):
    mai, _zoe = two_ready
    assert "You have not looked at the evidence yet." in review(client, cast.petra)
    evidence(client, cast.petra, mai)
    assert "No turn has come in since you looked on 4 Mar." in review(client, cast.petra)
    week = datetime.timedelta(weeks=1)
    with time_machine.travel(LATER + week, tick=False):
        log(mai, "hollow-hold", [20.0], day=TODAY + week, support=0)
        log(mai, "back-walkover", "110", day=TODAY + week, support=1, surface=MAT)
        words = review(client, cast.petra)
    assert "Since you looked on 4 Mar: 4 turns, 1 not clean." in words
    # Who does not sign is told nothing of looks, and looks without a trace.
    evidence(client, cast.omar, mai)
    assert "you looked" not in review(client, cast.omar)
    assert Look.objects.get().staff == cast.petra


def test_a_long_section_shows_its_first_and_keeps_all(cast, client, log):
    for number in range(8):
        child = make_child(f"Kid{number} Long", cast.blue)
        place_at(cast, child, 3, TODAY - datetime.timedelta(weeks=8))
        day = TODAY - datetime.timedelta(days=29)
        log(child, "back-walkover", "111", day=day, support=3, surface=MAT)
    words = review(client, cast.petra)
    assert "Long without a turn 8" in words
    in_order(words, "Kid2", "5 more", "Kid3", "Kid7")


def test_who_came_back_and_had_a_stop_sign_is_not_long_without_a_turn(cast, client, log):
    place_at(cast, cast.ilse, 3, TODAY - datetime.timedelta(weeks=12))
    log(cast.ilse, "back-walkover", "111", day=TODAY - datetime.timedelta(weeks=11), support=3)
    assert "Long without a turn 1" in review(client, cast.petra)
    log(cast.ilse, "back-walkover", "10", support=3, faults=("arms-give",))
    words = review(client, cast.petra)
    assert "On re-check 1" in words
    assert "Long without a turn" not in words


def test_who_is_on_the_way_back_is_not_long_without_a_turn(cast, client, log):
    place_at(cast, cast.ilse, 3, TODAY - datetime.timedelta(weeks=12))
    log(cast.ilse, "back-walkover", "111", day=TODAY - datetime.timedelta(weeks=11), support=3)
    log(cast.ilse, "back-walkover", "11", day=TODAY - datetime.timedelta(days=7), support=3)
    words = review(client, cast.petra)
    assert "On re-check 1 Ilse" in words
    assert "Long without a turn" not in words


def test_a_missing_yes_to_hands_stands_in_the_row(cast, client, log):
    place_at(cast, cast.ilse, 3, TODAY - datetime.timedelta(weeks=4))
    week_ago = TODAY - datetime.timedelta(days=7)
    log(cast.ilse, "back-walkover", "10", day=week_ago, support=3, faults=("arms-give",))
    assert "Hands-on spotting" not in review(client, cast.petra)
    yesterday = TODAY - datetime.timedelta(days=1)
    give_consent(cast.ilse, yes=False, day=yesterday)
    consents_changed({cast.ilse.pk: yesterday})
    assert "Hands-on spotting: no." in review(client, cast.petra)


def test_children_held_only_by_too_few_turns_are_their_own_list(cast, client, log):
    """Nine clean turns and bridges of the grade asked for: what is missing is number."""
    place_at(cast, cast.mai, 3, TODAY - datetime.timedelta(weeks=8))
    place_at(cast, cast.ilse, 3, TODAY - datetime.timedelta(weeks=8))
    for back in (1, 0):
        day = TODAY - datetime.timedelta(weeks=back)
        for child, outcomes in ((cast.mai, "1111"), (cast.ilse, "1000")):
            log(child, "back-walkover", outcomes, day=day, support=1, surface=MAT)
            log(child, "bridge-line", [2, 2], day=day, support=0, surface=MAT)
    words = review(client, cast.petra)
    few = words[words.index("Held only by too few turns") :]
    assert "Mai" in few
    assert "Ilse" not in few


def test_next_leads_through_the_queue_and_back_to_the_list(cast, client, two_ready):
    mai, zoe = two_ready
    recommended(client, cast.omar, zoe)
    client.force_login(cast.petra)

    def after(child):
        return client.get(f"/review/after/{child.uuid}")["Location"]

    # What waits is a decision: on to its evidence.
    assert after(zoe) == f"/children/{mai.uuid}/evidence/4"
    assert after(mai) == "/review"
    # Of nobody in the queue: the first of it.
    assert after(cast.rosa) == f"/children/{zoe.uuid}/evidence/4"
    for page in (f"/children/{mai.uuid}", f"/children/{mai.uuid}/evidence/4"):
        html = client.get(page).content.decode()
        assert 'href="/review"' in html
        assert f'href="/review/after/{mai.uuid}"' in html


def test_next_leads_to_the_evidence_of_whoever_is_on_re_check(cast, client, log):
    yesterday = TODAY - datetime.timedelta(days=1)
    place_at(cast, cast.mai, 3, yesterday - datetime.timedelta(weeks=1))
    log(cast.mai, "back-walkover", "0", day=yesterday, surface=MAT, faults=("arms-give",))
    client.force_login(cast.petra)
    after = client.get(f"/review/after/{cast.rosa.uuid}")["Location"]
    assert after == f"/children/{cast.mai.uuid}/evidence/3"


def test_a_row_leads_to_where_a_pause_and_the_way_back_after_a_head_knock_go_on(cast, client):
    pause(cast.mai, cast.omar, NOW, "a cold")
    tell_knock(cast.ilse, cast.petra, NOW, TODAY - datetime.timedelta(days=1), elsewhere=True)
    html = get(client, cast.petra, "/review").content.decode()
    assert f'<a href="/children/{cast.mai.uuid}#pause">The pause</a>' in html
    assert f'<a href="/children/{cast.ilse.uuid}/head">What the next step waits for</a>' in html
    assert f"{cast.mai.uuid}/evidence" not in html
    assert f"{cast.ilse.uuid}/evidence" not in html


def test_the_others_are_behind_a_search_and_their_classes(cast, client):
    html = get(client, cast.petra, "/review").content.decode()
    assert 'action="/review/all"' in html
    assert f'href="/classes/{cast.blue.uuid}"' in html

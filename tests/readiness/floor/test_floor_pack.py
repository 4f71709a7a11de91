"""What the floor page is told about a meeting."""

import datetime
import json

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils.translation import get_language, override

from progression.log.lines import STRIKE_CODES
from progression.models import Strike
from readiness.floor import pack_ladder, views
from readiness.floor.pack import build_pack
from readiness.models import Pause
from readiness.record.intake import take_lines
from readiness.words import drill_card
from studio.models import Child, Meeting
from studio.people.told_apart import tell_apart
from tests.support.cast import NOW, TODAY, make_child, time_ordered_id
from tests.support.ready import place_at

MAT = "sprung-dance-floor"


def pack_of(cast, staff=None):
    return json.loads(build_pack(cast.meeting, staff or cast.omar, NOW))


def child_in(pack, name):
    return next(child for child in pack["children"] if child["name"] == name)


def line(kind, **about):
    return {"kind": kind, "id": str(time_ordered_id(NOW)), "at": NOW.isoformat(), **about}


def send(cast, *lines):
    answers = take_lines(cast.meeting, cast.omar, "tablet 3", NOW, lines, 1, NOW)
    assert {answer.answer for answer in answers} == {"kept"}


def test_it_is_json_never_stored_and_sets_the_token_cookie(client, cast):
    client.force_login(cast.omar)
    response = client.get(f"/floor/{cast.meeting.uuid}/pack")
    assert response.status_code == 200
    assert response["Content-Type"] == "application/json"
    assert response["Cache-Control"] == "no-store"
    assert "csrftoken" in response.cookies
    assert [child["name"] for child in response.json()["children"]] == ["Ilse", "Mai"]


@pytest.mark.parametrize("who", ["ines", "dora"])
def test_another_class_and_another_hall_get_not_found_as_json(client, cast, who):
    client.force_login(getattr(cast, who))
    response = client.get(f"/floor/{cast.meeting.uuid}/pack")
    assert response.status_code == 404
    assert response.json()["error"] == "not-found"


def test_signed_out_it_answers_401_as_json_and_never_redirects(client, cast):
    response = client.get(f"/floor/{cast.meeting.uuid}/pack")
    assert response.status_code == 401
    assert response.json()["error"] == "sign-in"


def test_one_more_than_a_process_makes_at_once_is_told_to_come_later(client, cast, monkeypatch):
    client.force_login(cast.omar)
    address, answers = f"/floor/{cast.meeting.uuid}/pack", []

    def ask_meanwhile(*about):
        answers.append(client.get(address))
        return "{}"

    monkeypatch.setattr(views, "build_pack", ask_meanwhile)
    assert client.get(address).status_code == 200
    *made, refused = sorted(answers, key=lambda answer: answer.status_code)
    assert [answer.status_code for answer in made] == [200] * (views.PACKS_AT_ONCE - 1)
    assert (refused.status_code, refused.json()["error"]) == (503, "busy")
    assert refused["Retry-After"]
    monkeypatch.undo()
    assert client.get(address).status_code == 200


def test_it_is_only_read(client, cast):
    client.force_login(cast.omar)
    assert client.post(f"/floor/{cast.meeting.uuid}/pack").status_code == 405


def test_it_says_where_and_when_and_whom_to_call(cast):
    pack = pack_of(cast)
    assert pack["v"] == 3
    assert pack["day"] == "2026-03-04"
    assert pack["meeting"] == {
        "id": str(cast.meeting.uuid),
        "group": "Blue",
        "date": "2026-03-04",
        "starts_at": "17:30",
        "location": "Mill hall",
        "address": "4 Weir Lane",
        "emergency": "112",
        "emergency_confirmed": True,
        "card": {},
        "adults": 2,
        "over_at": "2026-03-05T00:00:00+01:00",
    }
    assert pack["strikes"] == list(STRIKE_CODES)


def test_coaches_grade_and_assistants_do_not(cast):
    assert pack_of(cast, cast.omar)["me"]["grades"] is True
    assert pack_of(cast, cast.tam)["me"]["grades"] is False


def test_the_ladder_comes_with_surfaces_in_order_and_every_drill(cast, ladder_content):
    pack = pack_of(cast)
    assert [one["key"] for one in pack["surfaces"]] == [
        surface["key"] for surface in ladder_content["surface"]
    ]
    assert len(pack["drills"]) == 39
    strands = {strand["key"] for strand in pack["strands"]}
    assert all(drill["strand"] in strands for drill in pack["drills"])
    graded = [drill for drill in pack["drills"] if drill["measure"] == "grade"]
    assert all(drill["rubric"]["poses"] for drill in graded)
    # Each pose comes with the angles it is drawn from.
    drawn = {
        drill["rubric"]["key"]: [pose["angles"] for pose in drill["rubric"]["poses"]]
        for drill in graded
    }
    assert drawn == {
        rubric["key"]: [pose["angles"] for pose in rubric["pose"]]
        for rubric in ladder_content["rubric"]
    }
    assert [support["amount"] for support in pack["supports"]] == [3, 2, 1, 0]


def test_what_it_says_of_the_ladder_is_in_the_language_of_whoever_asks(cast, monkeypatch):
    def heading(language):
        with override(language):
            return pack_of(cast)["drills"][0]["card"][0]["heading"]

    pack_ladder._in_language.cache_clear()
    assert heading("en") == "Set-up"
    monkeypatch.setattr(drill_card, "_", lambda text: f"{text}, {get_language()}")
    assert heading("de") == "Set-up, de"
    assert heading("en") == "Set-up"
    pack_ladder._in_language.cache_clear()


def test_children_who_have_left_are_not_in_it(cast):
    cast.mai.left_on = TODAY
    cast.mai.save(update_fields=["left_on"])
    assert [child["name"] for child in pack_of(cast)["children"]] == ["Ilse"]


def test_who_is_here_is_unknown_until_said_and_the_latest_word_stands(cast):
    assert child_in(pack_of(cast), "Mai")["present"] is None
    send(cast, line("here", child=str(cast.mai.uuid), present=True))
    assert child_in(pack_of(cast), "Mai")["present"] is True
    later = (NOW + datetime.timedelta(seconds=1)).isoformat()
    away = line("here", child=str(cast.mai.uuid), present=False) | {"at": later}
    take_lines(cast.meeting, cast.omar, "t", NOW, [away], 1, NOW + datetime.timedelta(minutes=1))
    assert child_in(pack_of(cast), "Mai")["present"] is False
    assert child_in(pack_of(cast), "Ilse")["present"] is None


def test_turns_of_the_day_are_listed_oldest_first_without_the_struck_ones(cast, log):
    first, second = log(cast.mai, "log-roll", "10")
    log(cast.mai, "log-roll", "1", by=cast.tam)
    log(cast.mai, "log-roll", "1", day=TODAY - datetime.timedelta(days=7))
    Strike.objects.create(
        id=time_ordered_id(NOW), attempt_id=second.pk, code="wrong-tap", by=cast.omar,
        at=NOW, received_at=NOW, digest="",
    )  # fmt: skip
    today = child_in(pack_of(cast), "Mai")["drills"]["log-roll"]["today"]
    assert [(turn["clean"], turn["mine"]) for turn in today] == [(True, True), (True, False)]
    assert today[0]["id"] == str(first.pk)


def test_a_turn_says_what_gates_ask_of_it_and_authors_are_told_apart_by_small_numbers(cast, log):
    log(cast.mai, "log-roll", "1", surface="air-floor")
    log(cast.mai, "log-roll", "1", by=cast.tam)
    log(cast.ilse, "log-roll", "1", by=cast.tam)
    today = child_in(pack_of(cast), "Mai")["drills"]["log-roll"]["today"]
    said = [(turn["surface"], turn["graded"], turn["author"]) for turn in today]
    assert said == [("air-floor", True, 0), (MAT, False, 1)]
    assert child_in(pack_of(cast), "Ilse")["drills"]["log-roll"]["today"][0]["author"] == 1
    other = child_in(pack_of(cast, cast.tam), "Mai")["drills"]["log-roll"]["today"]
    assert [turn["author"] for turn in other] == [1, 0]


def test_earlier_days_are_summed_up_for_the_tablet_and_today_is_not_among_them(cast, log):
    log(cast.mai, "sit-fall", "110", day=TODAY - datetime.timedelta(days=7))
    log(cast.mai, "sit-fall", "11111")
    log(cast.mai, "hollow-hold", [12.0, 14.0], day=TODAY - datetime.timedelta(days=90))
    log(cast.mai, "hollow-hold", [30.0], day=TODAY - datetime.timedelta(days=91))
    log(cast.mai, "safe-fall", "110", day=TODAY - datetime.timedelta(days=7))
    pack = pack_of(cast)
    drills = child_in(pack, "Mai")["drills"]
    # Three turns of a day count as 3 / 1.2, and fade by half in 84 days.
    weight = 2 ** (-7 / 84) / 1.2
    [[rank, clean, missed, *counts]] = drills["sit-fall"]["gate"]["before"]
    assert (rank, counts) == (0, [1, 2, 7, 3])
    assert (clean, missed) == pytest.approx((2 * weight, weight), abs=1e-9)
    assert drills["hollow-hold"]["gate"]["before"] == [14.0]
    assert drills["safe-fall"]["gate"]["before"] == 2
    for drill in drills.values():
        if "gate" in drill:
            assert drill["gate"]["code"] in pack["rules"]["gates"]


def test_support_moves_on_the_tablet_only_where_turns_can_move_it(cast, log):
    drills = child_in(pack_of(cast), "Mai")["drills"]
    assert "start" not in drills["handspring"]  # closed
    assert "start" not in drills["log-roll"]  # its support is not logged
    place_at(cast, cast.mai, 3, TODAY - datetime.timedelta(weeks=2))
    log(cast.mai, "back-walkover", "0", faults=("half-hearted",))
    walkover = child_in(pack_of(cast), "Mai")["drills"]["back-walkover"]
    # As the day began, whatever today's turns asked for.
    assert walkover["start"]["allowed"][MAT] == 3
    assert walkover["start"]["causes"] == {}
    assert walkover["causes"][MAT] == ["finished-tonight"]
    assert walkover["allowed"][MAT] is None


def test_a_place_that_hurt_not_long_ago_is_told_for_hurting_again_is_a_pause(cast):
    for back, place in [(21, "wrist"), (22, "knee"), (0, "hip")]:
        day = TODAY - datetime.timedelta(days=back)
        at = datetime.datetime.combine(day, datetime.time(17), datetime.UTC)
        meeting, _ = Meeting.objects.get_or_create(
            group=cast.blue, date=day, starts_at=cast.blue.starts_at
        )
        hurt = line("hurt", child=str(cast.mai.uuid), place=place) | {"at": at.isoformat()}
        assert take_lines(meeting, cast.omar, "t", at, [hurt], 1, at)[0].answer == "kept"
    assert child_in(pack_of(cast), "Mai")["again"] == ["wrist"]
    assert child_in(pack_of(cast), "Ilse")["again"] == []


def test_support_is_allowed_where_the_drill_is_open_and_not_elsewhere(cast):
    drills = child_in(pack_of(cast), "Mai")["drills"]
    assert drills["log-roll"]["open"] is True
    assert set(drills["log-roll"]["allowed"].values()) == {0}
    assert drills["handspring"]["open"] is False
    assert set(drills["handspring"]["allowed"].values()) == {None}
    assert drills["handspring"]["causes"][MAT] == ["closed"]


def test_something_that_hurts_bars_what_loads_it_for_that_day(cast):
    send(cast, line("hurt", child=str(cast.mai.uuid), place="wrist"))
    mai = child_in(pack_of(cast), "Mai")
    assert mai["pains"] == ["wrist"]
    assert mai["paused"] is False
    assert mai["drills"]["front-support"]["barred"] is True
    assert mai["drills"]["front-support"]["causes"][MAT] == ["pain"]
    assert mai["drills"]["swing-jump"]["barred"] is False
    assert child_in(pack_of(cast), "Ilse")["pains"] == []


def test_a_paused_child_is_allowed_nothing(cast):
    Pause.objects.create(child=cast.mai, reason="ankle", by=cast.petra, at=NOW, day=TODAY)
    mai = child_in(pack_of(cast), "Mai")
    assert mai["paused"] is True
    assert set(mai["drills"]["log-roll"]["allowed"].values()) == {None}
    assert child_in(pack_of(cast), "Ilse")["paused"] is False


def test_sureness_is_rounded_down_and_said_in_a_sentence(cast, log):
    log(cast.mai, "safe-fall", "111", day=TODAY - datetime.timedelta(days=7))
    log(cast.mai, "sit-fall", "1111111111")
    sure = child_in(pack_of(cast), "Mai")["drills"]["sit-fall"]["sure"]
    # One day of 10 clean in 10, read on that day, is Beta(1 + 10 / 1.9, 1) with a correlation
    # of 0.1 (Kish's design effect): P(rate >= 0.6) = 1 - 0.6 ** 6.263158 = 0.959203. For
    # b = 1 the Beta distribution function is r ** a (DLMF 8.17).
    assert sure["value"] == 0.95
    assert sure["met"] is False
    assert "sure that Mai is clean" in sure["sentence"]
    assert child_in(pack_of(cast), "Ilse")["drills"]["sit-fall"]["sure"]["value"] == 0.4


def test_the_sureness_is_that_of_the_lowest_closed_stage_that_uses_the_drill(cast):
    mai = child_in(pack_of(cast), "Mai")["drills"]
    # Hollow hold: 15 s for stage 2, more for later ones; nothing is open but stage 1.
    assert mai["hollow-hold"]["best"]["need"] == 15
    assert mai["safe-fall"]["best"] == {
        "value": 0,
        "share": 0,
        "need": 3,
        "met": False,
        "sentence": "0 of 3 clean turns.",
    }


def test_what_the_class_did_last_comes_first(cast, log):
    log(cast.mai, "log-roll", "1", day=TODAY - datetime.timedelta(days=14))
    log(cast.mai, "safe-fall", "1", day=TODAY - datetime.timedelta(days=7))
    log(cast.ilse, "swing-jump", "111", day=TODAY - datetime.timedelta(days=7), surface="air-floor")
    pack = pack_of(cast)
    assert pack["recent"] == ["swing-jump", "safe-fall", "log-roll"]
    assert pack["surface"] == "air-floor"


def test_a_class_with_no_turns_has_no_surface_yet(cast):
    assert pack_of(cast)["surface"] is None
    assert pack_of(cast)["recent"] == []


def test_the_fault_seen_most_at_a_drill_comes_first_and_caught_is_a_mark_of_its_own(cast, log):
    log(cast.mai, "sit-fall", "00", faults=("feet-wide",))
    log(cast.ilse, "sit-fall", "0", faults=("squats",))
    drills = {drill["key"]: drill for drill in pack_of(cast)["drills"]}
    keys = [fault["key"] for fault in drills["sit-fall"]["faults"]]
    assert keys[:2] == ["feet-wide", "squats"]
    assert all(fault["key"] != "caught" for drill in drills.values() for fault in drill["faults"])


def test_faults_of_another_class_do_not_count(cast, log):
    log(cast.rosa, "sit-fall", "000", faults=("squats",))
    drills = {drill["key"]: drill for drill in pack_of(cast)["drills"]}
    assert drills["sit-fall"]["faults"][0]["key"] != "squats"


def children(*names):
    return [
        Child(pk=number, name=name, name_used=name.split()[0], birth_year=2016, birth_month=4)
        for number, name in enumerate(names, start=1)
    ]


@pytest.mark.parametrize(
    ("names", "short"),
    [
        (["Mai Tran", "Ilse Brand"], ["Mai", "Ilse"]),
        (["Cosima Keller", "Cosima Wolf", "Ilse Brand"], ["Cosima K.", "Cosima W.", "Ilse"]),
        (["Cosima Keller", "Cosima Kern"], ["Cosima Kel.", "Cosima Ker."]),
        (["Cosima Ka", "Cosima Ka"], [f"Cosima Ka, born Apr 2016 · {n}" for n in (1, 2)]),
        (["Bo", "Bo"], ["Bo, born Apr 2016 · 1", "Bo, born Apr 2016 · 2"]),
    ],
)
def test_names_are_short_and_unique_in_the_class(names, short):
    assert list(tell_apart(children(*names)).values()) == short


def test_queries_do_not_grow_with_the_class(cast, log):
    log(cast.mai, "log-roll", "11")
    log(cast.ilse, "hollow-hold", [12.0])
    with CaptureQueriesContext(
        connection,
    ) as with_two:
        build_pack(cast.meeting, cast.omar, NOW)
    for number in range(18):
        child = make_child(f"Child{number} Test", cast.blue)
        log(child, "log-roll", "1")
    with CaptureQueriesContext(connection) as with_twenty:
        pack = pack_of(cast)
    assert len(pack["children"]) == 20
    assert len(with_twenty) == len(with_two)


def test_of_an_earlier_day_it_leads_to_the_classes_of_today_the_same_class_first(cast):
    assert pack_of(cast)["tonight"] == []
    later = NOW + datetime.timedelta(days=7)
    cast.red.staff.add(cast.omar)
    tonight = json.loads(build_pack(cast.meeting, cast.omar, later))["tonight"]
    assert [each["group"] for each in tonight] == ["Blue", "Red"]
    assert tonight[0]["open"] == f"/classes/{cast.blue.uuid}/meet"
    the_day_after = later + datetime.timedelta(days=1)
    assert json.loads(build_pack(cast.meeting, cast.omar, the_day_after))["tonight"] == []


def test_names_stand_as_people_sort_them(cast):
    for name in ("Émilie Test", "Zoe Test", "Đan Test"):
        make_child(name, cast.blue)
    assert [child["name"] for child in pack_of(cast)["children"]] == [
        "Đan", "Émilie", "Ilse", "Mai", "Zoe",
    ]  # fmt: skip

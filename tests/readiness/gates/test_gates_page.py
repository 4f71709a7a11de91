"""The gates' pages: what they say and draw, and how another value is tried and saved."""

import datetime
import re
import uuid

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from progression.models import LadderVersion
from readiness.engine.clean_rate import Decay
from readiness.engine.gates import CleanRule
from readiness.engine.trial.error_rates import opens_by_luck
from readiness.engine.trial.run_rules import clean_of_last, in_a_row, signalled_within
from readiness.engine.trial.simulation import Classes
from readiness.gates import luck
from readiness.gates import words as gate_words
from readiness.gates.forms import GateForm
from readiness.gates.ladder_gates import gate_at
from readiness.record.ladder_loading import load
from readiness.record.ladders import Ladders
from tests.support.cast import TODAY
from tests.support.deciding import LATER, recommend, sign
from tests.support.pages import get, text_of
from tests.support.ready import MAT, place_at

pytestmark = pytest.mark.usefixtures("_later")

WALKOVER = "/gates/4.back-walkover"
SAVE = "/gates/save/4.back-walkover"
UNSPOTTED, PRACTICE = CleanRule(0.8, 0.8, 4, 12), CleanRule(0.6, 0.9, 3, 6)


# --- who sees them ------------------------------------------------------------------------


@pytest.mark.parametrize("address", ["/gates", "/gates/versions", WALKOVER])
def test_a_director_sees_them_and_a_coach_and_an_assistant_are_refused(cast, client, address):
    assert get(client, cast.petra, address).status_code == 200
    for who in (cast.omar, cast.tam):
        assert get(client, who, address).status_code == 403


def test_only_a_director_has_the_link(cast, client):
    assert '<a href="/gates">Gates</a>' in get(client, cast.petra, "/").text
    assert "/gates" not in get(client, cast.omar, "/").text


def test_a_gate_or_a_version_that_is_not_there_is_not_found(cast, client):
    for address in (
        "/gates/4.nothing",
        "/gates/4.seen-by-two",
        "/gates?version=9",
        "/gates?version=x",
    ):
        assert get(client, cast.petra, address).status_code == 404


# --- the list -----------------------------------------------------------------------------


def test_every_clean_gate_is_listed_in_the_ladder_s_order_practice_first(cast, client):
    html = get(client, cast.petra, "/gates").text
    linked = re.findall(r'href="/gates/([^"?]+)\?', html)
    assert linked[0] == "practice"
    assert linked[1:4] == [
        "kick-over-floor.kick-over-block",
        "roundoff-rebound.kick-to-handstand",
        "3.kick-over-block",
    ]
    assert "9/two-handsprings.clean" in linked
    content = LadderVersion.objects.get().content
    clean = [g for stage in content["stage"] for g in stage.get("gate", []) if g["kind"] == "clean"]
    assert {gate["code"] for gate in clean} <= set(linked)


def test_each_says_in_a_sentence_what_it_lets_through(cast, client):
    words = text_of(get(client, cast.petra, "/gates"))
    chances = luck.at_rate(luck_of(UNSPOTTED), 0.6)
    said = (
        "Back walkover: steady at standing by or less 80 % sure of clean at least 4 times in 5; "
        "12 clean turns on 4 days, the newest at most 28 days old. {} who are clean six times in "
        "ten would open this within a term by luck; within a year, {}."
    )
    term, year = (gate_words.children(each) for each in chances)
    assert said.format(term.capitalize(), year) in words
    assert "children who are clean five times in ten would open this within a term by" in words
    assert "Fewer turns and fewer classes mean weaker answers" in words


def test_other_classes_give_other_chances_and_go_along_to_the_gate(cast, client):
    few, many = (text_of(get(client, cast.petra, f"/gates{q}")) for q in ("", "?a_week=2&turns=10"))
    assert "one class a week with 3 turns each" in few
    assert "2 classes a week with 10 turns each" in many
    assert few.count("about 1 in") > many.count("about 1 in")
    html = get(client, cast.petra, "/gates?a_week=2&turns=10").text
    assert f'href="{WALKOVER}?a_week=2&amp;turns=10"' in html


@pytest.mark.parametrize("query", ["a_week=9", "turns=0", "turns=13", "turns=x", "a_week="])
def test_classes_that_cannot_be_are_refused(cast, client, query):
    assert get(client, cast.petra, f"/gates?{query}").status_code == 422
    assert get(client, cast.petra, f"{WALKOVER}?{query}").status_code == 422


# --- one gate -----------------------------------------------------------------------------


def luck_of(rule):
    return opens_by_luck([rule], Decay(), luck.RATES, Classes(1, 3))[0]


def test_the_page_has_the_numbers_of_the_engine_with_their_errors(cast, client):
    html = get(client, cast.petra, WALKOVER).text
    curve = luck_of(UNSPOTTED)
    table = re.search(r'<table class="numbers">.*?</table>', html, re.S).group()
    rows = re.findall(r'<tr><th scope="row">(.*?)</th>(.*?)</tr>', table, re.S)
    assert len(rows) == len(luck.RATES) == 14
    for place, (rate, cells) in enumerate(rows):
        assert rate.split() == [str(round(100 * luck.RATES[place])), "%"]
        found = [
            " ".join(re.sub("<[^>]+>", " ", cell).split())
            for cell in re.findall(r"<td.*?</td>", cells)
        ]
        for horizon, cell in ((0, found[0]), (1, found[3])):
            percent = int(round(curve.chances[horizon][place] * 1_000_000) // 10_000)
            error = gate_words.error_words(curve.errors[horizon][place])
            assert cell == f"{percent} % ± {error}"


def test_the_yardsticks_are_exact_under_the_same_days(cast, client):
    eight, five = luck.habits(Classes(1, 3))
    for found, rule in ((eight, clean_of_last(8, 10)), (five, in_a_row(5))):
        exact = signalled_within(rule, luck.RATES, 156, 0.1, 3)
        assert found.chances[0] == pytest.approx(exact[39])
        assert found.chances[1] == pytest.approx(exact[156])
    words = text_of(get(client, cast.petra, WALKOVER))
    at = luck.RATES.index(0.6)
    said = [gate_words.children(each.chances[0][at]) for each in (eight, five)]
    assert (
        f"On the same days “8 of the last 10” would let {said[0]} who are clean six times in ten "
        f"through within a term, “five in a row” {said[1]}."
    ) in words


def test_the_pictures_draw_the_gate_and_the_two_habits_for_a_term_and_a_year(cast, client):
    html = get(client, cast.petra, WALKOVER).text
    charts = re.findall(r'<svg class="chart".*?</svg>', html, re.S)
    assert len(charts) == 2
    for chart in charts:
        drawn = re.findall(r'class="curve curve-([a-z-]+)"', chart)
        assert drawn == ["eight-of-ten", "five-in-a-row", "now"]
        assert not re.search(r">[^<]*[A-Za-z]", chart)
    tried = get(client, cast.petra, f"{WALKOVER}?certainty=90").text
    assert tried.count('class="curve curve-tried"') == 3


def test_it_says_how_exactly_the_chances_are_known(cast, client):
    words = text_of(get(client, cast.petra, WALKOVER))
    assert "Worked out with 1,000 invented children for every point" in words
    assert "the standard error of a chance is at most 1.6 in 100" in words


def test_a_question_that_was_worked_out_is_kept(cast, client, monkeypatch):
    assert get(client, cast.petra, WALKOVER).status_code == 200
    for name in ("opens_by_luck", "signalled_within", "certainty_for"):
        monkeypatch.setattr(luck, name, lambda *_, **__: pytest.fail("worked out again"))
    assert get(client, cast.petra, WALKOVER).status_code == 200


# --- other values ---------------------------------------------------------------------------


def test_the_values_as_they_are_are_no_trial(cast, client):
    html = get(client, cast.petra, f"{WALKOVER}?rate=80&certainty=80.0&days=4&turns=5").text
    assert "What these values would do" not in html
    assert "/gates/save/" not in html


def test_a_looser_gate_is_warned_of_with_both_chances_and_the_children(cast, client, mai):
    load_with(certainty=0.99)
    answer = get(client, cast.petra, f"{WALKOVER}?certainty=60")
    words = text_of(answer)
    assert answer.status_code == 200
    assert "This lets more through by luck: of children who are clean six times in ten," in words
    assert "Sure 99 % 60 %" in words
    assert "something would change for 1 child from 5 Mar 2026 on" in words
    assert "Would come up for review: 1 Mai Back walkover, unspotted" in words
    assert "It counts from 5 Mar 2026, in every hall" in words
    assert LadderVersion.objects.count() == 2


def load_with(**other):
    """Another version, in force today."""
    content = LadderVersion.objects.get().content
    gate_at(content, "4.back-walkover").row.update(other)
    return load(content, now=LATER, from_day=TODAY, reason="a trial")


def test_a_tighter_gate_says_who_waits_longer(cast, client, mai):
    words = text_of(get(client, cast.petra, f"{WALKOVER}?certainty=99"))
    assert "This lets less through by luck" in words
    assert "Children who are clean nine times in ten wait longer" in words
    assert "Would no longer be for review: 1 Mai" in words
    assert "Nobody would fall to re-check." in words


def test_who_would_fall_to_re_check_stands_before_the_button(cast, client, mai, log):
    recommend(mai, cast.omar)
    sign(mai, cast.petra)
    weeks = [TODAY + datetime.timedelta(weeks=number) for number in (1, 2)]
    log(mai, "back-walkover", "1110", day=weeks[0], support=0, surface=MAT)
    log(mai, "back-walkover", "1101", day=weeks[1], support=0, surface=MAT)
    with time_machine.travel(LATER + datetime.timedelta(weeks=2), tick=False):
        words = text_of(get(client, cast.petra, f"{WALKOVER}?rate=95"))
    assert "1 child would fall to re-check." in words
    fall, save = words.index("Would fall to re-check: 1"), words.index("Save as a new version")
    assert fall < words.index("Mai Back walkover, unspotted", fall) < save


def test_children_of_another_location_are_counted_and_not_named(cast, client, mai):
    html = get(client, cast.dora, f"{WALKOVER}?certainty=99").text
    assert "1 more at locations you do not see" in html
    assert "Mai " not in html
    assert str(mai.uuid) not in html


def test_a_certainty_can_be_asked_for_by_how_seldom_luck_shall_open(cast, client):
    query = "how=luck&one_in=20&stays=70"
    page = get(client, cast.petra, f"{WALKOVER}?{query}")
    carried = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', page.text))
    sure = float(carried["certainty"]) / 100
    assert "how" not in carried

    def opens(certainty):
        rule = CleanRule(0.8, certainty, 4, 12)
        curve = opens_by_luck([rule], Decay(), [0.7], Classes(1, 3), runs=4000)[0]
        return curve.chances[0][0]

    assert opens(sure) <= 1 / 20 < opens(sure - 0.01)


def test_luck_never_asks_for_less_than_the_ladder_allows(cast):
    gate = gate_at(Ladders().newest.content, "practice")
    form = GateForm(gate, Ladders().newest, {"how": "luck", "one_in": "2", "stays": "30"})
    assert form.is_valid()
    assert form.values()["certainty"] == 0.6


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("how=luck&stays=80", "This must be less than the rate that the gate asks for."),
        (
            "how=luck&rate=50&stays=49&one_in=200&turns=12&a_week=3",
            "Not even 99 % sure makes it so seldom.",
        ),
        ("rate=49", "Ensure this value is greater than or equal to 50."),
        ("rate=96", "Ensure this value is less than or equal to 95."),
        ("certainty=100", "Ensure this value is less than or equal to 99.9999."),
        ("certainty=NaN", "Write a number such as 7 or 7.5."),
        ("days=0", "Ensure this value is greater than or equal to 1."),
        ("clean=2.5", "Write a whole number such as 7."),
        ("fresh=", "This field is required."),
    ],
)
def test_a_wrong_value_is_said_at_its_field_and_nothing_is_tried(cast, client, query, said):
    answer = get(client, cast.petra, f"{WALKOVER}?{query}")
    assert answer.status_code == 422
    assert said in answer.text
    assert "What these values would do" not in answer.text


def test_values_for_which_the_ladder_would_be_refused_are_named_with_every_fault(cast, client):
    answer = get(client, cast.petra, f"{WALKOVER}?rate=60&certainty=50&days=13")
    assert answer.status_code == 422
    words = text_of(answer)
    assert "gate 4.back-walkover Rate and certainty together must be at least 1.2." in words
    assert "gate 4.back-walkover So many days need at least as many clean turns." in words
    assert "/gates/save/" not in answer.text


def test_a_hold_a_stop_sign_and_a_count_can_be_tried_as_well(cast, client, log):
    for days in (1, 0):
        day = TODAY - datetime.timedelta(days=days)
        log(cast.mai, "hollow-hold", [16.0], day=day, support=0)
    words = text_of(get(client, cast.petra, "/gates/2.hollow-hold?at_least=30"))
    assert "At least 15 30" in words
    assert "Bridge and kick-over: score" in words
    assert "true clean rate" not in words
    assert "Clean turns 12 20" in text_of(get(client, cast.petra, "/gates/4.clear?clean=20"))
    assert "Clean turns 3 5" in text_of(get(client, cast.petra, "/gates/2.safe-fall?clean=5"))


# --- saving --------------------------------------------------------------------------------


def sent(html, **more):
    """The form that saves, as it stands on a page."""
    part = re.search(r'<form[^>]*action="/gates/save/.*?</form>', html, re.S).group()
    fields = dict(re.findall(r'name="(\w+)"[^>]*?value="([^"]*)"', part))
    return {**fields, **more}


@pytest.fixture
def trial(cast, client):
    return get(client, cast.petra, f"{WALKOVER}?certainty=90&days=5").text


def test_what_was_tried_is_saved_with_its_reason_and_listed(cast, client, trial):
    answer = client.post(SAVE, sent(trial, reason="Two went too soon"))
    assert (answer.status_code, answer["Location"]) == (302, "/gates/versions#version-2")
    version = LadderVersion.objects.get(number=2)
    row = gate_at(version.content, "4.back-walkover").row
    assert (row["certainty"], row["days"], row["rate"]) == (0.9, 5, 0.8)
    assert version.from_day == TODAY + datetime.timedelta(days=1)
    words = text_of(client.get("/gates/versions"))
    assert (
        "2 5 Mar 2026 Petra 4 Mar 2026 Two went too soon Stage 4: Back walkover, unspotted. "
        "Back walkover: steady at standing by or less (sure 80 % → 90 %; days 4 → 5)"
    ) in words
    assert "1 1 Jan 2020 from a file 1 Jan 2020 none given The first version." in words
    assert "version 2 of the ladder, from 5 Mar 2026" in text_of(client.get("/gates"))
    assert "until then the one before it does" in text_of(client.get("/gates"))


def test_an_older_version_can_still_be_read(cast, client, trial):
    client.post(SAVE, sent(trial, reason="Two went too soon"))
    old = client.get("/gates?version=1")
    assert "80 % sure of clean at least 4 times in 5; 12 clean turns on 4 days" in text_of(old)
    assert f'href="{WALKOVER}' not in old.text
    assert "90 % sure of clean at least 4 times in 5; 12 clean turns on 5 days" in text_of(
        client.get("/gates?version=2")
    )


def test_a_form_sent_twice_saves_once(cast, client, trial):
    form = sent(trial, reason="Two went too soon")
    first, second = client.post(SAVE, form), client.post(SAVE, form)
    assert first["Location"] == second["Location"]
    assert LadderVersion.objects.count() == 2


def refused(answer, status, said):
    assert answer.status_code == status
    assert said in text_of(answer)
    assert LadderVersion.objects.count() == 1
    return answer.text


def test_without_a_reason_nothing_is_saved_and_the_page_can_be_sent_again(cast, client, trial):
    for reason in ("", "   "):
        html = refused(client.post(SAVE, sent(trial, reason=reason)), 422, "Write a reason")
        assert "Nothing was saved." in html
    assert client.post(SAVE, sent(html, reason="Now with one")).status_code == 302


def test_other_values_than_were_shown_are_not_saved(cast, client, trial):
    answer = client.post(SAVE, sent(trial, reason="x", certainty="50"))
    html = refused(answer, 409, "These are not the values that were shown.")
    assert "Sure 80 % 50 %" in text_of(answer)
    assert client.post(SAVE, sent(html, reason="Looked again")).status_code == 302


def test_a_version_saved_meanwhile_is_told_of_with_who_and_nothing_is_lost(cast, client, trial):
    other = get(client, cast.luis, f"{WALKOVER}?fresh=21").text
    assert client.post(SAVE, sent(other, reason="Fresher")).status_code == 302
    client.force_login(cast.petra)
    answer = client.post(SAVE, sent(trial, reason="Two went too soon"))
    assert answer.status_code == 409
    assert "Luis saved version 2 of the ladder since this page was drawn." in text_of(answer)
    assert LadderVersion.objects.count() == 2
    assert "Two went too soon</textarea>" in answer.text
    assert "Newest at most days old 21 28" in text_of(answer)
    again = client.post(SAVE, sent(answer.text, reason="Looked again"))
    # It would take back what Luis asked for: a second director has to say yes.
    assert again["Location"] == "/gates/waiting"


def test_values_out_of_bounds_are_not_saved(cast, client, trial):
    form = sent(trial, reason="x")
    refused(client.post(SAVE, form | {"rate": "20"}), 422, "Nothing was saved.")
    said = "Rate and certainty together must be at least 1.2."
    answer = client.post(SAVE, form | {"rate": "50", "certainty": "50"})
    assert answer.status_code in (409, 422)
    assert said in text_of(answer)
    assert LadderVersion.objects.count() == 1


def test_a_form_made_up_elsewhere_is_refused(cast, client, trial):
    form = sent(trial, reason="x")
    for wrong in ({"token": "x"}, {"base": ""}, {"tried": ""}, {"base": "-1"}):
        refused(client.post(SAVE, form | wrong), 422, "Nothing was saved.")
    assert client.post("/gates/save/4.nothing", form).status_code == 404
    assert client.post(SAVE, form | {"token": str(uuid.uuid4()), "base": "7"}).status_code == 409


def test_the_form_that_saves_carries_the_token_that_is_checked(cast, mai):
    strict = Client(enforce_csrf_checks=True)
    html = get(strict, cast.petra, f"{WALKOVER}?certainty=90").text
    assert strict.post(SAVE, sent(html, reason="x", csrfmiddlewaretoken="")).status_code == 403
    assert strict.post(SAVE, sent(html, reason="x")).status_code == 302


def test_only_a_director_saves(cast, client, trial):
    form = sent(trial, reason="x")
    for who in (cast.omar, cast.tam):
        client.force_login(who)
        assert client.post(SAVE, form).status_code == 403
    assert LadderVersion.objects.count() == 1


# --- versions ------------------------------------------------------------------------------


def test_what_another_version_changed_beside_its_gates_is_named(cast, client):
    content = LadderVersion.objects.get().content
    content["practice"]["certainty"] = 0.92
    content["arithmetic"]["memory_days"] = 10
    gates = content["stage"][3]["gate"]
    gates[:] = [gate for gate in gates if gate["code"] != "4.bridge-line"]
    load(content, now=LATER, from_day=TODAY)
    words = text_of(get(client, cast.petra, "/gates/versions"))
    assert "Inside every stage. Practice: steady inside a stage (sure 90 % → 92 %)" in words
    assert "Gone: Stage 4: Back walkover, unspotted. Bridge line: grade 2" in words
    assert "Changed as well: how evidence fades." in words


def test_the_versions_are_read_by_a_fixed_number_of_queries(cast, client):
    def queries():
        with CaptureQueriesContext(connection) as caught:
            assert client.get("/gates/versions").status_code == 200
        return len(caught)

    load_with(certainty=0.81)
    get(client, cast.petra, "/gates/versions")
    few = queries()
    first = LadderVersion.objects.get(number=1)
    LadderVersion.objects.bulk_create(
        LadderVersion(
            number=number,
            content=first.content,
            digest=str(number),
            from_day=TODAY,
            loaded_at=LATER,
            loaded_by=cast.luis,
            reason="one of many",
        )
        for number in range(3, 21)
    )
    assert queries() == few


def test_the_children_are_read_by_a_fixed_number_of_queries(cast, client, mai, log):
    def queries():
        with CaptureQueriesContext(connection) as caught:
            assert client.get(f"{WALKOVER}?certainty=99").status_code == 200
        return len(caught)

    get(client, cast.petra, WALKOVER)
    few = queries()
    for child in (cast.ilse, cast.rosa):
        place_at(cast, child, 3, TODAY - datetime.timedelta(weeks=3))
        log(child, "back-walkover", "11", support=1, surface=MAT)
    assert queries() == few


# --- words ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (0.0, "under 1 %"),
        (0.0099, "under 1 %"),
        (0.01, "1 % (about 1 in 100)"),
        (0.0259, "2 % (about 1 in 38)"),
        (0.399, "39 % (about 1 in 2)"),
        (0.4, "40 % (about 4 in 10)"),
        (0.989, "98 % (about 9 in 10)"),
        (0.99, "99 % or more"),
        (1.0, "99 % or more"),
    ],
)
def test_a_chance_is_said_in_per_cent_rounded_down_and_as_one_in_so_many(share, said):
    assert " ".join(gate_words.chance(share).split()) == said


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (0.0099, "fewer than 1 in 100 children"),
        (0.01, "about 1 in 100 children"),
        (0.0499, "about 1 in 20 children"),
        (0.4, "about 4 in 10 children"),
        (0.989, "about 9 in 10 children"),
        (0.99, "nearly all children"),
    ],
)
def test_in_a_sentence_a_chance_is_said_as_so_many_children(share, said):
    assert gate_words.children(share) == said


def test_an_error_is_rounded_up():
    assert gate_words.error_words(0.0151) == "1.6"
    assert gate_words.error_words(0.015) == "1.5"

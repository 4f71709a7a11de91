"""Logs that look too good: what directors are told of their colleagues' logs."""

import datetime
import re
from collections import defaultdict

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from scipy.stats import fisher_exact

from progression.models import Attempt
from tests.support.cast import NOW, TODAY, make_child, make_staff
from tests.support.pages import get, text_of
from tests.support.ready import MAT, place_at

WEEKS = [TODAY - datetime.timedelta(weeks=back) for back in range(1, 7)]
NOTHING = "no log stands out among the others"


@pytest.fixture(autouse=True)
def _frozen():
    with time_machine.travel(NOW + datetime.timedelta(hours=2), tick=False):
        yield


def log_of(client, who):
    return text_of(get(client, who, "/review/logs"))


@pytest.fixture
def only_clean(cast, log):
    """Omar's log has clean turns alone, Ines' one in four that is not."""
    place_at(cast, cast.mai, 3, TODAY - datetime.timedelta(weeks=10))
    for day in WEEKS:
        log(cast.mai, "back-walkover", "111111", day=day, support=2, surface=MAT)
        log(cast.mai, "back-walkover", "11101110", day=day, support=2, surface=MAT, by=cast.ines)


def test_a_log_of_clean_turns_only_is_told_with_its_numbers(cast, client, only_clean):
    words = log_of(client, cast.petra)
    assert "Omar 36 turns since 21 Jan 2026, all of them clean." in words
    assert "By what the others log at the same drills, about 9 would not be clean." in words
    assert "Worth a talk, and no reproach" in words
    assert "Ines" not in words


def test_the_numbers_are_those_of_the_log_and_of_the_test(cast, client, only_clean):
    """Counted again from the turns; the chance by scipy's Fisher test."""
    words = log_of(client, cast.petra)
    said = re.search(r"Omar (\d+) turns .* about (\d+) would", words)
    counted = defaultdict(lambda: [0, 0])
    for turn in Attempt.objects.select_related("author"):
        counted[turn.author.called][0 if turn.clean else 1] += 1
    (clean, missed), (others_clean, others_missed) = counted["Omar"], counted["Ines"]
    assert int(said.group(1)) == clean + missed
    share = others_missed / (others_clean + others_missed)
    assert int(said.group(2)) == round(share * (clean + missed))
    table = [[missed, clean], [others_missed, others_clean]]
    assert fisher_exact(table, alternative="less").pvalue < 0.01 / len(counted)


def test_a_log_like_the_others_is_not_told(cast, client, log):
    for day in WEEKS:
        for by in (cast.omar, cast.ines):
            log(cast.mai, "back-walkover", "111011", day=day, support=2, surface=MAT, by=by)
    assert NOTHING in log_of(client, cast.petra)


def test_turns_older_than_a_term_are_not_looked_at(cast, client, log):
    day = TODAY - datetime.timedelta(days=85)
    log(cast.mai, "back-walkover", "1" * 40, day=day, support=2, surface=MAT)
    log(cast.mai, "back-walkover", "10" * 20, day=day, support=2, surface=MAT, by=cast.ines)
    assert NOTHING in log_of(client, cast.petra)


def test_only_some_of_the_first_three_turns_is_told(cast, client, log):
    children = [make_child(f"Child{number} Test", cast.blue) for number in range(4)]
    for day in WEEKS:
        for child in children:
            log(child, "kick-to-handstand", "11", day=day, support=1)
            log(child, "back-walkover", "111", day=day, support=2, surface=MAT, by=cast.ines)
    words = log_of(client, cast.petra)
    assert (
        "Omar Fewer than 3 turns of a child at a drill on 24 of 24 evenings since 21 Jan 2026. "
        "With the others it is 0 of 24." in words
    )
    short = defaultdict(int)
    for turn in Attempt.objects.filter(author=cast.omar):
        short[turn.child_id, turn.drill_id, turn.day] += 1
    assert sum(turns < 3 for turns in short.values()) == len(short) == 24


# --- who may see it ----------------------------------------------------------------------


def test_it_is_for_directors_alone(cast, client, only_clean):
    assert get(client, cast.omar, "/review/logs").status_code == 403
    assert get(client, cast.tam, "/review/logs").status_code == 403
    assert "Logs that look too good" not in text_of(get(client, cast.omar, "/review"))
    assert 'href="/review/logs"' in get(client, cast.petra, "/review").content.decode()


def test_another_hall_s_director_sees_nothing_of_it(cast, client, only_clean):
    words = log_of(client, cast.dora)
    assert "Omar" not in words
    assert NOTHING in words


def test_staff_of_another_hall_who_stood_in_are_compared_with_and_not_shown(cast, client, log):
    greta = make_staff("Greta", "coach", cast.other_hall)
    for day in WEEKS:
        log(cast.mai, "back-walkover", "111111", day=day, support=2, surface=MAT, by=greta)
        log(cast.mai, "back-walkover", "11101110", day=day, support=2, surface=MAT)
    words = log_of(client, cast.petra)
    assert "Greta" not in words
    assert NOTHING in words
    greta.locations.add(cast.hall)
    assert "Greta 36 turns" in log_of(client, cast.petra)


def test_it_asks_as_often_for_two_children_as_for_twenty(cast, client, log, only_clean):
    client.force_login(cast.petra)

    def queries():
        with CaptureQueriesContext(connection) as captured:
            assert client.get("/review/logs").status_code == 200
        return len(captured)

    queries()
    few = queries()
    for number in range(18):
        child = make_child(f"Child{number} Test", cast.blue)
        log(child, "back-walkover", "11", day=WEEKS[0], support=2, surface=MAT)
    assert queries() == few

"""How alike the studio grades: numbers, a plain word, and what the evidence page says of it."""

import datetime

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from readiness.eyes.agreement import LEAST_PAIRS, agreement_of, weak_among
from readiness.eyes.words import agreement_text, same_text, talk_text
from readiness.models import SecondGrade
from tests.support.cast import NOW
from tests.support.pages import text_of

# Two ratings of 85 things with four grades, Altman, *Practical Statistics for Medical Research*,
# 1991 (as in the course STAT 509 of Penn State): quadratic kappa .6714 (Stata's manual, from
# memory), .5379 to .8049 (statsmodels).
ALTMAN = [[21, 12, 0, 0], [4, 17, 1, 0], [3, 9, 15, 2], [0, 0, 0, 1]]
# Two skin ratings of 88, SAS FREQ manual: .6607, .5399 to .7815.
SKIN = [[10, 4, 1, 0], [5, 10, 12, 2], [2, 4, 12, 5], [0, 2, 6, 13]]


def pairs(table):
    return [
        (one, other)
        for one, row in enumerate(table)
        for other, times in enumerate(row)
        for _ in range(times)
    ]


@pytest.mark.parametrize(
    ("table", "kappa", "interval", "same"),
    [(ALTMAN, 0.671371, (0.5379, 0.8049), 54), (SKIN, 0.660723, (0.5399, 0.7815), 45)],
)
def test_published_tables_are_read_as_published(table, kappa, interval, same):
    one = agreement_of("sit-depth", pairs(table))
    assert one.kappa.kappa == pytest.approx(kappa, abs=5e-7)
    assert one.kappa.interval == pytest.approx(interval, abs=5e-5)
    assert (one.same, one.word) == (same, "good")
    assert one.first == tuple(sum(row) for row in table)
    assert one.second == tuple(sum(column) for column in zip(*table, strict=True))


@pytest.mark.parametrize(
    ("table", "kappa", "word"),
    [([[40, 9], [6, 45]], 0.6995, "good"), ([[80, 10], [5, 5]], 0.3182, "weak")],
)
def test_as_much_plain_agreement_can_be_little_beyond_chance(table, kappa, word):
    """Feinstein & Cicchetti, *J Clin Epidemiol* 1990;43:543: .85 agree in both. So the plain
    agreement and the margins stand beside it."""
    one = agreement_of("sit-depth", pairs(table))
    assert one.same / one.pairs == pytest.approx(0.85)
    assert one.kappa.kappa == pytest.approx(kappa, abs=5e-5)
    assert one.word == word
    assert f"85 of {one.pairs} turns were graded alike." == same_text(one)


def test_under_32_pairs_there_is_no_number_and_it_says_so():
    """Twice the square of four grades: Cicchetti, *Appl Psychol Meas* 1981;5:101."""
    assert LEAST_PAIRS == 32
    few = agreement_of("sit-depth", [(0, 3), (3, 0)] * 15 + [(1, 1)])
    assert (few.word, few.kappa) == ("too-few", None)
    assert agreement_text(few) == "Agreement: too few to tell. 1 more pair is needed."
    enough = agreement_of("sit-depth", [(0, 3), (3, 0)] * 16)
    assert enough.word == "weak"


def test_what_differs_most_is_what_to_talk_about():
    one = agreement_of("sit-depth", [(2, 3), (3, 2), (3, 2), (1, 2), (2, 2)])
    assert one.differ == (2, 3, 3)
    assert talk_text(one) == "To talk about: 2 or 3? 3 turns were given both."
    assert talk_text(agreement_of("sit-depth", [(2, 2)])) == ""


@pytest.mark.parametrize(
    ("pairs", "word"),
    [([(1, 1)] * 40, "all-alike"), ([(1, 0), (1, 1), (1, 2), (1, 3)] * 10, "one-sided")],
)
def test_one_grade_throughout_says_nothing(pairs, word):
    one = agreement_of("sit-depth", pairs)
    assert one.word == word
    assert "cannot be said" in agreement_text(one)


def graded_twice(log, cast, drill, *grades):
    """Omar's grades of Mai's turns, and Petra's beside them."""
    day = NOW.date() - datetime.timedelta(days=7)
    turns = log(cast.mai, drill, [float(first) for first, _ in grades], day=day)
    SecondGrade.objects.bulk_create(
        SecondGrade(attempt=turn, by=cast.petra, value=second, at=NOW)
        for turn, (_, second) in zip(turns, grades, strict=True)
    )


@pytest.mark.parametrize(
    ("count", "said"), [(16, True), (15, False)], ids=["enough pairs", "too few"]
)
def test_a_gate_that_rests_on_weak_grades_says_so(client, cast, log, count, said):
    graded_twice(log, cast, "sit-depth", *[(1, 3), (3, 1)] * count)
    client.force_login(cast.petra)
    with time_machine.travel(NOW, tick=False):
        text = text_of(client.get(f"/children/{cast.mai.uuid}/evidence/6"))
        assert ("Two people often grade this differently: The sit, hands held." in text) is said
        elsewhere = text_of(client.get(f"/children/{cast.mai.uuid}/evidence/3"))
    assert "Two people often grade this differently" not in elsewhere


def test_good_agreement_says_nothing_on_the_evidence_page(cast, log):
    graded_twice(log, cast, "sit-depth", *[(1, 1), (3, 3), (2, 3)] * 12)
    assert weak_among(["sit-depth", "bridge-line"]) == []


def test_the_page_shows_drills_and_no_person(client, cast, log):
    graded_twice(log, cast, "sit-depth", *[(2, 3)] * 3, (2, 2))
    client.force_login(cast.luis)
    with time_machine.travel(NOW, tick=False):
        page = client.get("/eyes/agreement")
    text = text_of(page)
    assert "Agreement: too few to tell. 28 more pairs are needed." in text
    assert "1 of 4 turns were graded alike." in text
    assert "To talk about: 2 or 3? 3 turns were given both." in text
    assert "Omar" not in text
    assert "Petra" not in text
    assert "Mai" not in text


def test_many_pairs_take_no_more_queries(client, cast, log):
    client.force_login(cast.petra)
    counted = []
    with time_machine.travel(NOW, tick=False):
        for count in (2, 20):
            graded_twice(log, cast, "sit-depth", *[(2, 3)] * count)
            client.get("/eyes/agreement")
            with CaptureQueriesContext(connection) as queries:
                client.get("/eyes/agreement")
            counted.append(len(queries))
    assert counted[0] == counted[1]

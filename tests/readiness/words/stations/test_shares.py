"""Why so many held turns tonight: each sentence against the share it is made of."""

import random
from dataclasses import replace

import pytest
from django.utils.translation import override

from readiness.engine.stations.shares import HeldChild, Share, share
from readiness.words.stations.shares import share_text, turns_word

HELD = HeldChild(1, 0.714, 0.8, missing_days=2, earlier=(3, 2, 4), days_since=7)
NUMBERS = ["none", "one", "two", "three", "four", "five", "six"]


def text(turns, why, name="Maren", **facts):
    return share_text(name, Share(replace(HELD, **facts), turns, why))


@pytest.mark.parametrize(
    ("turns", "why", "facts", "said"),
    [
        (
            6,
            "sureness",
            {"good_evenings": 2},
            "six: two good evenings could bring Maren to review.",
        ),
        (
            5,
            "sureness",
            {"good_evenings": 1},
            "five: one good evening could bring Maren to review.",
        ),
        (6, "sureness", {}, "six: the record is 71 % sure, of 80 % asked."),
        (
            4,
            "sureness",
            {"sureness": 0.85},
            "four: sure enough; two days with clean turns are missing.",
        ),
        (
            4,
            "sureness",
            {"sureness": 0.8, "missing_days": 1},
            "four: sure enough; a day with clean turns is missing.",
        ),
        (
            4,
            "sureness",
            {"sureness": 0.9, "missing_days": 0},
            "four: sure enough; clean turns are missing.",
        ),
        (2, "learning", {}, "two: for learning; four last week."),
        (2, "learning", {"days_since": 14}, "two: for learning; four last time."),
        (2, "learning", {"days_since": None}, "two: for learning; four last time."),
        (2, "learning", {"earlier": ()}, "two: for learning; no held turns on an evening before."),
        (
            3,
            "few-lately",
            {"earlier": ()},
            "three: for learning; no held turns on an evening before.",
        ),
        (
            3,
            "few-lately",
            {"earlier": (2, 2)},
            "three: few turns on the last evenings, two last week.",
        ),
        (
            3,
            "few-lately",
            {"earlier": (2, 2), "days_since": 3},
            "three: few turns on the last evenings, two last time.",
        ),
        (3, "fewest-last", {"earlier": (2,)}, "three: had the fewest last week, two."),
        (
            3,
            "fewest-last",
            {"earlier": (2,), "days_since": 21},
            "three: had the fewest last time, two.",
        ),
        (1, "too-few", {}, "one: not enough turns tonight for two each."),
        (0, "too-few", {"earlier": ()}, "none: not enough turns tonight for two each."),
    ],
)
def test_each_sentence(turns, why, facts, said):
    assert text(turns, why, **facts) == f"Maren {said}"


def test_numbers_beyond_six_are_figures():
    assert [turns_word(number) for number in range(7)] == NUMBERS
    assert text(2, "learning", earlier=(7,)).endswith("7 last week.")


def drawn(draw, number):
    return HeldChild(
        child=number,
        sureness=draw.choice([None, 0.1, 0.5, 0.79, 0.8, 0.95]),
        certainty=draw.choice([0.8, 0.9]),
        missing_days=draw.randrange(4),
        earlier=tuple(draw.choices(range(7), k=draw.randrange(5))),
        had_fewest=draw.random() < 0.3,
        days_since=draw.choice([None, 3, 7, 14]),
        good_evenings=draw.choice([None, None, 1, 3]),
    )


def true_of(each, said):
    """What the sentence claims, looked up in the share."""
    held, before = each.held, each.held.earlier
    claims = {
        "to review": held.good_evenings is not None and each.why == "sureness",
        "one good evening": held.good_evenings == 1,
        "last week": held.days_since == 7 and bool(before),
        "last time": held.days_since != 7 and bool(before),
        "no held turns": not before,
        "sure enough": held.sureness is not None and held.sureness >= held.certainty,
        "% sure": held.sureness is not None and held.sureness < held.certainty,
        "few turns": bool(before) and sum(before[-4:]) < 2.5 * len(before[-4:]),
        "had the fewest": held.had_fewest,
        "not enough turns": each.turns < 2,
        "four last": before[-1:] == (4,),
        "two last": before[-1:] == (2,),
    }
    return [claim for claim, so in claims.items() if claim in said and not so]


def test_every_sentence_is_true_of_its_share():
    draw, seen = random.Random(1), set()
    for _ in range(400):
        here = [drawn(draw, number) for number in range(draw.randrange(1, 14))]
        for each in share(here, draw.randrange(60)):
            if each.why == "fewest-last" and not each.held.earlier:
                continue
            said = share_text("Edda", each)
            seen.add(each.why)
            assert true_of(each, said) == []
            assert said.startswith(f"Edda {NUMBERS[each.turns]}: ")
            assert said.endswith(".")
    assert seen == {"too-few", "learning", "fewest-last", "few-lately", "sureness"}


def test_the_chance_is_never_said_and_no_child_is_called_safe():
    for why in ("too-few", "learning", "fewest-last", "few-lately", "sureness"):
        said = text(3, why).lower()
        assert "chance" not in said
        assert "safe" not in said


def test_a_name_is_written_as_it_is():
    with override("en"):
        assert text(2, "learning", name="Ada 100%").startswith("Ada 100% two: ")

"""The drawings of state, support, sureness and turns, and the words they carry."""

import re

import pytest
from django.template import Context, Template
from django.utils import translation

from studio.templatetags.marks import STATE_BARS, STATE_WORDS, TURNS_DRAWN, percent


def drawn(tag: str, **context: object) -> str:
    return Template("{% load marks %}{% " + tag + " %}").render(Context(context))


def beam_width(html: str) -> str:
    return re.search(r'class="beam-fill"[^>]* width="([^"]*)"', html).group(1)


@pytest.mark.parametrize(
    ("state", "word"),
    [
        ("closed", "closed"),
        ("for-review", "for review"),
        ("open", "open"),
        ("re-check", "re-check"),
        ("paused", "paused"),
    ],
)
def test_a_state_is_drawn_with_its_word(state, word):
    html = drawn("gate_mark state", state=state)
    assert f"<span>{word}</span>" in html
    assert f"state-{state}" in html
    assert 'aria-hidden="true"' in html


def test_every_state_has_a_drawing_of_its_own():
    assert STATE_BARS.keys() == STATE_WORDS.keys()
    assert len(set(STATE_BARS.values())) == len(STATE_BARS)


def test_a_sign_is_the_same_drawing_without_the_word():
    html = drawn("gate_sign state", state="paused")
    assert STATE_BARS["paused"] in html
    assert "<span>paused</span>" not in html


@pytest.mark.parametrize("tag", ["gate_mark state", "gate_sign state"])
def test_an_unknown_state_is_an_error_and_not_an_empty_drawing(tag):
    with pytest.raises(KeyError):
        drawn(tag, state="ajar")


@pytest.mark.parametrize(
    ("amount", "filled", "word"),
    [
        (3, 3, "hands-on"),
        (2, 2, "light touch"),
        (1, 1, "standing by"),
        (0, 0, "unspotted"),
        (4, 3, "hands-on"),
        (-1, 0, "unspotted"),
    ],
)
def test_support_is_three_blocks_filled_by_its_amount_with_its_word(amount, filled, word):
    html = drawn("support_blocks amount", amount=amount)
    assert html.count("<rect") == 3
    assert html.count('class="filled"') == filled
    assert f"<span>{word}</span>" in html


@pytest.mark.parametrize(
    ("share", "shown"),
    [
        (0.0, 0),
        (1.0, 100),
        (0.796999, 79),
        (0.799999, 79),
        (0.8, 80),
        # Rounded to six decimals first, as the gates are.
        (0.7999996, 80),
        # 0.29 * 100 is 28.999999999999996 in binary.
        (0.29, 29),
        (0.9999994, 99),
        (-0.2, 0),
        (1.2, 100),
    ],
)
def test_a_percentage_is_rounded_down_and_clamped(share, shown):
    assert percent(share) == shown


def test_a_percentage_of_whole_hundredths_is_never_one_too_low():
    assert [percent(whole / 100) for whole in range(101)] == list(range(101))


def test_a_beam_has_whole_widths_a_notch_and_the_number():
    html = drawn("beam value need", value=0.7134567, need=0.8)
    assert beam_width(html) == "71"
    assert 'd="M80 0V20"' in html
    assert "sure <strong>71 %</strong> of 80" in html


def test_a_beam_says_met_only_when_told_so():
    assert "met" not in drawn("beam 0.88 0.8")
    assert "sure <strong>88 %</strong> met" in drawn("beam 0.88 0.8 met=True")


def test_a_beam_says_on_how_many_turns_the_record_is_so_sure():
    assert "sure <strong>98 %</strong> of 80, 86 turns in 84 days" in drawn(
        "beam 0.98 0.8 turns=86 days=84"
    )
    assert "sure <strong>98 %</strong> met, 1 turn in 84 days<" in drawn(
        "beam 0.98 0.8 met=True turns=1 days=84"
    )


def test_a_beam_beside_its_words_leaves_the_number_out():
    html = drawn("beam 0.5 1 show_number=False")
    assert "beam-words" not in html
    assert 'd="M100 0V20"' in html


def test_an_empty_beam_has_no_filled_part():
    assert "beam-fill" not in drawn("beam 0.004 0.8")


@pytest.mark.parametrize(("score", "width"), [(71, "71"), (100, "100"), (140, "100")])
def test_a_score_fills_its_beam_and_has_no_notch(score, width):
    html = drawn("score_beam score", score=score)
    assert beam_width(html) == width
    assert f"score <strong>{width}</strong>" in html
    assert "beam-notch" not in html


def test_what_is_worked_toward_is_said_in_gates_and_only_drawn_by_the_score():
    html = drawn("toward_beam words 71", words="5 of 7 gates met")
    assert beam_width(html) == "71"
    assert "5 of 7 gates met</span>" in html
    assert ">71<" not in html


def test_turns_are_marks_in_order_and_a_count_in_words():
    html = drawn("turn_marks turns", turns=[True, False, True, True])
    marks = re.findall(r"<svg.*?</svg>", html)
    assert ["filled" in mark for mark in marks] == [True, False, True, True]
    assert "4 turns, 3 clean" in html


def test_one_turn_is_said_in_the_singular():
    assert "1 turn, 0 clean" in drawn("turn_marks turns", turns=[False])


def test_no_turns_leave_nothing():
    assert drawn("turn_marks turns", turns=[]).strip() == ""


def test_more_turns_than_fit_are_told_as_a_number():
    html = drawn("turn_marks turns", turns=[False] * 3 + [True] * TURNS_DRAWN)
    assert html.count("<svg") == TURNS_DRAWN
    assert "+3" in html
    assert "23 turns, 20 clean" in html


def test_widths_keep_their_digits_in_a_language_with_other_number_signs(settings):
    settings.USE_THOUSAND_SEPARATOR = True
    with translation.override("de"):
        assert 'width="71"' in drawn("beam 0.71 0.8")


@pytest.mark.parametrize(
    ("tag", "context"),
    [
        ("gate_mark 'closed'", {}),
        ("support_blocks 2", {}),
        ("beam 0.4 0.8", {}),
        ("score_beam 40", {}),
        ("toward_beam '2 of 5 gates met' 40", {}),
        ("turn_marks turns", {"turns": [True]}),
    ],
)
def test_no_drawing_carries_an_inline_style_or_script(tag, context):
    html = drawn(tag, **context)
    assert not re.search(r"\sstyle=|\son\w+=|<style|<script", html)

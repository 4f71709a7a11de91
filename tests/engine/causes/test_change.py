"""Whether a root has become rarer since it was named."""

import pytest
from scipy.integrate import quad
from scipy.stats import beta

from readiness.engine.causes.change import Seen, change
from tests.support.engine.records import LADDER, Story, day

SKILL, SIT, SHAPE = "handspring", "hips-over-feet", "over-arched"


def read(story, number=42):
    return change(story.turns, SKILL, day(number), LADDER)


def missed(story, number, misses, turns):
    story.did(number, SKILL, "0" * misses, support=1, faults=(SIT,))
    return story.did(number, SKILL, "1" * (turns - misses), support=1)


def a_month_of(misses, turns):
    story = Story()
    for number in (7, 14, 21, 28):
        missed(story, number, misses, turns)
    return story


def test_it_is_read_from_turns_that_are_discounted_by_the_days_they_hang_together_on():
    story = missed(missed(a_month_of(3, 5), 35, 1, 4), 42, 0, 4)
    found = read(story)
    assert (found.root, found.since) == ("sit", day(28))
    assert (found.before, found.after) == (Seen(12, 20), Seen(1, 8))
    # Kish: a turn of a day with five counts 1 / 1.4, of a day with four 1 / 1.3. Three kinds.
    earlier, later = beta(1 + 12 / 1.4, 2 + 8 / 1.4), beta(1 + 1 / 1.3, 2 + 7 / 1.3)
    expected, _ = quad(lambda x: earlier.pdf(x) * later.cdf(x), 0, 1)
    assert found.chance == pytest.approx(expected, abs=1e-9)


def test_shrunk_is_said_from_95_in_100_on():
    assert read(missed(missed(a_month_of(4, 5), 35, 0, 6), 42, 0, 6)).code == "fewer"
    assert read(missed(a_month_of(3, 5), 42, 1, 4)).code == "too-few-turns"
    assert read(missed(missed(a_month_of(2, 8), 35, 6, 6), 42, 6, 6)).code == "more"


def test_without_a_cause_then_or_a_turn_since_there_is_nothing_to_say():
    assert read(a_month_of(3, 5)) is None
    few = missed(missed(Story(), 28, 1, 5), 42, 0, 5)
    assert read(few) is None


def test_the_day_it_was_named_on_is_before_and_another_root_is_no_miss_of_it():
    story = missed(missed(a_month_of(3, 5), 28, 3, 5), 42, 1, 2)
    story.did(42, SKILL, "0", support=1, faults=(SHAPE,))
    found = read(story)
    assert (found.before.misses, found.after) == (15, Seen(1, 3))

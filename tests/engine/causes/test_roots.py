"""Which root a child's misses come from."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.engine.causes.roots import causes
from readiness.engine.tallies import Turn
from tests.support.engine.records import LADDER, Story, at_noon, day, shuffled

SKILL = "handspring"
# A fault that belongs to the handspring of each root; None where it has none.
SIT, SHAPE, COMMITMENT = "hips-over-feet", "over-arched", "arms-late"


def read(story, number=30):
    return causes(story.turns, SKILL, day(number), LADDER)


def shares(read):
    return {root.key: root.share.share for root in read.roots}


def test_a_miss_counts_by_its_support_and_is_split_over_its_roots():
    story = Story().did(30, SKILL, "0", support=3, faults=(SIT,))
    story.did(30, SKILL, "0", support=2, faults=(SIT, SHAPE))
    story.did(30, SKILL, "0", support=1, faults=(COMMITMENT, "two-bounces"))
    # .5 + .375 the sit, .375 shape, 1 commitment; one for each of six roots.
    assert shares(read(story)) == pytest.approx(
        {"commitment": 2 / 8.25, "sit": 1.875 / 8.25, "shape": 1.375 / 8.25}
    )


def test_it_fades_as_a_clean_gate_does():
    # By half with 8 later days at the skill, clean ones with them, and with 84 of the calendar.
    story = Story().did(0, SKILL, "0", support=1, faults=(SIT,))
    for number in range(7, 63, 7):
        story.did(number, SKILL, "1", support=1)
    story.did(28, SKILL, "0", support=1, faults=(SHAPE,))
    read_then = causes(story.turns, SKILL, day(63), LADDER)
    sit, shape = 2 ** (-8 / 8 - 63 / 84), 2 ** (-4 / 8 - 35 / 84)
    assert shares(read_then) == pytest.approx(
        {"shape": (1 + shape) / (6 + sit + shape), "sit": (1 + sit) / (6 + sit + shape)}
    )


@pytest.mark.parametrize(("number", "misses"), [(83, 1), (84, 0)])
def test_turns_of_84_days_are_read(number, misses):
    story = Story().did(0, SKILL, "0", faults=(SIT,))
    assert read(story, number).misses == misses


def test_clean_turns_other_drills_later_days_and_turns_not_begun_are_no_misses():
    story = Story().did(30, SKILL, "10", faults=(SIT,)).did(31, SKILL, "0", faults=(SIT,))
    story.did(30, "barrel", "0", faults=("turns-in-air",))
    story.did(30, SKILL, "0", faults=("stopped-before",)).did(30, SKILL, "0")
    found = read(story)
    assert (found.turns, found.misses, found.marked) == (3, 2, 1)
    assert [root.key for root in found.roots] == ["sit"]


def test_the_faults_stand_with_their_root_the_most_frequent_first():
    story = Story().did(29, SKILL, "00", faults=("eyes-on-feet",))
    story.did(30, SKILL, "0", faults=(SIT, SHAPE))
    (sit, shape) = read(story).roots
    assert sit.faults == (("eyes-on-feet", 2), (SIT, 1))
    assert shape.faults == ((SHAPE, 1),)


def test_stop_signs_are_told_apart_by_the_rule_of_the_day():
    story = Story().did(29, SKILL, "0", faults=("undercut",)).did(30, SKILL, "00", faults=(SIT,))
    assert read(story).stop_signs == ()
    # The second one of a day, and one that always is.
    story.did(30, SKILL, "00", faults=("undercut",)).did(30, SKILL, "0", faults=("arms-give",))
    assert read(story).stop_signs == (("arms-give", 1), ("undercut", 1))


def test_the_first_root_is_named_only_when_it_is_sure_enough():
    few = Story().did(29, SKILL, "00", support=1, faults=(SIT,))
    few.did(30, SKILL, "0", support=1, faults=(SHAPE,))
    assert read(few).certainty < 0.8
    assert read(few).first is None
    many = Story().did(29, SKILL, "0000", support=1, faults=(SIT,))
    many.did(30, SKILL, "000", support=1, faults=(SIT,))
    assert read(many).certainty >= 0.8
    assert read(many).first.key == "sit"
    assert read(Story()).first is None


def test_a_ladder_with_one_strand_names_none():
    ladder = replace(LADDER, strands=("sit",))
    story = Story().did(30, SKILL, "00000000", support=1, faults=(SIT,))
    assert causes(story.turns, SKILL, day(30), ladder).first is None


@given(
    st.lists(st.tuples(st.integers(0, 30), st.sampled_from([SIT, SHAPE, COMMITMENT])), max_size=25),
    st.randoms(),
)
def test_the_order_of_arrival_does_not_matter_and_more_of_a_root_never_lowers_it(turns, rng):
    story = Story()
    for number, fault in turns:
        story.did(number, SKILL, "0", support=1, faults=(fault,))
    there = read(story)
    assert causes(shuffled(story.turns, rng), SKILL, day(30), LADDER) == there
    before = shares(there).get("sit", 0)
    # On a day that is there already: another day would have the older ones fade.
    number = max((n for n, _ in turns), default=30)
    after = read(story.did(number, SKILL, "0", support=1, faults=(SIT,)))
    assert shares(after)["sit"] > before


# --- invented children: how often is it right? ------------------------------------------

ROOTS = {
    "sit": SIT, "shape": SHAPE, "commitment": COMMITMENT, "support": "shoulders-off",
    "block": "lands-low", "back-line": "drops-in",
}  # fmt: skip
CORRELATION = 0.1
CHILDREN = 400


def named(shares_of_roots, days, a_day):
    """Of so many children: how many had a root named, and of how many it was the first. Misses
    of a day hang together: their shares are drawn for each day (Dirichlet-multinomial, by the
    intraclass correlation, as in Mosimann, Biometrika 1962;49:65-82)."""
    rng = np.random.default_rng(11)
    weights = np.array(shares_of_roots) * (1 - CORRELATION) / CORRELATION
    found = []
    for _ in range(CHILDREN):
        turns = []
        for number in range(0, 7 * days, 7):
            kinds = rng.choice(list(ROOTS), a_day, p=rng.dirichlet(weights))
            turns += [_miss(number, len(turns) + at, ROOTS[kind]) for at, kind in enumerate(kinds)]
        found.append(causes(turns, SKILL, day(7 * (days - 1)), LADDER).first)
    keys = [root.key for root in found if root]
    return len(keys) / CHILDREN, keys.count("sit") / max(1, len(keys))


def _miss(number, count, fault):
    return Turn(
        f"{count:06}", SKILL, "wedge", 1, 1, day(number), at_noon(number, count), True,
        clean=False, faults=(fault,),
    )  # fmt: skip


def test_a_root_with_half_the_misses_is_named_in_half_the_cases_and_hardly_ever_wrongly():
    # 20 misses on four class days in a month: half the sit, a quarter shape.
    share, right = named([1 / 2, 1 / 4, 1 / 16, 1 / 16, 1 / 16, 1 / 16], 4, 5)
    assert share >= 0.5
    assert right >= 0.95


def test_of_roots_that_are_all_alike_hardly_any_is_named():
    share, _ = named([1 / 6] * 6, 4, 5)
    assert share <= 0.08

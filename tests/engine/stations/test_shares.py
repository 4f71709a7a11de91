"""The held turns of an evening: values by hand, and what must hold whoever is here."""

import ast
import random
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.engine.stations import shares
from readiness.engine.stations.shares import HeldChild, had_fewest, in_line, share
from tests.support.engine.profiles import MANY

STEADY = (3, 3, 3, 3)


def child(number, sureness=0.5, earlier=STEADY, **facts):
    return HeldChild(number, sureness, 0.8, earlier=earlier, **facts)


def turns_of(here, turns):
    """By id, in the order of the ids."""
    given_ = {each.held.child: each.turns for each in share(here, turns)}
    return [given_[number] for number in sorted(given_)]


def why_of(here, turns):
    why = {each.held.child: each.why for each in share(here, turns)}
    return [why[number] for number in sorted(why)]


def surer_first(count, **facts):
    """Children 1, 2 ..., each surer than the next and all under .8."""
    return [child(number, 0.79 - number / 100, **facts) for number in range(1, count + 1)]


def next_evening(here, turns):
    """The same children a week later, after they took what they were given."""
    given_ = {each.held.child: each.turns for each in share(here, turns)}
    fewest = had_fewest(given_, {held.child: held.most for held in here})
    return [
        replace(
            held,
            earlier=(*held.earlier, given_[held.child]),
            had_fewest=held.child in fewest,
        )
        for held in here
    ]


# --- by hand ----------------------------------------------------------------------------


def test_twelve_children_and_36_turns_over_three_evenings():
    here = surer_first(12)
    # Two each are 24; of the 12 left the three surest take four each.
    assert turns_of(here, 36) == [6, 6, 6, *[2] * 9]
    assert why_of(here, 36) == [*["sureness"] * 3, *["learning"] * 9]
    # Nine had the fewest: 24 + 9, and three are left for the surest.
    here = next_evening(here, 36)
    assert turns_of(here, 36) == [5, 2, 2, *[3] * 9]
    assert why_of(here, 36) == ["sureness", "learning", "learning", *["fewest-last"] * 9]
    # The second and third had the fewest; of the nine the average is 2.75: 24 + 2, ten are left.
    here = next_evening(here, 36)
    assert turns_of(here, 36) == [6, 6, 6, *[2] * 9]


def test_on_a_first_evening_everybody_has_the_same():
    here = [child(number, 0.2, ()) for number in range(1, 13)]
    assert turns_of(here, 36) == [3] * 12
    assert set(why_of(here, 36)) == {"few-lately"}


@pytest.mark.parametrize(
    ("earlier", "turns"),
    [
        ((2, 3, 2, 2), 3),  # 2.25
        ((2, 3, 2, 3), 2),  # 2.5 is not under 2.5
        ((2, 2), 3),
        ((3, 2), 2),
        ((1, 1, 3, 3, 2, 2), 2),  # of the last four only: 2.5
        ((6, 6, 2, 2, 2, 2), 3),
    ],
)
def test_one_more_under_two_and_a_half_on_average_over_four_evenings(earlier, turns):
    here = [child(1, 0.7), child(2, 0.1, earlier)]
    assert turns_of(here, 8) == [8 - turns, turns]


def test_under_nine_years_four_is_the_most():
    here = [child(1, 0.7, under_nine=True), child(2, 0.6), child(3, 0.5)]
    # 6 + 2 to the first, 4 to the second.
    assert turns_of(here, 13) == [4, 6, 3]
    # More than all may have: nobody has more for it.
    assert turns_of(here, 40) == [4, 6, 6]


def test_who_is_sure_enough_already_comes_after_who_is_not():
    here = [child(1, 0.95), child(2, 0.8), child(3, 0.799999), child(4, 0.1)]
    assert [held.child for held in in_line(here)] == [3, 4, 1, 2]
    assert turns_of(here, 12) == [2, 2, 6, 2]


def test_each_gate_has_its_own_certainty():
    practice = replace(child(2, 0.85), certainty=0.9)
    assert [held.child for held in in_line([child(1, 0.85), practice])] == [2, 1]


def test_among_equals_missing_days_then_turns_in_28_days_then_the_id():
    here = [
        child(1, missing_days=2, turns_28=4),
        child(2, missing_days=1, turns_28=9),
        child(3, missing_days=1, turns_28=5),
        child(4, missing_days=1, turns_28=5),
    ]
    assert [held.child for held in in_line(here)] == [3, 4, 2, 1]


def test_who_lacks_no_evidence_has_two_for_learning_and_is_last_in_line():
    here = [child(1, None), child(2, 0.1), child(3, 0.99)]
    assert turns_of(here, 14) == [2, 6, 6]
    assert why_of(here, 17) == ["learning", "sureness", "sureness"]
    assert turns_of(here, 17) == [5, 6, 6]


def test_too_few_for_two_each_go_first_to_who_was_last():
    here = [child(1), child(2, earlier=(2, 2)), child(3, had_fewest=True), child(4)]
    assert turns_of(here, 6) == [1, 2, 2, 1]
    assert why_of(here, 6) == ["too-few", "learning", "learning", "too-few"]
    assert turns_of(here, 1) == [0, 0, 1, 0]
    assert turns_of(here, 0) == [0, 0, 0, 0]


def test_the_one_more_goes_first_to_who_had_the_fewest():
    here = [child(1, 0.7, (2, 2)), child(2, 0.6), child(3, 0.1, (3, 4), had_fewest=True)]
    assert turns_of(here, 7) == [2, 2, 3]
    assert turns_of(here, 8) == [3, 2, 3]


def test_where_all_others_have_more_one_of_them_pays():
    # 8 + 1, of the 11 left 4, 4 and 3: 6, 6, 5 and 3. The third is nearest to the fewest: of its
    # two turns one lifts the fourth, and the other is next in line.
    here = [*surer_first(3), child(4, 0.1, had_fewest=True)]
    assert turns_of(here, 20) == [6, 6, 3, 5]
    assert why_of(here, 20) == ["sureness", "sureness", "sureness", "sureness"]
    # 10 + 3, 4 and 4: 6, 6, 3, 3, 3. Three turns of the second lift three.
    late = [child(number, 0.1, had_fewest=True) for number in (3, 4, 5)]
    assert turns_of(surer_first(2) + late, 21) == [6, 3, 4, 4, 4]
    assert why_of(surer_first(2) + late, 21)[2:] == ["fewest-last"] * 3
    # The second is left with its one more, and no longer says what it had of the rest.
    few = [child(1, 0.7), child(2, 0.6, (2, 2)), *late]
    assert turns_of(few, 21) == [6, 3, 4, 4, 4]
    assert why_of(few, 21)[:2] == ["sureness", "few-lately"]
    # With less left the second has the fewest after its one more: the first pays for all three.
    assert turns_of(few, 18) == [3, 3, 4, 4, 4]


def test_who_had_all_that_is_allowed_was_not_short():
    assert had_fewest({1: 4, 2: 4, 3: 6}, {1: 4, 2: 6, 3: 6}) == {2}
    assert had_fewest({1: 3, 2: 3}, {1: 6, 2: 6}) == set()
    assert had_fewest({}, {}) == set()


def test_nobody_is_here():
    assert share([], 36) == []


@pytest.mark.parametrize(("here", "turns"), [([child(1)], -1), ([child(1), child(1, 0.3)], 12)])
def test_nonsense_is_refused(here, turns):
    with pytest.raises(ValueError, match="turns for"):
        share(here, turns)


# --- whoever is here ----------------------------------------------------------------------


@st.composite
def held(draw, number):
    return HeldChild(
        child=number,
        sureness=draw(st.none() | st.sampled_from([0.1, 0.5, 0.79, 0.8, 0.95])),
        certainty=draw(st.sampled_from([0.8, 0.9])),
        missing_days=draw(st.integers(0, 4)),
        turns_28=draw(st.integers(0, 24)),
        earlier=tuple(draw(st.lists(st.integers(0, 6), max_size=6))),
        had_fewest=draw(st.booleans()),
        under_nine=draw(st.booleans()),
    )


groups = st.integers(0, 14).flatmap(lambda count: st.tuples(*(held(n) for n in range(count))))
totals = st.integers(0, 90)


def given_turns(here, turns):
    return {each.held.child: each.turns for each in share(here, turns)}


@MANY
@given(groups, totals)
def test_never_more_than_there_are_and_none_is_kept_back(here, turns):
    given_ = given_turns(here, turns)
    assert set(given_) == {each.child for each in here}
    assert sum(given_.values()) == min(turns, sum(each.most for each in here))


@MANY
@given(groups, totals)
def test_never_over_six_and_four_under_nine(here, turns):
    given_ = given_turns(here, turns)
    for each in here:
        assert 0 <= given_[each.child] <= (4 if each.under_nine else 6)


@MANY
@given(groups, totals)
def test_two_each_before_anybody_has_three(here, turns):
    given_ = given_turns(here, turns)
    if turns >= 2 * len(here):
        assert all(count >= 2 for count in given_.values())
    else:
        assert max(given_.values()) - min(given_.values()) <= 1


@MANY
@given(groups, totals)
def test_one_more_for_who_had_few_before_anything_goes_by_sureness(here, turns):
    given_ = given_turns(here, turns)
    behind = {
        each.child
        for each in here
        if each.had_fewest or sum(each.earlier[-4:]) < 2.5 * max(len(each.earlier[-4:]), 1)
    }
    if turns >= 2 * len(here) + len(behind):
        assert all(given_[number] >= 3 for number in behind)
    else:
        assert all(count <= 2 for number, count in given_.items() if number not in behind)


@MANY
@given(groups, totals)
def test_nobody_has_the_fewest_twice_running_while_it_can_be_helped(here, turns):
    given_ = given_turns(here, turns)
    short = had_fewest(given_, {each.child: each.most for each in here})
    again = {each.child for each in here if each.had_fewest} & short
    if again:
        # Then everybody else has the fewest as well, and some who had them last time one more.
        least = min(given_.values())
        others = {each.child for each in here if not each.had_fewest}
        assert all(given_[number] == least for number in others)


@MANY
@given(groups, totals)
def test_what_is_left_goes_down_the_line(here, turns):
    """Where nobody had the fewest: whoever is further up has all that is allowed before another
    has more than everybody's."""
    line = in_line(replace(each, had_fewest=False, earlier=STEADY) for each in here)
    given_ = given_turns(line, turns)
    if turns < 2 * len(line):
        return
    not_full = [place for place, each in enumerate(line) if given_[each.child] < each.most]
    if not_full:
        assert all(given_[each.child] == 2 for each in line[not_full[0] + 1 :])


@MANY
@given(groups, totals, st.integers(0, 1000))
def test_the_same_children_in_another_order_get_the_same(here, turns, seed):
    shuffled = list(here)
    random.Random(seed).shuffle(shuffled)
    assert share(shuffled, turns) == share(here, turns)


@MANY
@given(groups, totals, st.data())
def test_what_is_only_said_changes_nothing(here, turns, data):
    """When a review could come is for the sentence: nobody has a turn more for it."""
    said = [
        replace(
            each,
            good_evenings=data.draw(st.none() | st.integers(1, 5)),
            days_since=data.draw(st.none() | st.integers(1, 30)),
        )
        for each in here
    ]
    assert given_turns(said, turns) == given_turns(here, turns)


def test_no_chance_is_asked():
    tree = ast.parse(Path(shares.__file__).read_text(encoding="utf-8"))
    imported = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert imported == {"collections.abc", "dataclasses", "typing"}
    assert not [node for node in ast.walk(tree) if isinstance(node, ast.Import)]
    assert not [name for name in HeldChild.__dataclass_fields__ if "chance" in name]


def test_over_a_year_nobody_has_the_fewest_twice_and_everybody_2_5_on_average():
    """36 turns for up to twelve, each there with chance .88, over 60 evenings."""
    draw = random.Random(1)
    children = [child(number, earlier=()) for number in range(12)]
    for _ in range(60):
        here = [replace(each, sureness=draw.random()) for each in children if draw.random() < 0.88]
        after = {each.child: each for each in next_evening(here, 3 * len(here))}
        for each in here:
            assert not (each.had_fewest and after[each.child].had_fewest)
        children = [after.get(each.child, each) for each in children]
    for each in children:
        for first in range(len(each.earlier) - 5):
            assert sum(each.earlier[first : first + 6]) >= 6 * 2.5 - 1

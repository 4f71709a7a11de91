"""The shared turns on trial: the season against slow plain readings, the figures by hand, bars."""

import datetime
import io
import json
from dataclasses import replace

import numpy as np
import pytest
from django.core.management import CommandError, call_command

from readiness.engine.clean_rate import Decay, read_clean
from readiness.engine.gates import CleanRule
from readiness.engine.stations.shares import share
from readiness.engine.trial import share_trial, shared_turns
from readiness.engine.trial.invented_children import CLASSES
from readiness.engine.trial.rule_trial import OwnGates
from readiness.engine.trial.share_trial import FIXED_CLASSES, TURNS_TEACH
from readiness.engine.trial.shared_turns import (
    BOTH,
    EQUAL,
    EQUAL_HOUR,
    GROUP,
    RULE,
    Season,
    pupils,
)
from readiness.engine.trial.simulation import first_open, simulate_outcomes

GATES = OwnGates(CleanRule(0.6, 0.9, 3, 6), CleanRule(0.8, 0.8, 4, 12), Decay())
MONDAY = datetime.date(2026, 1, 5)


def season(policy, children=24, teaches=False, seed=1):
    block = next(pupils(children, seed))
    return block, Season(GATES.unspotted, GATES.decay, block, policy, teaches).run()


def read(run, child, place):
    """The gate at the end of an evening, by the engine's own reading."""
    days = [
        (
            MONDAY + datetime.timedelta(days=int(run.days[at])),
            int(run.turns[at, child]),
            int(run.clean[at, child]),
        )
        for at in range(place + 1)
    ]
    return read_clean(days, days[-1][0], GATES.unspotted, GATES.decay)


# --- the season -------------------------------------------------------------------------


def test_equal_shares_open_as_the_trial_of_rules_says():
    block, run = season(EQUAL, 240)
    turns = np.where(block.present, 3, 0)
    outcomes = simulate_outcomes(block.rates(), 0.1, block.luck[:, :3])
    clean = np.where(block.present, outcomes.sum(axis=1), 0)
    days = np.arange(CLASSES) * 7
    expected = first_open(GATES.unspotted, GATES.decay, days, turns, clean)
    assert (run.opened == expected).all()
    assert (run.opened < CLASSES).mean() > 0.5
    assert np.array_equal(run.rate, block.rates())


@pytest.mark.parametrize("policy", [RULE, BOTH])
def test_a_child_opens_when_the_engine_reads_that_the_gate_is_met(policy):
    _block, run = season(policy, GROUP)
    for child in range(GROUP):
        met = [at for at in range(len(run.days)) if read(run, child, at).met]
        first = run.days[met[0]] // 7 if met else CLASSES
        assert run.opened[child] == first
        # Who is open leaves the group.
        assert not run.turns[(met[0] if met else len(run.days)) + 1 :, child].any()


def test_the_rule_is_told_what_the_record_holds(monkeypatch):
    told = []

    def noted(here, turns):
        told.append((list(here), turns))
        return share(here, turns)

    monkeypatch.setattr(shared_turns, "share", noted)
    block, run = season(RULE, GROUP)
    assert len(told) > 100
    before = dict.fromkeys(range(GROUP), ())
    short = dict.fromkeys(range(GROUP), False)
    for at, (here, turns) in enumerate(told[:80]):
        assert turns == 3 * len(here)
        assert {held.child for held in here} == {
            child for child in range(GROUP) if block.present[at, child] and run.opened[child] >= at
        }
        for held in here:
            assert held.earlier == before[held.child][-4:]
            assert held.had_fewest == short[held.child]
            assert held.turns_28 == run.turns[max(0, at - 4) : at, held.child].sum()
            if at:
                # With no turns yet tonight.
                tonight = MONDAY + datetime.timedelta(days=7 * at)
                days = [
                    (MONDAY + datetime.timedelta(days=7 * k), *map(int, pair))
                    for k, pair in enumerate(
                        zip(run.turns[:at, held.child], run.clean[:at, held.child], strict=True)
                    )
                ]
                reading = read_clean(days, tonight, GATES.unspotted, GATES.decay)
                assert held.sureness == pytest.approx(reading.sureness, abs=1e-6)
                assert held.missing_days == max(0, 4 - reading.clean_days)
            before[held.child] += (int(run.turns[at, held.child]),)
        taken = [run.turns[at, held.child] for held in here]
        for held, count in zip(here, taken, strict=True):
            short[held.child] = count == min(taken) < max(taken)
    assert any(held.had_fewest for here, _turns in told for held in here)


def test_an_hour_is_six_turns_for_four_children_after_each_fourth_class():
    _block, run = season(EQUAL_HOUR, GROUP)
    assert len(run.days) == CLASSES + CLASSES // 4
    hours = np.nonzero(run.days % 7 == 3)[0]
    assert run.days[hours[0]] == 3 * 7 + 3
    for at in hours:
        waits = (run.opened >= run.days[at] // 7).sum()
        taken = run.turns[at][run.turns[at] > 0]
        assert (taken == 6).all()
        # One who opened at this week's class waits no more.
        assert min(4, waits) - (run.opened == run.days[at] // 7).sum() <= len(taken) <= 4


def test_where_turns_teach_more_turns_are_more_progress():
    block, run = season(EQUAL, 120, teaches=True)
    start = block.rate(0, 0)
    assert run.rate[0] == pytest.approx(start)
    taken = run.turns[:50].sum(axis=0)
    assert run.rate[50] == pytest.approx(block.rate(50, taken / (3 * 0.88)))
    assert (run.rate[50] > start).mean() > 0.9


def test_the_same_children_for_every_policy_and_more_leave_the_first_as_they_are():
    few, more = next(pupils(20, 1)), next(pupils(60, 1))
    assert len(few) == 24
    assert np.array_equal(few.rates(), more.rates()[:, :24])
    assert np.array_equal(few.luck, more.luck[:, :, :24])
    _block, small = season(RULE, 24)
    _block, large = season(RULE, 60)
    assert np.array_equal(small.opened, large.opened[:24])


# --- figures ------------------------------------------------------------------------------


def test_figures_by_hand():
    rate = np.full((CLASSES, 5), 0.9)
    for child, ready in enumerate((10, 20, 30, 40)):
        rate[:ready, child] = 0.7
    rate[:, 4] = 0.7
    opened = np.array([15, 22, CLASSES, 38, 60])
    by_itself = np.array([10, 20, 30, 40, CLASSES])
    found = share_trial.share_outcome("a world", EQUAL, opened, rate, by_itself)
    # Of four opened, those at 38 and 60 were at .7. Delays 5, 2 and -2.
    assert (found.opened, found.under_75, found.under_65) == (0.8, 0.5, 0)
    assert (found.median_classes, found.p90_classes) == (2, 5)
    # Quarters of the four who reach .85: the first alone, the last alone.
    assert (found.slow_delay, found.fast_opens, found.slow_opens) == (-2, 15, 38)
    assert (found.all_open, found.slow_opens_p90) == (30, 38)


GOOD = share_trial.ShareOutcome("", "", 1, 0.7, 0.004, 0.06, 4.0, 20.0, -5.0, 30, 60, 88, 120)


def figures(**changed):
    """Every policy in both worlds, all held, with one figure changed: policy to (figure, value)."""
    outcomes = []
    for world in share_trial.WORLDS:
        for policy in shared_turns.POLICIES:
            row = replace(GOOD, world=world, policy=policy.name)
            if policy is EQUAL and world == FIXED_CLASSES:
                row = replace(row, median_classes=10.0, p90_classes=28.0, slow_delay=-2.0)
            for key, (where, figure, value) in changed.items():
                if (policy, world) == (share_trial.__dict__[key], where):
                    row = replace(row, **{figure: value})
            outcomes.append(row)
    return outcomes


def missed(**changed):
    return [each.name for each in share_trial.limits(figures(**changed)) if not each.held]


def test_all_held():
    assert missed() == []
    assert len(share_trial.limits(figures())) == 13


@pytest.mark.parametrize(
    ("policy", "world", "figure", "held", "too_much"),
    [
        ("EQUAL", FIXED_CLASSES, "median_classes", 9, 8.5),
        ("RULE", FIXED_CLASSES, "median_classes", 7, 7.5),
        ("RULE", FIXED_CLASSES, "under_75", 0.065, 0.0651),
        ("RULE", FIXED_CLASSES, "under_65", 0.006, 0.0061),
        ("RULE", FIXED_CLASSES, "p90_classes", 28, 29),
        ("RULE", FIXED_CLASSES, "slow_delay", -2, -1.5),
        ("RULE", TURNS_TEACH, "slow_opens_p90", 123, 124),
        ("BOTH", FIXED_CLASSES, "median_classes", 4.5, 5),
        ("BOTH", FIXED_CLASSES, "under_75", 0.065, 0.0651),
        ("BOTH", FIXED_CLASSES, "under_65", 0.005, 0.0051),
        ("BOTH", FIXED_CLASSES, "p90_classes", 28, 29),
        ("BOTH", FIXED_CLASSES, "slow_delay", -2, -1.5),
        ("BOTH", TURNS_TEACH, "slow_opens_p90", 123, 124),
    ],
)
def test_each_limit(policy, world, figure, held, too_much):
    assert missed(**{policy: (world, figure, held)}) == []
    assert len(missed(**{policy: (world, figure, too_much)})) == 1
    assert len(missed(**{policy: (world, figure, None)})) >= 1


# --- the whole --------------------------------------------------------------------------


def test_the_rule_opens_sooner_and_hardly_more_too_soon():
    """1,200 children a policy: shares of .05 are known to about ± .015, so the limits are wider
    than those of the whole, which is a command."""
    found = {(each.world, each.policy): each for each in share_trial.compare_shares(GATES, 1200, 1)}
    equal, rule, both = (found[FIXED_CLASSES, each.name] for each in (EQUAL, RULE, BOTH))
    assert equal.median_classes >= 9
    assert rule.median_classes <= 7.5
    assert both.median_classes <= 5
    for each in (rule, both):
        assert each.under_75 <= 0.08
        assert each.under_65 <= 0.01
        assert each.p90_classes < equal.p90_classes
        assert each.slow_delay <= equal.slow_delay
        slow = found[TURNS_TEACH, each.policy].slow_opens_p90
        assert slow <= found[TURNS_TEACH, EQUAL.name].slow_opens_p90 + 5
    fast = [found[TURNS_TEACH, each.name].fast_opens for each in (EQUAL, RULE)]
    assert fast[1] < fast[0]


def test_the_command_prints_both_trials_without_a_database_and_ends_with_1():
    # No database mark: a query would fail here. So few children keep to no limit.
    out = io.StringIO()
    with pytest.raises(CommandError, match="Not held: ") as ended:
        call_command("compare_rules", shares=True, children=12, seed=3, json=True, stdout=out)
    assert ended.value.returncode == 1
    rows = json.loads(out.getvalue())
    assert [(row["world"], row["policy"]) for row in rows["outcomes"]] == [
        (world, policy.name)
        for world in (FIXED_CLASSES, TURNS_TEACH)
        for policy in (EQUAL, RULE, EQUAL_HOUR, BOTH)
    ]
    assert {row["children"] for row in rows["outcomes"]} == {12}
    assert len(rows["limits"]) == 13
    assert not all(row["held"] for row in rows["limits"])
    out = io.StringIO()
    with pytest.raises(CommandError):
        call_command("compare_rules", shares=True, children=12, seed=3, stdout=out)
    for part in ("fixed classes", "turns teach", "the rule, evidence hour", "asked at most"):
        assert part in out.getvalue()


def test_it_ends_with_0_where_all_is_held(monkeypatch):
    monkeypatch.setattr(share_trial, "compare_shares", lambda *_: figures())
    out = io.StringIO()
    call_command("compare_rules", shares=True, stdout=out)
    assert "NOT HELD" not in out.getvalue()


def test_the_command_takes_12_000_children_a_policy(monkeypatch):
    asked = []
    monkeypatch.setattr(
        share_trial, "compare_shares", lambda _gates, *rest: asked.append(rest) or figures()
    )
    call_command("compare_rules", shares=True, seed=1, stdout=io.StringIO())
    assert asked == [(12_000, 1)]

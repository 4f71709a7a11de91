"""Time in stage, against published tables and statsmodels."""

import datetime
from fractions import Fraction

import numpy as np
import pytest
from statsmodels.duration.survfunc import SurvfuncRight

from readiness.engine.statistics.time_in_stage import (
    Stay,
    at_risk,
    quantile,
    survival,
    time_in_stage,
)

TODAY = datetime.date(2026, 6, 1)

# Freireich et al., Blood 1963;21:699-716, weeks in remission (as in Klein & Moeschberger and
# the R data set KMsurv drug6mp); + is still in remission.
SIX_MP = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+"
PLACEBO = "1 1 2 2 3 4 4 5 5 8 8 8 8 11 11 12 12 15 17 22 23"
# Same data in course notes as R output: time, at risk, events, survival, Greenwood error.
SIX_MP_TABLE = [
    (6, 21, 3, 0.857, 0.0764),
    (7, 17, 1, 0.807, 0.0869),
    (10, 15, 1, 0.753, 0.0963),
    (13, 12, 1, 0.690, 0.1068),
    (16, 11, 1, 0.627, 0.1141),
    (22, 7, 1, 0.538, 0.1282),
    (23, 6, 1, 0.448, 0.1346),
]


def weeks(text):
    return [(int(each.rstrip("+")), not each.endswith("+")) for each in text.split()]


def stays(text):
    return [
        Stay(TODAY - datetime.timedelta(weeks=time), TODAY if ended else None)
        for time, ended in weeks(text)
    ]


def test_freireich_six_mp_table():
    steps = survival(weeks(SIX_MP))
    assert [(s.weeks, s.at_risk, s.moved_on) for s in steps] == [t[:3] for t in SIX_MP_TABLE]
    assert [s.share for s in steps] == pytest.approx([t[3] for t in SIX_MP_TABLE], abs=5.1e-4)
    assert [s.error for s in steps] == pytest.approx([t[4] for t in SIX_MP_TABLE], abs=5.1e-5)


def test_freireich_numbers_at_risk():
    """As in the table; those lost from sight at a time are still counted at it."""
    found = [at_risk(weeks(SIX_MP), week) for week in (0, 6, 7, 10, 13, 16, 22, 23, 36)]
    assert found == [21, 21, 17, 15, 12, 11, 7, 6, 0]
    read = time_in_stage(stays(SIX_MP), TODAY)
    assert read.at_risk == ((0, 21), (13, 12), (26, 4), (52, 0), (104, 0))


def test_who_leaves_the_studio_is_lost_from_sight_that_day():
    lost = [
        Stay(
            TODAY - datetime.timedelta(weeks=60), None, TODAY - datetime.timedelta(weeks=60 - time)
        )
        if not ended
        else Stay(TODAY - datetime.timedelta(weeks=60), TODAY - datetime.timedelta(weeks=60 - time))
        for time, ended in weeks(SIX_MP)
    ]
    assert time_in_stage(lost, TODAY) == time_in_stage(stays(SIX_MP), TODAY)


def test_freireich_shares_are_exact_fractions():
    share, shares = Fraction(1), []
    for _, risk, ended, _, _ in SIX_MP_TABLE:
        share *= 1 - Fraction(ended, risk)
        shares.append(float(share))
    assert [s.share for s in survival(weeks(SIX_MP))] == pytest.approx(shares, abs=1e-14)


def test_freireich_medians():
    # 23 weeks; placebo 8, with .9048 after one week (the median of placebo from memory).
    read = time_in_stage(stays(SIX_MP), TODAY)
    assert (read.code, read.children, read.moved_on) == ("ok", 21, 9)
    assert (read.quarter.weeks, read.half.weeks) == (13, 23)
    assert read.three_quarters.weeks is None
    placebo = time_in_stage(stays(PLACEBO), TODAY)
    assert placebo.steps[0].share == pytest.approx(0.9048, abs=5.1e-5)
    assert placebo.half.weeks == 8


@pytest.mark.parametrize("text", [SIX_MP, PLACEBO, "3 3 3+ 3+ 5 5 8 9 9+ 12"])
def test_curve_errors_and_quantile_intervals_match_statsmodels(text):
    data = weeks(text)
    theirs = SurvfuncRight([t for t, _ in data], [int(ended) for _, ended in data])
    steps = survival(data)
    assert [s.weeks for s in steps] == theirs.surv_times.tolist()
    assert [s.at_risk for s in steps] == theirs.n_risk.tolist()
    assert [s.share for s in steps] == pytest.approx(theirs.surv_prob.tolist(), abs=1e-12)
    finite = [at for at, s in enumerate(steps) if s.error is not None]
    assert [steps[at].error for at in finite] == pytest.approx(theirs.surv_prob_se[finite].tolist())
    for part in (0.25, 0.5, 0.75):
        ours = quantile(steps, part)
        with np.errstate(all="ignore"):
            expected = theirs.quantile(part), *theirs.quantile_ci(part, method="cloglog")
        assert (ours.weeks, ours.low) == tuple(
            None if np.isnan(each) else each for each in expected[:2]
        )
        # Where nobody is left the curve has no interval: we say "not reached".
        if ours.high is not None:
            assert ours.high == expected[2]


def test_the_interval_of_a_share_is_on_the_log_minus_log_scale():
    # By hand: S = 18/21, Greenwood sum 3/(21·18); S^exp(±1.959964·sqrt(sum)/|ln S|).
    step = survival(weeks(SIX_MP))[0]
    reach = np.exp(1.959963985 * np.sqrt(3 / (21 * 18)) / abs(np.log(18 / 21)))
    assert step.interval == pytest.approx(((18 / 21) ** reach, (18 / 21) ** (1 / reach)))
    assert 0 < step.interval[0] < step.share < step.interval[1] < 1


def test_those_who_leave_leave_before_those_who_are_lost_from_sight():
    # At 6 weeks the one still in the stage is at risk: 21, not 20.
    assert survival([(6, True), (6, False)])[0].at_risk == 2


def test_exactly_a_half_is_the_median():
    # Four of eight: 7/8·6/7·5/6·4/5 is a half, whatever the rounding.
    eight = [(week, True) for week in range(1, 9)]
    assert quantile(survival(eight), 0.5).weeks == 4
    last = survival(eight)[-1]
    assert (last.share, last.error, last.interval) == (0.0, None, None)


def test_median_is_none_while_half_are_still_there():
    data = [(4, True)] * 3 + [(30, False)] * 7
    assert quantile(survival(data), 0.5).weeks is None
    assert quantile(survival(data), 0.25).weeks == 4


def test_seven_children_are_not_enough_history_and_eight_are():
    seven = time_in_stage(stays("1 2 3 4 5 6 7"), TODAY)
    assert (seven.code, seven.children, seven.moved_on) == ("not-enough-history", 7, 7)
    assert (seven.steps, seven.half) == ((), None)
    assert time_in_stage(stays("1 2 3 4 5 6 7 8+"), TODAY).code == "ok"
    assert time_in_stage([], TODAY).code == "not-enough-history"


def test_what_comes_after_today_is_not_known_today():
    entered = TODAY - datetime.timedelta(weeks=4)
    later = TODAY + datetime.timedelta(days=3)
    known = [Stay(entered, later), Stay(later, None), *stays("1 2 3 4 5 6 7")]
    read = time_in_stage(known, TODAY)
    assert (read.children, read.moved_on) == (8, 7)


def test_nobody_has_moved_on_yet():
    read = time_in_stage(stays("1+ 2+ 3+ 4+ 5+ 6+ 7+ 8+"), TODAY)
    assert (read.code, read.moved_on, read.steps) == ("ok", 0, ())
    assert (read.half.weeks, read.half.low, read.half.high) == (None, None, None)


def test_left_before_entered_is_refused():
    with pytest.raises(ValueError, match="before it was entered"):
        time_in_stage([Stay(TODAY, TODAY - datetime.timedelta(days=1))], TODAY)

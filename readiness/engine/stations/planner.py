"""From an evening to its plan."""

from readiness.engine.stations.plan import Clash, Plan
from readiness.engine.stations.problem import Problem


def plan(
    problem: Problem, near: Plan | None = None, *, gap: float = 0.0, seconds: float = 2.0
) -> Plan | Clash:
    """The best plan, by worth first, then by the wishes.

    near: an earlier plan (last week's, or tonight's before a change). It is where the search
        begins, and of two plans that are as good the one nearer to it is taken.
    gap: the share by which the plan may be from the best, 0 to 1.
    seconds: the longest search; after it the best plan found is taken.
    """
    raise NotImplementedError

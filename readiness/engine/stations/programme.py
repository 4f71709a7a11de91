"""A programme in whole numbers, solved by HiGHS: variables, rows, and what was found.

Huangfu and Hall (2018), Parallelizing the dual revised simplex method, Mathematical Programming
Computation 10. One thread and a fixed seed, so that the same programme has the same answer.
"""

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field

import highspy
import numpy as np

ALMOST_ONE = 0.99

Terms = Iterable[tuple[int, float]]


@dataclass(frozen=True)
class Solution:
    """values: of each variable, those that need not be whole rounded. total: the sum sought.
    best: no solution has a higher one."""

    values: list[int]
    total: float
    best: float


class _Quiet(highspy.Highs):
    """Without calls back into Python: none are used, and preparing them prints a line."""

    def __init__(self) -> None:
        super().__init__()  # type: ignore[no-untyped-call]

    def enableCallbacks(self) -> None:
        pass


class Infeasible(Exception):
    """No values satisfy all rows."""


class OutOfTime(Exception):
    """None were found in time, and it is not known that there are none."""


@dataclass
class Programme:
    """Maximises the sum of worth * value over whole numbers from 0 to each variable's upper. Worth
    is in whole numbers too."""

    worth: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    least: list[float] = field(default_factory=list)
    most: list[float] = field(default_factory=list)
    starts: list[int] = field(default_factory=list)
    index: list[int] = field(default_factory=list)
    value: list[float] = field(default_factory=list)

    def variable(self, worth: float = 0, upper: float = 1) -> int:
        self.worth.append(worth)
        self.upper.append(upper)
        return len(self.worth) - 1

    def row(self, terms: Terms, least: float = -math.inf, most: float = math.inf) -> None:
        """least <= the sum of the terms <= most; no variable twice."""
        self.starts.append(len(self.index))
        for variable, factor in terms:
            self.index.append(variable)
            self.value.append(factor)
        self.least.append(least)
        self.most.append(most)

    def solve(
        self,
        *,
        gap: float = 0.0,
        seconds: float = 60.0,
        begin: Mapping[int, int] | None = None,
        whole: Collection[int] | None = None,
        fixed: Mapping[int, int] | None = None,
    ) -> Solution:
        """gap: the share by which it may be from the best. begin: where the search begins, as
        values of some variables. whole: those that must be whole; None: all. fixed: values.

        Infeasible, OutOfTime: there is no solution, or none was found.
        """
        solver = _Quiet()
        for name, setting in {
            "output_flag": False,
            "threads": 1,
            "random_seed": 0,
            "mip_rel_gap": gap,
            # Of whole numbers nothing lies between one and the next.
            "mip_abs_gap": ALMOST_ONE if whole is None else 0.0,
            "time_limit": seconds,
        }.items():
            solver.setOptionValue(name, setting)
        solver.passModel(self._model(whole, fixed or {}))
        if begin:
            variables, values = np.array([*begin], np.int32), np.array([*begin.values()], float)
            solver.setSolution(len(begin), variables, values)
        solver.run()
        if solver.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
            raise Infeasible
        info = solver.getInfo()
        if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            raise OutOfTime
        found = [round(value) for value in solver.getSolution().col_value]
        return Solution(found, info.objective_function_value, info.mip_dual_bound)

    def _model(self, whole: Collection[int] | None, fixed: Mapping[int, int]) -> highspy.HighsLp:
        model = highspy.HighsLp()
        model.num_col_, model.num_row_ = len(self.worth), len(self.least)
        model.sense_ = highspy.ObjSense.kMaximize
        model.col_cost_ = np.array(self.worth, float)
        lower, upper = np.zeros(len(self.worth)), np.array(self.upper, float)
        lower[[*fixed]] = upper[[*fixed]] = [*fixed.values()]
        model.col_lower_, model.col_upper_ = lower, upper
        model.row_lower_, model.row_upper_ = np.array(self.least, float), np.array(self.most, float)
        kinds = highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger
        model.integrality_ = [
            kinds[whole is None or variable in whole] for variable in range(len(self.worth))
        ]
        model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        model.a_matrix_.start_ = np.array([*self.starts, len(self.index)], np.int32)
        model.a_matrix_.index_ = np.array(self.index, np.int32)
        model.a_matrix_.value_ = np.array(self.value, float)
        return model

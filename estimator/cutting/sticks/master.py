"""The linear program over patterns, kept warm in HiGHS: how often each pattern is cut, fractions allowed."""

import math
from collections.abc import Iterable, Sequence

import highspy
import numpy as np
from numpy.typing import NDArray

from estimator.cutting.sticks.case import Ask, Case, Pattern

Floats = NDArray[np.float64]
ITERATIONS = 100_000
_DUAL, _PRIMAL = 1, 4
_EFFORT_CALL_ROW, _EFFORT_CALL_COLUMN, _EFFORT_ROW, _EFFORT_ENTRY, _EFFORT_NEW = 1_800, 300, 20, 2, 4_700
_NO_ROWS = np.array([], np.int32)
_NO_VALUES = np.array([], np.float64)


class _Silent(highspy.Highs):
    """HiGHS without the banner it prints when its callbacks are set up."""

    def __init__(self) -> None:
        super().__init__()  # type: ignore[no-untyped-call]

    def enableCallbacks(self) -> None:  # noqa: N802 - the library's name
        self.setOptionValue("output_flag", False)  # noqa: FBT003 - the library's way
        super().enableCallbacks()  # type: ignore[no-untyped-call]


def quiet_highs() -> highspy.Highs:
    """Return a HiGHS that prints nothing, runs one thread and repeats itself exactly."""
    highs = _Silent()
    for option, value in (("output_flag", False), ("threads", 1), ("random_seed", 0), ("parallel", "off")):
        highs.setOptionValue(option, value)
    return highs


def column(case: Case, pattern: Pattern) -> tuple[NDArray[np.int32], Floats]:
    """Return rows and values of a pattern: pieces of each item, then one stick of its stock."""
    rows = [*(item for item, _ in pattern.counts), len(case.weights) + pattern.stock]
    values = [*(float(count) for _, count in pattern.counts), 1.0]
    return np.array(rows, np.int32), np.array(values)


class SolverError(RuntimeError):
    """HiGHS ended in a state that gives no answer."""


class Master:
    """Rows: one an item (at least its demand), then one a stock (within its limits).

    A shortage of each item can be paid for at `penalty`, and a stick bought and not cut, so the program
    always has an answer; above the cost of a known plan, it only says that there is nothing better.
    """

    def __init__(self, case: Case, penalty: int) -> None:
        self.case = case
        self.patterns: list[Pattern] = []
        self.known: set[Pattern] = set()
        self.items = len(case.weights)
        self.effort = self.entries = 0
        self.counts = np.zeros((0, self.items), np.int32)
        self.highs = quiet_highs()
        for option, value in (
            ("simplex_iteration_limit", ITERATIONS),
            ("presolve", "off"),
            ("solver", "simplex"),
        ):
            self.highs.setOptionValue(option, value)
        for _ in range(self.items + len(case.costs)):
            self.highs.addRow(-highspy.kHighsInf, highspy.kHighsInf, 0, _NO_ROWS, _NO_VALUES)
        for item in range(self.items):
            rows, values = np.array([item], np.int32), np.ones(1)
            self.highs.addCol(float(penalty), 0.0, highspy.kHighsInf, 1, rows, values)
        for stock, cost in enumerate(case.costs):
            rows, values = np.array([self.items + stock], np.int32), np.ones(1)
            self.highs.addCol(float(cost), 0.0, highspy.kHighsInf, 1, rows, values)
        self.first = self.items + len(case.costs)
        self.ask(case.ask())

    def add(self, patterns: Iterable[Pattern]) -> int:
        """Add the patterns that are new; return how many."""
        new = [p for p in dict.fromkeys(patterns) if p not in self.known]
        for pattern in new:
            rows, values = column(self.case, pattern)
            cost = float(self.case.costs[pattern.stock])
            self.highs.addCol(cost, 0.0, highspy.kHighsInf, len(rows), rows, values)
        self._note(new)
        self.effort += len(new) * _EFFORT_NEW
        return len(new)

    def _note(self, new: list[Pattern]) -> None:
        size = len(self.patterns)
        if size + len(new) > len(self.counts):
            self.counts = np.vstack([self.counts, np.zeros((size + len(new), self.items), np.int32)])
        for at, pattern in enumerate(new, size):
            for item, count in pattern.counts:
                self.counts[at, item] = count
        self.known.update(new)
        self.entries += sum(len(pattern.counts) for pattern in new)
        self.patterns += new

    def forget(self, which: Sequence[int]) -> None:
        """Drop patterns by their place; none of them may be in the basis."""
        gone = set(which)
        places = np.array([self.first + at for at in which], np.int32)
        self.highs.deleteCols(len(places), places)
        keep = [at for at in range(len(self.patterns)) if at not in gone]
        self.counts = self.counts[keep]
        self.patterns = [self.patterns[at] for at in keep]
        self.known = set(self.patterns)
        self.entries = sum(len(pattern.counts) for pattern in self.patterns)

    def forget_dear(self, keep: int) -> None:
        """Drop the patterns of the last answer that are furthest from being used, down to `keep`."""
        dues = np.array(self.highs.getSolution().col_dual)[self.first :]
        basic = self.highs.getBasis().col_status[self.first :]
        free = [at for at, status in enumerate(basic) if status != highspy.HighsBasisStatus.kBasic]
        surplus = len(self.patterns) - keep
        if surplus > 0:
            self.forget(sorted(sorted(free, key=lambda at: (-dues[at], at))[:surplus]))

    def times(self) -> Floats:
        """Return how often each pattern is cut in the last answer."""
        return np.array(self.highs.getSolution().col_value)[self.first :]

    def fitting(self, demand: Sequence[int]) -> NDArray[np.bool_]:
        """Return for each pattern whether it has no piece too many."""
        fits: NDArray[np.bool_] = np.all(self.counts[: len(self.patterns)] <= np.array(demand), axis=1)
        return fits

    def ask(self, ask: Ask) -> None:
        """Set what is wanted; patterns that overshoot it are shut out."""
        lows = np.array([*ask.demand, *ask.least], np.float64)
        highs = np.array(
            [math.inf] * self.items + [math.inf if m is None else m for m in ask.most], np.float64
        )
        rows = np.arange(len(lows), dtype=np.int32)
        self.highs.changeRowsBounds(len(lows), rows, lows, highs)  # type: ignore[attr-defined]
        tops = np.where(self.fitting(ask.demand), highspy.kHighsInf, 0.0)
        columns = np.arange(self.first, self.first + len(tops), dtype=np.int32)
        self.highs.changeColsBounds(len(tops), columns, np.zeros(len(tops)), tops)
        self.strategy = _DUAL

    def basis(self) -> highspy.HighsBasis:
        """Return where the last answer stands, to go on from there later."""
        return self.highs.getBasis()

    def go_on(self, basis: highspy.HighsBasis) -> None:
        """Start the next solve from `basis`, which may know fewer patterns."""
        unknown = self.first + len(self.patterns) - len(basis.col_status)
        basis.col_status = [*basis.col_status, *[highspy.HighsBasisStatus.kLower] * unknown]
        self.highs.setBasis(basis)

    def _start_afresh(self) -> None:
        """Solve again without what the last answer left behind, by the dual simplex.

        Raises:
            SolverError: no optimum was found.
        """
        self.highs.clearSolver()
        self.highs.setOptionValue("simplex_strategy", _DUAL)
        self.highs.run()
        status = self.highs.getModelStatus()
        if status != highspy.HighsModelStatus.kOptimal:
            raise SolverError(f"linear program ended as {self.highs.modelStatusToString(status)}")

    def solve(self) -> tuple[float, Floats, Floats]:
        """Return the cost, how often each pattern is cut, and the worth of one more of each row.

        Raises:
            SolverError: no optimum was found.
        """
        self.highs.setOptionValue("simplex_strategy", self.strategy)
        self.strategy = _PRIMAL
        self.highs.run()
        if self.highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            self._start_afresh()
        rows = self.items + len(self.case.costs)
        steps = self.highs.getInfo().simplex_iteration_count
        self.effort += rows * _EFFORT_CALL_ROW + len(self.patterns) * _EFFORT_CALL_COLUMN
        self.effort += steps * (rows * _EFFORT_ROW + self.entries * _EFFORT_ENTRY)
        solution = self.highs.getSolution()
        times = np.array(solution.col_value)[self.first :]
        duals = np.array(solution.row_dual)
        return self.highs.getInfo().objective_function_value, times, duals

"""The linear program over patterns, kept warm in HiGHS: how often each pattern is cut, fractions allowed."""

from collections.abc import Iterable, Sequence

import highspy
import numpy as np
from numpy.typing import NDArray

from estimator.cutting.stick_case import Case, Pattern

Floats = NDArray[np.float64]
ITERATIONS = 200_000


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


class SolverError(RuntimeError):
    """HiGHS ended in a state that gives no answer."""


class Master:
    """Rows: one a piece length (at least its demand), then one a limited stock (at most its limit)."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.patterns: list[Pattern] = []
        self.known: dict[Pattern, int] = {}
        self.limited = [k for k, limit in enumerate(case.limits) if limit is not None]
        self.row_of_stock = {k: len(case.weights) + at for at, k in enumerate(self.limited)}
        self.highs = quiet_highs()
        self.highs.setOptionValue("simplex_iteration_limit", ITERATIONS)
        self.highs.setOptionValue("presolve", "off")
        self.highs.setOptionValue("solver", "simplex")
        for demand in case.demand:
            self.highs.addRow(float(demand), highspy.kHighsInf, 0, np.array([], np.int32), np.array([]))
        for k in self.limited:
            self.highs.addRow(
                -highspy.kHighsInf, float(case.limits[k] or 0), 0, np.array([], np.int32), np.array([])
            )

    def add(self, patterns: Iterable[Pattern]) -> int:
        """Add the patterns that are new; return how many."""
        new = [p for p in dict.fromkeys(patterns) if p not in self.known]
        for pattern in new:
            rows = [item for item, _ in pattern.counts]
            values = [float(count) for _, count in pattern.counts]
            if pattern.stock in self.row_of_stock:
                rows.append(self.row_of_stock[pattern.stock])
                values.append(1.0)
            cost = float(self.case.costs[pattern.stock])
            self.known[pattern] = len(self.patterns)
            self.patterns.append(pattern)
            self.highs.addCol(
                cost, 0.0, highspy.kHighsInf, len(rows), np.array(rows, np.int32), np.array(values)
            )
        return len(new)

    def demand(self, demand: Sequence[int], limits: Sequence[int | None]) -> None:
        """Set what is still wanted and still to be had; patterns that overshoot it are shut out."""
        for row, wanted in enumerate(demand):
            self.highs.changeRowBounds(row, float(wanted), highspy.kHighsInf)
        for k, row in self.row_of_stock.items():
            self.highs.changeRowBounds(row, -highspy.kHighsInf, float(limits[k] or 0))
        for column, pattern in enumerate(self.patterns):
            fits = all(count <= demand[item] for item, count in pattern.counts)
            self.highs.changeColBounds(column, 0.0, highspy.kHighsInf if fits else 0.0)

    def solve(self) -> tuple[float, Floats, Floats]:
        """Return the cost, how often each pattern is cut, and the worth of one more of each row.

        Raises:
            SolverError: no optimum was found.
        """
        self.highs.run()
        status = self.highs.getModelStatus()
        if status != highspy.HighsModelStatus.kOptimal:
            raise SolverError(f"linear program ended as {self.highs.modelStatusToString(status)}")
        solution = self.highs.getSolution()
        times = np.array(solution.col_value)
        duals = np.array(solution.row_dual)
        return self.highs.getInfo().objective_function_value, times, duals

"""Linear and integer programmes in HiGHS, quiet, on one thread, the same answer on every machine.

An integer programme is stopped by counted work and never by a clock.
"""

from collections.abc import Sequence
from typing import Any, NamedTuple, TypeAlias

import highspy
import numpy as np
from highspy.highs import HighsCallbackEvent
from numpy.typing import NDArray
from scipy.sparse import csc_array

Floats: TypeAlias = NDArray[np.float64]
INFINITY = highspy.kHighsInf
_ROUNDING = 1e-6
"""What HiGHS may be off a whole number or a bound by (its default tolerance)."""
_ITERATIONS = 100_000
"""Steps of the simplex after which a programme is given up: far more than any list here has taken."""
_FEASIBLE = highspy.SolutionStatus.kSolutionStatusFeasible


class SolverError(RuntimeError):
    """HiGHS ended in a state that gives no answer."""


class Solved(NamedTuple):
    """The least cost, how much of each column is used, and what one more of each row would cost."""

    cost: float
    uses: Floats
    duals: Floats


class Mixed(NamedTuple):
    """Whole uses of each column, None where none was met, and a cost that no whole answer goes below."""

    uses: NDArray[np.int64] | None
    bound: float


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
    options: dict[str, bool | int | str] = {
        "output_flag": False,
        "threads": 1,
        "random_seed": 0,
        "parallel": "off",
    }
    for option, value in options.items():
        highs.setOptionValue(option, value)
    return highs


class Programme:
    """Rows that must lie within bounds, and columns with a cost, none negative: the least cost is wanted."""

    def __init__(self, lows: Sequence[float], highs: Sequence[float]) -> None:
        """Begin with rows and no columns."""
        self.model = quiet_highs()
        self.model.setOptionValue("simplex_iteration_limit", _ITERATIONS)
        none = np.array([], np.int32), np.array([])
        for low, high in zip(lows, highs, strict=True):
            self.model.addRow(float(low), float(high), 0, *none)

    def add(self, costs: Sequence[float] | Floats, columns: NDArray[Any]) -> None:
        """Add columns; `columns` has a line for each, with its entry in every row."""
        sparse, number = csc_array(np.asarray(columns, float).T), len(costs)
        lows, highs = np.zeros(number), np.full(number, INFINITY)
        self.model.addCols(
            number, np.asarray(costs, float), lows, highs, sparse.nnz,
            sparse.indptr[:-1].astype(np.int32), sparse.indices.astype(np.int32), sparse.data,
        )  # fmt: skip

    def bound_rows(self, lows: Sequence[float], highs: Sequence[float]) -> None:
        """Set the bounds of every row anew."""
        rows = np.arange(len(lows), dtype=np.int32)
        self.model.changeRowsBounds(len(rows), rows, np.array(lows, float), np.array(highs, float))  # type: ignore[attr-defined]

    def bound_columns(self, highs: Floats) -> None:
        """Set how much of each column may be used at most."""
        columns = np.arange(len(highs), dtype=np.int32)
        self.model.changeColsBounds(len(highs), columns, np.zeros(len(highs)), highs)

    def solve(self) -> Solved:
        """Return the answer with fractions allowed; the next solve goes on from where this one ended.

        Raises:
            SolverError: no optimum was found.
        """
        self.model.run()
        if self.model.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            self.model.clearSolver()
            self.model.run()
        status = self.model.getModelStatus()
        if status != highspy.HighsModelStatus.kOptimal:
            raise SolverError(f"linear programme ended as {self.model.modelStatusToString(status)}")
        found = self.model.getSolution()
        cost = self.model.getInfo().objective_function_value
        return Solved(cost, np.array(found.col_value), np.array(found.row_dual))

    def solve_whole(self, looks: int, goal: float, start: Sequence[float] | None = None) -> Mixed:
        """Return the best answer in whole numbers met within so many looks.

        Args:
            looks: how often HiGHS looks at its limits before it is stopped: at every node, every round of
                cuts and most steps of its heuristics, in the same order each time.
            goal: an answer of this cost is good enough.
            start: a known answer.
        """
        number = self.model.getNumCol()
        kinds = np.array([highspy.HighsVarType.kInteger] * number)
        self.model.changeColsIntegrality(number, np.arange(number, dtype=np.int32), kinds)
        self.model.setOptionValue("mip_rel_gap", 0.0)
        self.model.setOptionValue("objective_target", goal + _ROUNDING)
        if start is not None:
            known = highspy.HighsSolution()
            known.col_value = list(start)
            self.model.setSolution(known)
        self._run_within(looks)
        info = self.model.getInfo()
        if self.model.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
            return Mixed(None, INFINITY)
        bound = info.mip_dual_bound - _ROUNDING * max(1.0, abs(info.mip_dual_bound))
        if info.primal_solution_status != _FEASIBLE:
            return Mixed(None, bound)
        return Mixed(np.rint(np.array(self.model.getSolution().col_value)).astype(np.int64), bound)

    def _run_within(self, looks: int) -> None:
        seen = 0

        def look(event: HighsCallbackEvent) -> None:
            nonlocal seen
            seen += 1
            if seen >= looks:
                event.interrupt()

        for name in ("rens", "rins", "root_reduced_cost"):  # searches within, which take no looks
            self.model.setOptionValue(f"mip_heuristic_run_{name}", False)  # noqa: FBT003 - as above
        self.model.cbMipInterrupt += look
        self.model.run()

"""From a case to a plan and its bound: quick plan, column generation, dive, and the exact step."""

from collections.abc import Callable
from dataclasses import dataclass

from estimator.cutting.stick_case import Case, Cut
from estimator.cutting.stick_columns import Columns
from estimator.cutting.stick_costs import lift_to
from estimator.cutting.stick_dive import dive
from estimator.cutting.stick_fit import greedy

Progress = Callable[[float], None]


@dataclass(frozen=True, slots=True)
class Answer:
    """A plan in whole numbers.

    Attributes:
        cut: how often each pattern is cut.
        bound: whole cost that no plan goes below.
        method: how the plan was found.
    """

    cut: Cut
    bound: int
    method: str


def solve(case: Case, progress: Progress) -> Answer:
    """Return the cheapest plan found and its bound."""
    best = greedy(case, case.demand, case.limits)
    lift = lift_to(case, case.cost(best))
    columns = Columns(case)
    root = columns.generate(case.demand, case.limits, lambda _, bound: lift(bound) >= case.cost(best))
    bound = lift(root.bound)
    progress(0.5)
    if bound >= case.cost(best):
        return Answer(best, case.cost(best), "longest first, shown to be the least by column generation")
    best = dive(columns, root, best, lambda cost: cost <= bound, lift)
    return Answer(best, min(bound, case.cost(best)), "column generation and diving")

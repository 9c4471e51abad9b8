"""What the checks of all plans tell alike: pieces, limits, cost and bound; shares no code with planners."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from typing import TypeVar

from estimator.core.errors import Problem
from estimator.cutting.plans import SheetPlan, SheetStock, StickPlan, StickStock

Piece = TypeVar("Piece")


def fault(where: str, what: str) -> Problem:
    """Return what is wrong with a plan as a problem."""
    return Problem(where, what, "The plan is wrong and must not be cut.")


def miscut(
    wanted: Iterable[Piece], cut: Iterable[Piece], called: Callable[[Piece], str]
) -> Iterator[Problem]:
    """Yield the pieces of which too few or too many are cut."""
    due, got = Counter(wanted), Counter(cut)
    for rest, what in ((due - got, "are not cut"), (got - due, "are cut and not wanted")):
        yield from (fault("pieces", f"{count} of {called(piece)} {what}") for piece, count in rest.items())


def miscounted(
    plan: SheetPlan | StickPlan,
    used: Counter[SheetStock] | Counter[StickStock],
    limits: Counter[object],
    name: str,
) -> Iterator[Problem]:
    """Yield stock that is used beyond its limit, and cost and bound that are not what they are said to be.

    Args:
        plan: as made.
        used: how many of each stock its cuts take.
        limits: how often the list has each stock.
        name: what one of the stock is called.
    """
    for stock, count in used.items():
        if stock.limit is not None and count > stock.limit * limits[stock]:
            yield fault(f"{name} {stock.key!r}", f"{count} are used of {stock.limit}")
    cost = sum((stock.price * count for stock, count in used.items()), Decimal(0))
    if cost != plan.cost:
        yield fault("cost", f"said to be {plan.cost} and is {cost}")
    if plan.bound > cost:
        yield fault("bound", f"{plan.bound} is above the cost {cost}")
    if plan.proven and plan.bound != cost:
        yield fault("proven", f"the bound {plan.bound} does not reach the cost {cost}")

"""Checks a plan of sticks from the plan, the wish and the stock alone; shares no code with the planner."""

from collections import Counter
from collections.abc import Iterable, Sequence
from decimal import Decimal

from estimator.core.errors import Problem
from estimator.core.units import Nm
from estimator.cutting.plans import Stick, StickPiece, StickPlan, StickStock


def _fault(where: str, what: str) -> Problem:
    return Problem(where, what, "The plan is wrong and must not be cut.")


def _stick_faults(
    at: int, stick: Stick, stocks: Sequence[StickStock], kerf: Nm, end_trim: Nm
) -> Iterable[Problem]:
    where = f"sticks[{at}]"
    if stick.stock not in stocks:
        yield _fault(where, f"stock {stick.stock.key!r} is not on the list")
    if not stick.pieces:
        yield _fault(where, "nothing is cut from it")
    position = end_trim
    for piece in stick.pieces:
        position += piece.length
        if position > stick.stock.length:
            yield _fault(
                where, f"piece {piece.name!r} ends {position - stick.stock.length} nm beyond the stick"
            )
        position += kerf
    left = max(0, stick.stock.length - position)
    if stick.offcut != left:
        yield _fault(where, f"the offcut is said to be {stick.offcut} nm and is {left} nm")


def _missing(wanted: Counter[StickPiece], got: Counter[StickPiece]) -> Iterable[Problem]:
    for piece, count in (wanted - got).items():
        yield _fault("pieces", f"{count} of {piece.name!r}, {piece.length} nm, are not cut")
    for piece, count in (got - wanted).items():
        yield _fault("pieces", f"{count} of {piece.name!r}, {piece.length} nm, are cut and not wanted")


def _totals(plan: StickPlan) -> Iterable[Problem]:
    cost = Decimal(0)
    for stick in plan.sticks:
        cost += stick.stock.price
    if cost != plan.cost:
        yield _fault("cost", f"said to be {plan.cost} and is {cost}")
    if plan.bound > cost:
        yield _fault("bound", f"{plan.bound} is above the cost {cost}")
    if plan.proven and plan.bound != cost:
        yield _fault("proven", f"the bound {plan.bound} does not reach the cost {cost}")
    kinds = {(s.stock.key, s.stock.length, tuple(sorted(p.length for p in s.pieces))) for s in plan.sticks}
    if len(kinds) != plan.patterns:
        yield _fault("patterns", f"said to be {plan.patterns} and are {len(kinds)}")


def verify_sticks(
    plan: StickPlan, pieces: Sequence[StickPiece], stocks: Sequence[StickStock], kerf: Nm, end_trim: Nm
) -> tuple[Problem, ...]:
    """Return everything wrong with `plan`; empty where it is sound.

    Every piece wanted is cut once, every stick holds its pieces with a cut between them, is on the list
    and within its limit, and the totals are what they are said to be.
    """
    faults: list[Problem] = []
    if (plan.kerf, plan.end_trim) != (kerf, end_trim):
        faults.append(_fault("kerf", "kerf or end trim are not those asked for"))
    for at, stick in enumerate(plan.sticks):
        faults += _stick_faults(at, stick, stocks, kerf, end_trim)
    got = Counter(piece for stick in plan.sticks for piece in stick.pieces)
    faults += _missing(Counter(pieces), got)
    used = Counter(stick.stock for stick in plan.sticks)
    for stock, count in used.items():
        if stock.limit is not None and count > stock.limit * stocks.count(stock):
            faults.append(_fault(f"stock {stock.key!r}", f"{count} are used of {stock.limit}"))
    return (*faults, *_totals(plan))

"""Checks a plan of sticks from the plan, the wish and the stock alone; shares no code with the planner."""

from collections import Counter
from collections.abc import Iterable, Sequence

from estimator.core.errors import Problem
from estimator.core.units import Nm
from estimator.cutting.plans import Stick, StickPiece, StickPlan, StickStock
from estimator.cutting.verify.faults import fault, miscounted, miscut


def _stick_faults(
    at: int, stick: Stick, stocks: Sequence[StickStock], kerf: Nm, end_trim: Nm
) -> Iterable[Problem]:
    where = f"sticks[{at}]"
    if stick.stock not in stocks:
        yield fault(where, f"stock {stick.stock.key!r} is not on the list")
    if not stick.pieces:
        yield fault(where, "nothing is cut from it")
    position = end_trim
    for piece in stick.pieces:
        position += piece.length
        if position > stick.stock.length:
            yield fault(
                where, f"piece {piece.name!r} ends {position - stick.stock.length} nm beyond the stick"
            )
        position += kerf
    left = max(0, stick.stock.length - position)
    if stick.offcut != left:
        yield fault(where, f"the offcut is said to be {stick.offcut} nm and is {left} nm")


def verify_sticks(
    plan: StickPlan, pieces: Sequence[StickPiece], stocks: Sequence[StickStock], kerf: Nm, end_trim: Nm
) -> tuple[Problem, ...]:
    """Return everything wrong with `plan`; empty where it is sound.

    Every piece wanted is cut once, every stick holds its pieces with a cut between them, is on the list
    and within its limit, and the totals are what they are said to be.
    """
    faults: list[Problem] = []
    if (plan.kerf, plan.end_trim) != (kerf, end_trim):
        faults.append(fault("kerf", "kerf or end trim are not those asked for"))
    for at, stick in enumerate(plan.sticks):
        faults += _stick_faults(at, stick, stocks, kerf, end_trim)
    cut = (piece for stick in plan.sticks for piece in stick.pieces)
    faults += miscut(pieces, cut, lambda piece: f"{piece.name!r}, {piece.length} nm,")
    used = Counter(stick.stock for stick in plan.sticks)
    faults += miscounted(plan, used, Counter(stocks), "stock")
    kinds = {(s.stock.key, s.stock.length, tuple(sorted(p.length for p in s.pieces))) for s in plan.sticks}
    if len(kinds) != plan.patterns:
        faults.append(fault("patterns", f"said to be {plan.patterns} and are {len(kinds)}"))
    return tuple(faults)

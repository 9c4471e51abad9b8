"""Sticks: members, casing and strip cut from bought lengths, at the least cost.

`plan_sticks` checks what is asked, solves it in whole numbers and lays the pieces out again by name.
"""

from collections import defaultdict, deque
from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal

from estimator.core.errors import InputError, Problem, refuse
from estimator.core.units import MM, Nm, format_length
from estimator.cutting.plans import Stick, StickPiece, StickPlan, StickStock
from estimator.cutting.sticks.case import Case, Cut, make_case
from estimator.cutting.sticks.solver import Answer, solve

MOST_PIECES = 1_000_000
MOST_LENGTHS = 10_000
_HIGHEST_PRICE = 1_000_000
_DECIMALS = 6


def _both(length: Nm) -> str:
    return f"{format_length(length)} ({length / MM:g} mm)"


def _is_price(price: Decimal) -> bool:
    if not price.is_finite() or not 0 <= price <= _HIGHEST_PRICE:
        return False
    exponent = price.as_tuple().exponent
    return isinstance(exponent, int) and exponent >= -_DECIMALS


def _stock_problems(stocks: Sequence[StickStock], kerf: Nm, end_trim: Nm) -> Iterable[Problem]:
    if not stocks:
        yield Problem("stock", "no stick can be bought", "Give at least one length with its price.")
    for at, stock in enumerate(stocks):
        where = f"stock[{at}]"
        if stock.length <= 0:
            yield Problem(
                f"{where}.length", f"{stock.length} nm is no length", "Give a length greater than 0."
            )
        elif stock.length <= end_trim:
            yield Problem(
                f"{where}.length", f"nothing is left of {format_length(stock.length)} after the end trim",
                "Give a longer stick or a smaller end trim.",
            )  # fmt: skip
        if not _is_price(stock.price):
            fix = f"Give a price from 0 to {_HIGHEST_PRICE} with at most {_DECIMALS} decimals."
            yield Problem(f"{where}.price", f"{stock.price} is no price", fix)
        if stock.limit is not None and stock.limit < 0:
            yield Problem(f"{where}.limit", f"{stock.limit} is no count", "Give a limit of 0 or more.")
    for name, size in (("kerf", kerf), ("end_trim", end_trim)):
        if size < 0:
            yield Problem(name, "it is negative", "Give 0 or more.")


def _piece_problems(pieces: Sequence[StickPiece], longest: Nm) -> Iterable[Problem]:
    for at, piece in enumerate(pieces):
        if piece.length <= 0:
            what = f"{piece.name!r} is {piece.length} nm long: nothing to cut"
            yield Problem(f"pieces[{at}].length", what, "Give a length greater than 0.")
        elif piece.length > longest:
            what = f"{piece.name!r} of {_both(piece.length)} is longer than any stick"
            fix = f"The longest usable length is {_both(longest)}; splice the piece or add longer stock."
            yield Problem(f"pieces[{at}].length", what, fix)


def _check(pieces: Sequence[StickPiece], stocks: Sequence[StickStock], kerf: Nm, end_trim: Nm) -> None:
    problems = list(_stock_problems(stocks, kerf, end_trim))
    if len(pieces) > MOST_PIECES:
        problems.append(Problem("pieces", f"more than {MOST_PIECES} pieces", "Split the list."))
    elif not problems:
        longest = max((s.length - end_trim for s in stocks if s.limit != 0), default=0)
        problems += _piece_problems(pieces, longest)
        if len({piece.length for piece in pieces}) > MOST_LENGTHS:
            problems.append(
                Problem("pieces", f"more than {MOST_LENGTHS} different lengths", "Split the list.")
            )
    if problems:
        raise InputError(problems)


def _sticks(
    case: Case,
    cut: Cut,
    pieces: Sequence[StickPiece],
    stocks: Sequence[StickStock],
    *,
    kerf: Nm,
    end_trim: Nm,
) -> tuple[Stick, ...]:
    """Return the sticks of `cut` with the pieces' names on them, first named first used."""
    waiting: dict[Nm, deque[StickPiece]] = defaultdict(deque)
    for piece in pieces:
        waiting[piece.length].append(piece)
    sticks = []
    for pattern, times in cut.items():
        lengths = [case.lengths[item] for item, count in pattern.counts for _ in range(count)]
        stock = stocks[pattern.stock]
        offcut = max(0, stock.length - end_trim - sum(lengths) - kerf * len(lengths))
        sticks += [
            Stick(stock, tuple(waiting[length].popleft() for length in lengths), offcut) for _ in range(times)
        ]
    return tuple(sticks)


def _refuse_limits(case: Case, answer: Answer) -> None:
    """Refuse a plan that needs sticks nobody can buy."""
    if case.imaginary is None or not any(p.stock == case.imaginary for p in answer.cut):
        return
    sure = answer.bound >= case.costs[case.imaginary]
    what = "the limits cannot be met" if sure else "no plan was found within the limits"
    raise refuse(
        "stock.limit", f"{what}: the pieces need more sticks", "Raise a limit or add another length."
    )


def _nothing(_: float) -> None:
    return


def plan_sticks(
    pieces: Sequence[StickPiece],
    stocks: Sequence[StickStock],
    kerf: Nm,
    end_trim: Nm = 0,
    progress: Callable[[float], None] | None = None,
) -> StickPlan:
    """Return the plan that costs least, then has the fewest patterns, then the longest offcut.

    Args:
        pieces: what is wanted; may be empty.
        stocks: what can be bought, with prices and limits.
        kerf: width of a cut.
        end_trim: cut from each stick first and not usable.
        progress: told now and then how far the work is, 0 to 1.

    Raises:
        InputError: a problem for each piece longer than any stick or not greater than 0, for each stock
            that is none, and where the limits cannot be met.
    """
    _check(pieces, stocks, kerf, end_trim)
    if not pieces:
        return StickPlan(
            (), kerf, end_trim, Decimal(0), Decimal(0), proven=True, patterns=0, method="nothing to cut"
        )
    case = make_case(pieces, stocks, kerf, end_trim)
    answer = solve(case, progress or _nothing)
    _refuse_limits(case, answer)
    sticks = _sticks(case, answer.cut, pieces, stocks, kerf=kerf, end_trim=end_trim)
    cost = sum((stick.stock.price for stick in sticks), Decimal(0))
    return StickPlan(
        sticks, kerf, end_trim, cost, answer.bound * case.money,
        proven=answer.bound >= case.cost(answer.cut), patterns=len(answer.cut), method=answer.method,
    )  # fmt: skip

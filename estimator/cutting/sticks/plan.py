"""Sticks: members, casing and strip cut from bought lengths, at the least cost.

`plan_sticks` checks what is asked, solves it in whole numbers and lays the pieces out again by name. Of very
many lengths neighbours are taken together, and the bound is that of the true list.
"""

from bisect import bisect_left
from collections import defaultdict, deque
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from estimator.core.errors import InputError, Problem, refuse
from estimator.core.units import MM, Nm, format_length
from estimator.cutting.plans import MOST_PIECES, Stick, StickPiece, StickPlan, StickStock
from estimator.cutting.programme import Floats
from estimator.cutting.sticks.case import Case, Cut, Pattern, make_case
from estimator.cutting.sticks.columns import Columns, valued
from estimator.cutting.sticks.purchases import Purchases
from estimator.cutting.sticks.sequence import longest_first
from estimator.cutting.sticks.solver import Answer, Progress, solve

MOST = 400
"""Lengths that are told apart: a linear programme of as many rows takes a second or two."""

_ENOUGH = 0.005
"""Share by which a plan of such a list may be dearer than its bound: better is not worth the time."""
_NEAR = 0.0015
"""Share by which the bound of such a list may be looser."""


def taken_together(lengths: Sequence[Nm]) -> list[Nm]:
    """Return the lengths, each raised to the longest of its group where there are too many to tell apart."""
    different = sorted(set(lengths))
    if len(different) <= MOST:
        return list(lengths)
    ends = [different[(at + 1) * len(different) // MOST - 1] for at in range(MOST)]
    return [ends[bisect_left(ends, length)] for length in lengths]


def solve_in_groups(true: Case, grouped: Case, progress: Progress) -> tuple[Answer, bool]:
    """Return a plan, the bound of the true list, and whether the plan is one of the true list.

    Args:
        true: the list.
        grouped: the list with lengths taken together, on the same stocks; its sticks hold the true pieces.
        progress: told how far the work is, 0 to 1.
    """
    quick, rule = longest_first(true), valued(true, true.heavy).rule(true)
    cost = true.cost(quick)
    bound = _cheapest(true, [rule], cost)
    if bound < cost * (1 - _ENOUGH):
        bound = _cheapest(true, [rule, _between(true, grouped, cost)], cost)
    if bound < cost * (1 - _ENOUGH):
        answer = solve(grouped, progress)
        if grouped.cost(answer.cut) < cost:
            return replace(answer, bound=bound), False
    return Answer(quick, bound, "longest pieces first"), True


def _between(true: Case, grouped: Case, below: int) -> Floats:
    """Return a rule for the true list: a length between two groups' ends is worth what lies between."""
    ends = np.array([0, *grouped.lengths[::-1]], float)
    shares = np.array(
        [np.interp(true.lengths, ends, np.arange(len(ends)) == at) for at in range(1, len(ends))]
    )
    first = Columns(grouped, below)
    uses, _ = first.generate(_NEAR)
    patterns = [pattern for pattern, use in zip(first.patterns, uses, strict=True) if use > 0]
    columns = Columns(true, below, shares)
    at = {length: item for item, length in enumerate(true.lengths)}
    own = [at[length] for length in grouped.lengths]
    columns.add(Pattern(stock, tuple((own[item], n) for item, n in counts)) for stock, counts in patterns)
    return columns.generate(_NEAR)[1].rule(true)


def _cheapest(case: Case, rules: list[Floats], below: int) -> int:
    """Return the cost of the cheapest numbers of sticks that the rules allow, `below` at most."""
    purchases = Purchases(case, rules)
    sticks = purchases.cheapest(below)
    return below if sticks is None else purchases.cost(sticks)


_HIGHEST_PRICE, _DECIMALS = 1_000_000, 6
"""What a price may be, so that every sum of prices is exact in the tables."""


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
        problems.append(Problem("pieces", f"more than {MOST_PIECES:,} pieces", "Split the list."))
    elif not problems:
        longest = max((s.length - end_trim for s in stocks if s.limit != 0), default=0)
        problems += _piece_problems(pieces, longest)
    if problems:
        raise InputError(problems)


@dataclass(frozen=True, slots=True)
class _Shop:
    """What can be bought and how it is cut."""

    stocks: Sequence[StickStock]
    kerf: Nm
    end_trim: Nm

    def stick(self, stock: int, pieces: tuple[StickPiece, ...]) -> Stick:
        """Return a stick with what is left over of it."""
        used = self.end_trim + sum(piece.length + self.kerf for piece in pieces)
        return Stick(self.stocks[stock], pieces, max(0, self.stocks[stock].length - used))


def _sticks(shop: _Shop, case: Case, cut: Cut, named: Iterable[tuple[Nm, StickPiece]]) -> tuple[Stick, ...]:
    """Return the sticks of `cut` with the pieces' names on them, first named first used.

    Args:
        shop: what can be bought.
        case: the job.
        cut: how often each pattern is cut.
        named: the pieces, each with its length in the job.
    """
    waiting: dict[Nm, deque[StickPiece]] = defaultdict(deque)
    for length, piece in named:
        waiting[length].append(piece)
    sticks = []
    for pattern, times in cut.items():
        lengths = [case.lengths[item] for item, count in pattern.counts for _ in range(count)]
        sticks += [
            shop.stick(pattern.stock, tuple(waiting[length].popleft() for length in lengths))
            for _ in range(times)
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
    """Return the plan that costs least, and of those found that do the one with the fewest patterns.

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
    told, true = progress or _nothing, [piece.length for piece in pieces]
    lengths = taken_together(true)
    case = make_case(lengths, stocks, kerf, end_trim)
    if lengths == true:
        answer = solve(case, told)
    else:
        whole = make_case(true, stocks, kerf, end_trim)
        answer, told_apart = solve_in_groups(whole, case, told)
        case, lengths = (whole, true) if told_apart else (case, lengths)
    told(1.0)
    _refuse_limits(case, answer)
    spent, bound = case.cost(answer.cut), answer.bound
    sticks = _sticks(_Shop(stocks, kerf, end_trim), case, answer.cut, zip(lengths, pieces, strict=True))
    return StickPlan(
        sticks, kerf, end_trim, sum((stick.stock.price for stick in sticks), Decimal(0)), bound * case.money,
        proven=bound >= spent, patterns=_patterns(sticks), method=answer.method,
    )  # fmt: skip


def _patterns(sticks: Sequence[Stick]) -> int:
    """Return how many different ways of cutting a stick there are."""
    return len({(stick.stock, tuple(sorted(p.length for p in stick.pieces))) for stick in sticks})

"""Plans of sticks: against brute force, by properties, and for hostile input."""

import random
from collections import Counter
from decimal import Decimal
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.core.errors import InputError
from estimator.core.units import INCH
from estimator.cutting.plans import StickPiece, StickPlan, StickStock
from estimator.cutting.sticks.plan import plan_sticks
from estimator.cutting.verify.sticks import verify_sticks

SHOP = settings(max_examples=60, deadline=None)
lengths = st.lists(st.integers(1, 40), min_size=1, max_size=9)
kerfs = st.integers(0, 3)


@st.composite
def stock_lists(draw: st.DrawFn) -> list[StickStock]:
    """One endless stock that holds every piece, and up to two more, limited or not."""
    prices = st.integers(1, 60)
    stocks = [StickStock("long", draw(st.integers(40, 60)), Decimal(draw(prices)) / 4)]
    for at in range(draw(st.integers(0, 2))):
        limit = draw(st.none() | st.integers(0, 3))
        stocks.append(StickStock(f"other{at}", draw(st.integers(5, 90)), Decimal(draw(prices)) / 4, limit))
    return stocks


def wanted(sizes: list[int]) -> tuple[StickPiece, ...]:
    return tuple(StickPiece(f"p{at}", size) for at, size in enumerate(sizes))


def cheapest(sizes: list[int], stocks: list[StickStock], kerf: int, trim: int) -> Decimal:
    """Return the least cost by trying every set of pieces on every stick."""
    full = (1 << len(sizes)) - 1
    room = [stock.length - trim + kerf for stock in stocks]
    load = [sum(s + kerf for at, s in enumerate(sizes) if mask >> at & 1) for mask in range(full + 1)]

    @cache
    def best(mask: int, used: tuple[int, ...]) -> Decimal:
        if not mask:
            return Decimal(0)
        first, rest = mask & -mask, mask & (mask - 1)
        costs, part = [Decimal("Infinity")], rest
        while True:
            for k, stock in enumerate(stocks):
                if load[part | first] <= room[k] and (stock.limit is None or used[k] < stock.limit):
                    now = tuple(u + (at == k and stock.limit is not None) for at, u in enumerate(used))
                    costs.append(stock.price + best(rest & ~part, now))
            if not part:
                return min(costs)
            part = (part - 1) & rest

    return best(full, tuple(0 for _ in stocks))


def check(plan: StickPlan, pieces: tuple[StickPiece, ...], stocks: list[StickStock], trim: int = 0) -> None:
    assert verify_sticks(plan, pieces, stocks, plan.kerf, trim) == ()
    assert plan.bound <= plan.cost


@SHOP
@given(lengths, stock_lists(), kerfs, st.integers(0, 2))
def test_small_jobs_cost_what_brute_force_finds(
    sizes: list[int], stocks: list[StickStock], kerf: int, trim: int
) -> None:
    stocks[0] = StickStock("long", stocks[0].length + trim, stocks[0].price)
    pieces = wanted(sizes)
    plan = plan_sticks(pieces, stocks, kerf, trim)
    check(plan, pieces, stocks, trim)
    least = cheapest(sizes, stocks, kerf, trim)
    assert plan.cost == least
    assert plan.proven


@SHOP
@given(st.lists(st.integers(1, 60), min_size=1, max_size=40), stock_lists(), kerfs)
def test_material_is_conserved_on_every_stick(sizes: list[int], stocks: list[StickStock], kerf: int) -> None:
    stocks[0] = StickStock("long", 60, stocks[0].price)
    pieces = wanted(sizes)
    plan = plan_sticks(pieces, stocks, kerf)
    check(plan, pieces, stocks)
    assert Counter(p for s in plan.sticks for p in s.pieces) == Counter(pieces)
    for stick in plan.sticks:
        used = sum(p.length for p in stick.pieces) + stick.offcut
        assert stick.stock.length - kerf * len(stick.pieces) <= used <= stick.stock.length


def test_a_kerf_falls_between_pieces_and_not_beyond_the_end() -> None:
    stocks = [StickStock("a", 100, Decimal(1))]
    assert len(plan_sticks(wanted([49, 49]), stocks, 2).sticks) == 1
    assert len(plan_sticks(wanted([49, 50]), stocks, 2).sticks) == 2
    assert len(plan_sticks(wanted([100]), stocks, 2).sticks) == 1


def test_nothing_wanted_is_an_empty_plan() -> None:
    plan = plan_sticks((), [StickStock("a", 100, Decimal(1))], 2)
    assert plan.proven
    assert not plan.cost
    assert not plan.sticks


def test_every_problem_of_the_pieces_is_named() -> None:
    pieces = [StickPiece(*one) for one in (("long", 97 * INCH), ("none", 0), ("fits", INCH), ("less", -5))]
    with pytest.raises(InputError) as caught:
        plan_sticks(pieces, [StickStock("a", 96 * INCH, Decimal(1))], 0)
    assert [p.where for p in caught.value.problems] == [
        "pieces[0].length",
        "pieces[1].length",
        "pieces[3].length",
    ]


@pytest.mark.parametrize(
    "stocks",
    [
        [],
        [StickStock("a", 0, Decimal(1))],
        [StickStock("a", 96, Decimal(-1))],
        [StickStock("a", 96, Decimal("NaN"))],
        [StickStock("a", 96, Decimal("1E+999999"))],
        [StickStock("a", 96, Decimal("1E-999999"))],
        [StickStock("a", 96, Decimal(1), -1)],
        [StickStock("a", 96, Decimal(1), 0)],
        [StickStock("a", 96, Decimal(1), 2)],
    ],
)
def test_stock_that_cannot_do_is_refused(stocks: list[StickStock]) -> None:
    with pytest.raises(InputError):
        plan_sticks(wanted([50, 50, 50]), stocks, 0)


def test_negative_kerf_and_trim_are_refused() -> None:
    with pytest.raises(InputError) as caught:
        plan_sticks(wanted([50]), [StickStock("a", 96, Decimal(1))], -1, -1)
    assert [p.where for p in caught.value.problems] == ["kerf", "end_trim"]


@SHOP
@given(lengths, stock_lists(), kerfs, st.randoms(use_true_random=False))
def test_the_order_of_the_list_does_not_change_the_cost(
    sizes: list[int], stocks: list[StickStock], kerf: int, shuffle: random.Random
) -> None:
    other = list(sizes)
    shuffle.shuffle(other)
    assert plan_sticks(wanted(sizes), stocks, kerf).cost == plan_sticks(wanted(other), stocks, kerf).cost


@SHOP
@given(lengths, stock_lists(), kerfs)
def test_another_stock_to_choose_from_never_costs_more(
    sizes: list[int], stocks: list[StickStock], kerf: int
) -> None:
    more = [*stocks, StickStock("extra", 70, Decimal(7))]
    without, with_it = plan_sticks(wanted(sizes), stocks, kerf), plan_sticks(wanted(sizes), more, kerf)
    assert with_it.bound <= without.cost
    if with_it.proven:
        assert with_it.cost <= without.cost

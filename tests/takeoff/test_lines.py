"""Packs: the cheapest of three mixes; with two sizes, the larger cheaper, the least that any number costs."""

import math
from dataclasses import replace
from decimal import Decimal as D

from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.calc.evaluation import number
from estimator.calc.tables import Draft, Table
from estimator.catalogue.records import Charged, Item
from estimator.takeoff.contents import Counted, Line, Naming, counted
from estimator.takeoff.inputs import pack_steps, prices_table
from estimator.takeoff.lines import Trails, costs, materials, pack_choice, purchases
from tests.layout.jobs import shipped

CENTS = st.integers(1, 5000).map(lambda n: D(n) / 100)


def sizes(*packs: tuple[int, D], charged: Charged = "pack") -> tuple[Item, ...]:
    """Return washers sold in packs of so many at such a price."""
    (washer,) = shipped().sizes("washer-retainer")
    kind = replace(washer, charged=charged)
    return tuple(replace(kind, key=f"pack-{n}", content=D(n), price=price) for n, price in packs)


def waste_of(share: D) -> Table:
    table = Draft("waste", "Waste")
    table.keys(["fastener"])
    table.input("share", "Waste", "%", [share])
    return table.table()


def nothing(key: str) -> Table:
    table = Draft(key, "")
    table.keys([])
    table.label("line", "", [])
    table.decided("quantity", "", "", [])
    return table.table()


def bought(net: int, share: D, items: tuple[Item, ...]) -> tuple[dict[str, int], D, bool]:
    """Return packs by item, what they cost and whether they are said to be short."""
    line = Line("w", items, "ea", "fastener", "")
    counts = counted(
        [Counted("w", "x", "y", net)], nothing("c"), nothing("d"), {"w": Naming("washers", "ea")}
    )
    trails = Trails(nothing("a"), nothing("b"), counts)
    prices = prices_table(items, {items[0].product: "ea"}, {}, "CAD", {})
    table = materials((line,), trails, waste_of(share))
    mix = pack_choice((line,), table, (prices, pack_steps(prices, "CAD")), "CAD")
    packs = purchases((line,), (table, mix), prices, "CAD")
    per_line, _, form = costs(table, packs, ("Fasteners",), "CAD")
    found = dict(
        zip(map(str, packs["item"].values), map(int, map(number, packs["packs"].values)), strict=True)
    )
    assert packs["missing"].values == tuple(D(i.price <= 0) for i in items)
    return found, number(form.value("materials_total")), per_line.value("short") == 1


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.integers(0, 400), st.integers(0, 30), st.integers(1, 40), st.integers(2, 12), CENTS, CENTS)
def test_two_sizes_cost_the_least_that_any_number_of_each_does(
    net: int, percent: int, content: int, times: int, small_price: D, large_price: D
) -> None:
    # The larger pack holds several of the smaller and is cheaper by the piece, as packs are.
    large_price = min(large_price, small_price * times)
    items = sizes((content * times, large_price), (content, small_price))
    share = D(percent) / 100
    need = net * (1 + share)
    most = int(need / (content * times)) + 2
    brute = min(
        a * large_price + max(0, math.ceil((need - a * content * times) / content)) * small_price
        for a in range(most)
    )
    counts, cost, short = bought(net, share, items)
    held = counts[f"pack-{content * times}"] * content * times + counts[f"pack-{content}"] * content
    assert held >= need
    assert not short
    assert cost == brute


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(1, 400), st.integers(2, 60), st.integers(61, 300), CENTS, CENTS)
def test_whatever_the_prices_the_cheapest_of_three_mixes_is_bought(
    net: int, small: int, large: int, small_price: D, large_price: D
) -> None:
    counts, cost, short = bought(net, D(0), sizes((large, large_price), (small, small_price)))
    all_large, all_small = -(-net // large), -(-net // small)
    rest = -(-max(0, net - (all_large - 1) * large) // small)
    assert cost == min(
        all_large * large_price, (all_large - 1) * large_price + rest * small_price, all_small * small_price
    )
    assert counts[f"pack-{large}"] * large + counts[f"pack-{small}"] * small >= net
    assert not short


def test_by_hand() -> None:
    # 105 washers: a box of 100 at 9.75 and one of 10 at 1.20 cost 10.95; two boxes 19.50; eleven of 10 13.20.
    counts, cost, _short = bought(100, D("0.05"), sizes((100, D("9.75")), (10, D("1.20"))))
    assert (counts, cost) == ({"pack-100": 1, "pack-10": 1}, D("10.95"))


def test_what_is_charged_by_use_costs_the_part_used_up() -> None:
    # 105 of the 110 that a box of 100 at 9.75 and one of 10 at 1.20 hold: 9.31 and 1.15.
    counts, cost, _short = bought(100, D("0.05"), sizes((100, D("9.75")), (10, D("1.20")), charged="use"))
    assert (counts, cost) == ({"pack-100": 1, "pack-10": 1}, D("10.46"))


def test_a_price_of_nothing_is_marked() -> None:
    assert bought(3, D(0), sizes((10, D(0))))[1] == 0


def test_nothing_needed_buys_nothing() -> None:
    counts, cost, short = bought(0, D("0.1"), sizes((100, D("9.75")), (10, D("1.20"))))
    assert (set(counts.values()), cost, short) == ({0}, D(0), False)

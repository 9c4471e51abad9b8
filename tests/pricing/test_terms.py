"""Terms and what they do to a price: by hand, edge by edge, and as the office would change them."""

import datetime as dt
from collections.abc import Callable, Sequence
from decimal import Decimal as D
from typing import Any

import pytest
from pydantic import ValidationError

from estimator.calc.evaluation import evaluate
from estimator.calc.tables import Draft
from estimator.catalogue.terms import Terms
from estimator.core.errors import InputError
from estimator.job.fields import Other
from estimator.pricing.cases import DirectCost, OptionCost
from estimator.pricing.other_lines import OtherLine, other_lines
from estimator.pricing.totals import Pricing, moved, reckon_price

DAY = dt.date(2026, 11, 25)
Recalculate = Callable[..., dict[tuple[str, str, int], Any]]
DATED = {"since": dt.date(2008, 1, 1), "authority": "nowhere", "source": "invented"}


def step(label: str, **what: str) -> dict[str, Any]:
    return {"label": label, "when": "then", **what}


def terms(**changes: Any) -> Terms:
    plain = {"schema": 1, "name": "t", "profit": {"margin": "25 %"}, "overhead": "0 %",
             "contingency": {"rate": "0 %"}, "payment": [step("all", share="100 %")],
             "validity_days": 30}  # fmt: skip
    return Terms.model_validate(plain | changes)


def given(materials: str = "0.00", labour: str = "0.00", other: str = "0.00") -> DirectCost:
    draft = Draft("given", "Given", "across")
    keys = ("given_materials", "given_labour", "given_other", "given_eighty", "given_ninety")
    for key, value in zip(keys, (materials, labour, other, "60.00", "120.00"), strict=True):
        draft.input(key, key, "CAD", [D(value)])
    return DirectCost(*(field.at() for field in draft.fields))


def price(on: Terms, direct: DirectCost, options: Sequence[OptionCost] = (), **more: Any) -> Pricing:
    return reckon_price(direct, on, options, day=DAY, currency="CAD", **more)


def line(text: str, rate: str, **more: Any) -> OtherLine:
    return other_lines([Other(text=text, rate=rate, **more)])[0]  # type: ignore[arg-type]


def test_lines_at_cost_carry_no_overhead_markup_or_discount() -> None:
    # 1000.00; overhead 10 % 100.00; markup 50 % 550.00; less 10 % 165.00: 1485.00; hire 2 x 310.00 and a
    # permit of 85.00 as they are: 2190.00. Tax 10 % of all but the permit: 210.50.
    taxes = [{"name": "VAT", "rate": "10 %", "base": "price", **DATED}]
    on = terms(overhead="10 %", profit={"markup": "50 %"}, discount="10 %", tax=taxes)
    hire = line("Scaffold", "310.00", quantity=2, unit="day", charged="at cost")
    got = price(on, given("1000.00"), others=[hire, line("Permit", "85.00", charged="at cost", taxed=False)])
    totals = got.totals()
    assert (totals.at_cost, totals.price, totals.tax) == (D(705), D(2190), D("210.50"))
    assert (totals.cost, totals.profit) == (D(1805), D(385))
    assert [(o.text, o.unit, o.price) for o in got.others] == [
        ("Scaffold", "day", D(620)),
        ("Permit", "", D(85)),
    ]


def test_a_line_marked_up_is_shown_at_what_it_is_of_the_price() -> None:
    # 100.00 + 100.00 for travel; overhead 10 %, markup 50 %: 330.00, of which travel is half.
    on = terms(overhead="10 %", profit={"markup": "50 %"})
    got = price(on, given("100.00"), others=[line("Travel", "2.00", quantity=50, unit="km")])
    assert (got.totals().price, got.others[0].price) == (D(330), D(165))


def test_a_line_that_is_marked_up_is_taxed_with_the_price() -> None:
    with pytest.raises(ValidationError, match="is taxed with the price"):
        line("Travel", "2.00", taxed=False)


def test_margin_and_markup_of_the_same_number_are_not_the_same_price() -> None:
    # Own arithmetic: 1000 / (1 - 0.25) = 1333.33; 1000 x 1.25 = 1250.00, a margin of 20 %.
    by_margin = price(terms(), given("1000.00")).totals()
    assert (by_margin.price, round(by_margin.markup, 4)) == (D("1333.33"), D("0.3333"))
    by_markup = price(terms(profit={"markup": "25 %"}), given("1000.00")).totals()
    assert (by_markup.price, by_markup.margin) == (D("1250.00"), D("0.2"))


def test_every_step_by_hand() -> None:
    # 1000.00 + 500.00 + 85.50 + allowance 14.50 = 1600.00; overhead 10 % 160.00; contingency 5 % of
    # 1760.00 = 88.00; cost 1848.00; / 0.75 = 2464.00; less 2.5 % 61.60 = 2402.40; up to 2410.00; GST 5 %
    # 120.50, PST 7 % 168.70; 2699.20, of which 40 % 1079.68 and the rest 1619.52.
    taxes = [{"name": "GST", "rate": "5 %", "base": "price", **DATED},
             {"name": "PST", "rate": "7 %", "base": "price", **DATED}]  # fmt: skip
    on = terms(overhead="10 %", contingency={"rate": "5 %"}, discount="2.5 %", rounding="10.00", tax=taxes,
               payment=[step("deposit", share="40 %"), step("rest", share="60 %")])  # fmt: skip
    got = price(on, given("1000.00", "500.00", "85.50"), others=[line("lift", "14.50")]).totals()
    assert (got.direct, got.overhead, got.contingency, got.cost) == (D(1600), D(160), D(88), D(1848))
    assert (got.full_price, got.discount, got.rounding, got.price) == (
        D(2464),
        D("61.60"),
        D("7.60"),
        D(2410),
    )
    assert [t.amount for t in got.taxes] == [D("120.50"), D("168.70")]
    assert [p.amount for p in got.payments] == [D("1079.68"), D("1619.52")]
    assert got.total == D("2699.20")
    assert got.profit == got.price - got.cost


def test_the_last_step_takes_the_odd_cent() -> None:
    thirds = [step(n, share=s) for n, s in (("a", "33.33 %"), ("b", "33.33 %"), ("c", "33.34 %"))]
    got = price(terms(profit={"markup": "0 %"}, payment=thirds), given("100.01")).totals()
    assert [p.amount for p in got.payments] == [D("33.33"), D("33.33"), D("33.35")]


def test_fixed_amounts_come_before_the_rest() -> None:
    steps = [step("deposit", amount="500.00"), step("half", share="50 %"), step("rest", share="0 %")]
    got = price(terms(profit={"markup": "0 %"}, payment=steps), given("1200.00")).totals()
    assert [p.amount for p in got.payments] == [D(500), D(600), D(100)]


def test_steps_over_the_total_are_refused() -> None:
    steps = [step("deposit", amount="500.00"), step("rest", share="0 %")]
    with pytest.raises(InputError, match="base: the payment steps come to more than the total"):
        price(terms(payment=steps), given("100.00"))


@pytest.mark.parametrize(("chance", "reserve"), [("80 %", "60.00"), ("95 %", "120.00")])
def test_contingency_from_the_labour_spread(chance: str, reserve: str) -> None:
    got = price(terms(contingency={"from_spread": chance}), given("1000.00")).totals()
    assert got.contingency == D(reserve)


def test_a_reserve_without_labour_is_refused() -> None:
    direct = given("1.00")
    bare = DirectCost(direct.materials, direct.labour, direct.other)
    with pytest.raises(InputError, match="no labour was worked out"):
        price(terms(contingency={"from_spread": "80 %"}), bare)


def test_terms_in_another_currency_are_refused_not_converted() -> None:
    with pytest.raises(InputError, match="the terms are in EUR and the job is in CAD"):
        price(terms(currency="EUR"), given("1.00"))


def test_a_margin_under_the_floor_warns() -> None:
    got = price(terms(profit={"margin": "12 %"}, margin_floor="15 %"), given("100.00"))
    (problem,) = got.problems
    assert (problem.severity, problem.what) == ("warning", "base: the margin is under the floor")


def test_the_cent_of_the_price_is_not_under_the_floor() -> None:
    # 1000.00 / 0.75 = 1333.33, of which the profit 333.33 is 24.9998 %.
    assert price(terms(margin_floor="25 %"), given("1000.00")).problems == ()


def test_an_expired_tax_is_left_out_and_said() -> None:
    old = {"name": "GST", "rate": "7 %", "base": "price", **DATED, "until": dt.date(2006, 6, 30),
           "since": dt.date(1991, 1, 1)}  # fmt: skip
    got = price(terms(tax=[old]), given("100.00"))
    assert got.totals().taxes == ()
    assert "none of the terms' taxes is in force on 2026-11-25" in got.problems[0].what


def test_too_many_taxes_are_refused() -> None:
    lines = [{"name": f"T{n}", "rate": "1 %", "base": "price", **DATED} for n in range(4)]
    with pytest.raises(InputError, match="4 taxes are in force"):
        price(terms(tax=lines), given("100.00"))


def test_a_tax_on_purchases_cannot_be_worked_out_on_the_price() -> None:
    line = {"name": "PST", "rate": "7 %", "base": "price", "inside": True, **DATED}
    with pytest.raises(InputError, match="a tax paid on purchases is worked out on the price"):
        price(terms(tax=[line]), given("100.00"))


def test_a_compound_tax_stands_on_the_one_before() -> None:
    # As QST did until 2012: 5 % of 100.00, then 9.5 % of 105.00 (9.975).
    lines = [{"name": "GST", "rate": "5 %", "base": "price", **DATED},
             {"name": "QST", "rate": "9.5 %", "base": "price", "compound": True, **DATED}]  # fmt: skip
    got = price(terms(profit={"markup": "0 %"}, tax=lines), given("100.00")).totals()
    assert [t.amount for t in got.taxes] == [D("5.00"), D("9.98")]


def test_each_tax_line_keeps_its_own_number_and_whether_it_is_recoverable() -> None:
    lines = [{"name": "GST", "rate": "5 %", "base": "price", "number": "00000 0000 RT0001", **DATED},
             {"name": "PST", "rate": "7 %", "base": "price", "recoverable": False, **DATED}]  # fmt: skip
    got = price(terms(tax=lines), given("100.00")).totals()
    assert [(t.number, t.recoverable) for t in got.taxes] == [("00000 0000 RT0001", True), ("", False)]


def test_options_are_priced_as_jobs_of_their_own() -> None:
    on = terms(overhead="10 %", rounding="5.00")
    options = [OptionCost("deep", "Deeper", D("1300.00"), D("450.00"), D("0.00"))]
    both = price(on, given("1000.00", "400.00"), options)
    alone = price(on, given("1300.00", "450.00"))
    for key in ("direct", "overhead", "cost", "price", "total", "profit"):
        assert getattr(both.totals(1), key) == getattr(alone.totals(0), key)
    assert both.build_up.value("bu_price_change", 1) == both.totals(1).price - both.totals(0).price
    assert (both.totals(1).case, both.totals(1).title) == ("deep", "Deeper")


def test_the_terms_file_and_the_office_come_to_the_same() -> None:
    asked = price(terms(profit={"margin": "31.5 %"}), given("1234.56")).totals()
    edits = {"terms.margin_asked": D("0.315")}
    assert price(terms(), given("1234.56"), edits=edits).totals() == asked


def test_the_office_changes_margin_and_tax_in_the_workbook(recalculate: Recalculate) -> None:
    draft = Draft("given", "Given", "across")
    for key in ("given_materials", "given_labour", "given_other"):
        draft.input(key, key, "CAD", [D("411.52")])
    direct = DirectCost(*(field.at() for field in draft.fields))
    line = {"name": "GST", "rate": "5 %", "base": "price", **DATED}
    before = price(terms(tax=[line]), direct)
    wanted = price(terms(profit={"markup": "40 %"}, tax=[{**line, "rate": "13 %"}]), direct).totals()
    found = recalculate(
        {"inputs": (draft.table(), *before.inputs), "workings": before.workings, "outputs": before.outputs},
        {("terms", "profit_by", 0): "markup", ("terms", "markup_asked", 0): D("0.4"),
         ("taxes", "tax_rate", 0): D("0.13")},
    )  # fmt: skip
    assert found["build_up", "bu_price", 0] == pytest.approx(float(wanted.price), abs=1e-9)
    assert found["build_up", "bu_total", 0] == pytest.approx(float(wanted.total), abs=1e-9)
    assert found["payment_plan", "due_0", 0] == pytest.approx(float(wanted.total), abs=1e-9)


FAULTS: dict[str, dict[tuple[str, str, int], Any]] = {
    "margin_possible": {("terms", "margin_asked", 0): D("1.2")},
    "tax_possible": {("taxes", "tax_inside", 0): "yes"},
    "steps_in_order": {("payments", "pay_label", 0): "none", ("payments", "pay_label", 2): "late"},
    "one_step": {("payments", "pay_label", 0): "none", ("payments", "pay_label", 1): "none"},
    "no_minus_0": {("payments", "pay_amount", 0): D(99999)},
    "floor_0": {("terms", "margin_floor", 0): D("0.9")},
    "paid_0": {("payments", "pay_label", 0): "none", ("payments", "pay_label", 1): "none"},
}


@pytest.mark.parametrize("fault", list(FAULTS))
def test_a_planted_fault_trips_its_check(recalculate: Recalculate, fault: str) -> None:
    draft = Draft("given", "Given", "across")
    for key in ("given_materials", "given_labour", "given_other"):
        draft.input(key, key, "CAD", [D("411.52")])
    direct = DirectCost(*(field.at() for field in draft.fields))
    line = {"name": "GST", "rate": "5 %", "base": "price", **DATED}
    halves = [step("deposit", share="50 %"), step("rest", share="50 %")]
    sound = price(terms(tax=[line], payment=halves), direct)
    control = Draft("checks", "Checks")
    control.keys([c.key for c in sound.checks])
    control.each("ok", "Holds", "", [c.ok for c in sound.checks])
    assert all(evaluate(c.ok, 0) == 1 for c in sound.checks)
    roles = {"inputs": (draft.table(), *sound.inputs), "workings": sound.workings,
             "outputs": sound.outputs, "control": (control.table(),)}  # fmt: skip
    keys = [c.key for c in sound.checks]
    assert recalculate(roles)["checks", "ok", keys.index(fault)] == 1
    assert recalculate(roles, FAULTS[fault])["checks", "ok", keys.index(fault)] == 0


def test_what_moved_between_two_prices() -> None:
    line = {"name": "GST", "rate": "5 %", "base": "price", **DATED}
    before = price(terms(tax=[line]), given("1000.00")).totals()
    after = price(terms(profit={"margin": "30 %"}), given("1100.00")).totals()
    moves = {m.key: m for m in moved(before, after)}
    assert (moves["materials"].change, moves["materials"].share) == (D(100), D("0.1"))
    assert (moves["tax:GST"].before, moves["tax:GST"].after) == (D("66.67"), D(0))
    assert moves["labour"].share is None
    assert moves["total"].change == after.total - before.total


def test_the_words_of_a_payment_step_may_be_emptied() -> None:
    (steps,) = (t for t in price(terms(), given("1.00")).inputs if t.key == "payments")
    assert (steps["pay_label"].blank, steps["pay_when"].blank) == ("none", "none")

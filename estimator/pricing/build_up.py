"""The price of every case, step by step: direct cost to total, one row a step, one column a case.

``price = cost / (1 - margin)`` or ``cost x (1 + markup)``; every line is rounded to the cent and totals
add rounded lines.

Source: own arithmetic; EN 16931-1:2017, BR-CO-10 to BR-CO-17, for totals as sums of rounded lines.

Payment steps: shares or amounts of the total, the last step taking what is left, to the cent.
"""

from collections.abc import Sequence
from decimal import Decimal

from estimator.calc.expressions import All, At, Expr, Field, call, cents, if_, lift, round_to, total
from estimator.calc.tables import Draft, Table
from estimator.pricing.other_lines import NONE
from estimator.pricing.terms_inputs import BY_RATE, TaxCells, said


def build_up(direct: Table, form: Table, taxes: Sequence[TaxCells], currency: str) -> Table:
    """Return the build-up of every case of `direct`, on the terms of `form`.

    Args:
        direct: `direct_table` of the cases.
        form: the terms' form.
        taxes: the tax lines' cells.
        currency: ISO 4217 code.
    """
    draft = Draft("build_up", "Price build-up", "across")
    draft.label("bu_case", "Option", direct["dc_case"].values)
    cost = _cost(draft, direct, form, taxes, currency)
    price = _price(draft, cost, direct, form, currency)
    _profit(draft, cost + direct["dc_at_cost"], price, currency)
    total = _tax(draft, direct, price, taxes, currency)
    draft.formula("bu_price_change", "Price against the base", currency, price - At(price, 0))
    draft.formula("bu_total_change", "Total against the base", currency, total - At(total, 0))
    return draft.table()


def added(fields: Sequence[Field]) -> Expr:
    """Return the sum of the cells of at least one field in the formula's own case."""
    out = lift(fields[0])
    for one in fields[1:]:
        out = out + one
    return out


def _cost(draft: Draft, direct: Table, form: Table, taxes: Sequence[TaxCells], currency: str) -> Field:
    materials = draft.formula("bu_materials", "Materials", currency, lift(direct["dc_materials"]))
    labour = draft.formula("bu_labour", "Labour", currency, lift(direct["dc_labour"]))
    others = added([direct[key] for key in ("dc_other", "dc_others", *(f"dc_{t.key}" for t in taxes))])
    other = draft.formula("bu_other", "Other lines, tax on purchases", currency, others)
    cost = draft.formula("bu_direct", "Direct cost", currency, materials + labour + other)
    overhead = draft.formula("bu_overhead", "Overhead", currency,
                             cents(cost * form["overhead_rate"].at()))  # fmt: skip
    by_rate = (cost + overhead) * form["contingency_rate"].at()
    chosen = if_(form["contingency_by"].at().eq(BY_RATE), by_rate, direct["dc_reserve"])
    contingency = draft.formula("bu_contingency", "Contingency", currency, cents(chosen))
    return draft.formula("bu_own", "Cost, with profit on it", currency, cost + overhead + contingency)


def _price(draft: Draft, cost: Field, direct: Table, form: Table, currency: str) -> Field:
    margin = form["margin_asked"].at()
    by_margin = call("IFERROR", cost * margin / (1 - margin), 0)
    asked = if_(form["profit_by"].at().eq("margin"), by_margin, cost * form["markup_asked"].at())
    profit = draft.formula("bu_profit_asked", "Profit", currency, cents(asked))
    full = draft.formula("bu_full", "Price before discount", currency, cost + profit)
    discount = draft.formula("bu_discount", "Discount", currency,
                             cents(full * form["discount_rate"].at()))  # fmt: skip
    at_cost = draft.formula("bu_at_cost", "Lines at cost", currency, lift(direct["dc_at_cost"]))
    net = draft.formula("bu_net", "Price before rounding", currency, full - discount + at_cost)
    step = form["quote_step"].at()
    steps = call("ROUNDUP", round_to(net / step, 6), 0) * step
    rounding = draft.formula("bu_rounding", "Rounding of the quote", currency,
                             if_(step.eq(0), 0, cents(steps - net)))  # fmt: skip
    return draft.formula("bu_price", "Price before tax", currency, net + rounding)


def _profit(draft: Draft, costs: Expr, price: Field, currency: str) -> None:
    cost = draft.formula("bu_cost", "Cost", currency, costs)
    profit = draft.formula("bu_profit", "Profit after discount and rounding", currency, price - cost)
    draft.formula("bu_margin", "Margin, of the price", "%", call("IFERROR", profit / price, 0), places=2)
    draft.formula("bu_markup", "Markup, on cost", "%", call("IFERROR", profit / cost, 0), places=2)


def _tax(draft: Draft, direct: Table, price: Field, taxes: Sequence[TaxCells], currency: str) -> Field:
    above: list[Field] = []
    for tax in taxes:
        called = tax.key.removeprefix("tax_").capitalize()
        draft.formula(f"bu_{tax.key}_name", f"{called} tax", "", tax.name)
        parts: Expr = direct[f"dc_{tax.key}_base"] + tax.price * (price - direct["dc_untaxed"])
        if above:
            parts = parts + tax.compound * added(above)
        base = draft.formula(f"bu_{tax.key}_base", f"{called} tax: base", currency, tax.outside * parts)
        above.append(draft.formula(f"bu_{tax.key}", f"{called} tax: amount", currency, tax.on(lift(base))))
    tax_total = draft.formula("bu_tax", "Tax", currency, added(above))
    return draft.formula("bu_total", "Total", currency, price + tax_total)


def payment_terms(payments: Table) -> Table:
    """Return which rows of the input table are steps, and which of them is the last."""
    draft = Draft("payment_terms", "How the total is paid")
    key = draft.names([str(k) for k in payments["key"].values], "Code")
    place = call("MATCH", key, All(payments["key"]), 0)
    line = draft.formula("pay_line", "Row of the list", "", place, places=0)
    step = draft.formula("pay_step", "Step", "", said(payments["pay_label"], line))
    draft.formula("pay_due", "Due", "", said(payments["pay_when"], line))
    for field, part in ((payments["pay_share"], "part"), (payments["pay_amount"], "fixed")):
        draft.formula(f"pay_{part}", field.label, field.unit, call("INDEX", All(field), line))
    order = draft.decided("pay_order", "No.", "", [Decimal(n + 1) for n in range(payments.count)], 0)

    def answer(key: str, label: str, expr: Expr) -> Field:
        return draft.formula(key, f"{label} (1 = yes)", "", expr, places=0)

    used = answer("pay_used", "Is a step", if_(step.eq(NONE), 0, 1))
    early = answer("pay_early", "Before the last", if_(order.lt(total(used)), 1, 0))
    last = answer("pay_last", "Is the last", if_(order.eq(total(used)), 1, 0))
    answer("pay_placed", "Is a step in its place", used * (early + last))
    return draft.table()


def payment_plan(terms: Table, totals: Field, cases: Sequence[str], currency: str) -> Table:
    """Return what is due at every step of every case; each case's column adds up to its total.

    Args:
        terms: `payment_terms` of the steps.
        totals: the total of every case, tax included.
        cases: the cases' names.
        currency: ISO 4217 code.
    """
    draft = Draft("payment_plan", "Payments, tax included")
    draft.keys([str(k) for k in terms["key"].values])
    draft.formula("plan_step", "Step", "", lift(terms["pay_step"]))
    draft.formula("plan_when", "Due", "", lift(terms["pay_due"]))
    for n, name in enumerate(cases):
        share = totals.at(n) * terms["pay_part"] + terms["pay_fixed"]
        early = draft.formula(f"early_{n}", f"{name}: before the last", currency,
                              cents(terms["pay_early"] * share))  # fmt: skip
        rest = terms["pay_last"] * (totals.at(n) - total(early))
        draft.formula(f"due_{n}", name, currency, cents(early + rest))
    return draft.table()

"""The price of every case, step by step: direct cost to total, one row a step, one column a case.

``price = cost / (1 - margin)`` or ``cost x (1 + markup)``; every line is rounded to the cent and totals
add rounded lines.

Source: own arithmetic; EN 16931-1:2017, BR-CO-10 to BR-CO-17, for totals as sums of rounded lines.
"""

from collections.abc import Sequence

from estimator.calc.expressions import At, Expr, call, cents, if_, lift, round_to
from estimator.calc.tables import Draft, Field, Table
from estimator.pricing.tax import TaxCells
from estimator.pricing.terms_inputs import BY_RATE


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
    price = _price(draft, cost, form, currency)
    _profit(draft, cost, price, currency)
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
    others = added([direct[key] for key in ("dc_other", "dc_allowances", *(f"dc_{t.key}" for t in taxes))])
    other = draft.formula("bu_other", "Other, allowances, tax on purchases", currency, others)
    cost = draft.formula("bu_direct", "Direct cost", currency, materials + labour + other)
    overhead = draft.formula("bu_overhead", "Overhead", currency,
                             cents(cost * form["overhead_rate"].at()))  # fmt: skip
    by_rate = (cost + overhead) * form["contingency_rate"].at()
    chosen = if_(form["contingency_by"].at().eq(BY_RATE), by_rate, direct["dc_reserve"])
    contingency = draft.formula("bu_contingency", "Contingency", currency, cents(chosen))
    return draft.formula("bu_cost", "Cost", currency, cost + overhead + contingency)


def _price(draft: Draft, cost: Field, form: Table, currency: str) -> Field:
    margin = form["margin_asked"].at()
    by_margin = call("IFERROR", cost * margin / (1 - margin), 0)
    asked = if_(form["profit_by"].at().eq("margin"), by_margin, cost * form["markup_asked"].at())
    profit = draft.formula("bu_profit_asked", "Profit", currency, cents(asked))
    full = draft.formula("bu_full", "Price before discount", currency, cost + profit)
    discount = draft.formula("bu_discount", "Discount", currency,
                             cents(full * form["discount_rate"].at()))  # fmt: skip
    net = draft.formula("bu_net", "Price after discount", currency, full - discount)
    step = form["quote_step"].at()
    steps = call("ROUNDUP", round_to(net / step, 6), 0) * step
    rounding = draft.formula("bu_rounding", "Rounding of the quote", currency,
                             if_(step.eq(0), 0, cents(steps - net)))  # fmt: skip
    return draft.formula("bu_price", "Price before tax", currency, net + rounding)


def _profit(draft: Draft, cost: Field, price: Field, currency: str) -> None:
    profit = draft.formula("bu_profit", "Profit after discount and rounding", currency, price - cost)
    draft.formula("bu_margin", "Margin, of the price", "%", call("IFERROR", profit / price, 0), places=2)
    draft.formula("bu_markup", "Markup, on cost", "%", call("IFERROR", profit / cost, 0), places=2)


def _tax(draft: Draft, direct: Table, price: Field, taxes: Sequence[TaxCells], currency: str) -> Field:
    above: list[Field] = []
    for tax in taxes:
        called = tax.key.removeprefix("tax_").capitalize()
        draft.formula(f"bu_{tax.key}_name", f"{called} tax", "", tax.name)
        parts: Expr = direct[f"dc_{tax.key}_base"] + tax.price * price
        if above:
            parts = parts + tax.compound * added(above)
        base = draft.formula(f"bu_{tax.key}_base", f"{called} tax: base", currency, tax.outside * parts)
        above.append(draft.formula(f"bu_{tax.key}", f"{called} tax: amount", currency, tax.on(lift(base))))
    tax_total = draft.formula("bu_tax", "Tax", currency, added(above))
    return draft.formula("bu_total", "Total", currency, price + tax_total)

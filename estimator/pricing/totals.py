"""The price of a job on a client's terms: tables, checks, warnings; what it comes to, and what moved.

The figures of a finished build-up, read off its cells into a frozen record.
"""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimator.calc.evaluation import evaluate, number
from estimator.calc.expressions import All, Expr, call, if_, round_to, total
from estimator.calc.tables import Table
from estimator.catalogue.terms import Tax, Terms
from estimator.core.errors import InputError, Problem, Severity, refuse_all
from estimator.core.money import rounded, split
from estimator.pricing.build_up import build_up, payment_plan, payment_terms
from estimator.pricing.cases import (
    DirectCost,
    Following,
    OptionCost,
    cases_table,
    direct_table,
)
from estimator.pricing.other_lines import NONE, YES, OtherLine, other_sums, read_others
from estimator.pricing.terms_inputs import (
    NO_EDITS,
    TAX_LINES,
    Edits,
    TaxCells,
    TermsInputs,
    tax_terms,
    terms_inputs,
)


@dataclass(frozen=True, slots=True)
class Check:
    """A line of the checks.

    Attributes:
        label: what has to hold, for the checks sheet.
        failing: what is wrong where it does not hold.
        ok: 1 where it holds, otherwise 0.
        fix: what to do where it does not.
        severity: 'error' where there is no price without it.
    """

    key: str
    label: str
    failing: str
    ok: Expr
    fix: str
    severity: Severity = "error"


def _flag(condition: Expr) -> Expr:
    return if_(condition, 1, 0)


def price_checks(
    inputs: TermsInputs, taxes: Sequence[TaxCells], tables: tuple[Table, Table, Table]
) -> tuple[Check, ...]:
    """Return the checks of the terms, then those of every case.

    Args:
        inputs: the terms.
        taxes: the cells of every tax line.
        tables: payment terms, build-up and payment plan.
    """
    steps, price, plan = tables
    cases = (
        c for n, name in enumerate(price["bu_case"].values) for c in _case(inputs, price, plan, n, str(name))
    )
    return (*_terms(inputs, taxes, steps), *cases)


def _terms(inputs: TermsInputs, taxes: Sequence[TaxCells], steps: Table) -> Iterator[Check]:
    margin = inputs.form["margin_asked"].at()
    yield Check("margin_possible", "The margin asked is under 100 %", "the margin asked is 100 % or more",
                _flag(margin.lt(1)),
                "A margin is a part of the price.")  # fmt: skip
    circular = taxes[0].circular
    for tax in taxes[1:]:
        circular = circular + tax.circular
    yield Check("tax_possible", "No tax paid on purchases is worked out on the price",
                "a tax paid on purchases is worked out on the price", _flag(circular.eq(0)),
                "Work it out on materials or another part of the cost.")  # fmt: skip
    used = steps["pay_used"]
    yield Check("steps_in_order", "Payment steps start at the top, without a gap",
                "the payment steps have a gap",
                _flag(total(steps["pay_placed"]).eq(total(used))), "Move them up.")  # fmt: skip
    yield Check(
        "one_step",
        "There is a payment step",
        "there is no payment step",
        _flag(total(used).ge(1)),
        "Name one.",
    )


def _case(inputs: TermsInputs, price: Table, plan: Table, case: int, name: str) -> Iterator[Check]:
    due, owed = plan[f"due_{case}"], price["bu_total"].at(case)
    floor = inputs.form["margin_floor"].at()
    level = round_to(total(due) - owed, 2).eq(0)
    yield Check(
        f"paid_{case}",
        f"{name}: payments add up to the total",
        f"{name}: the payments do not add up to the total",
        _flag(level),
        "Correct the steps.",
    )
    least = call("MIN", All(due))
    yield Check(f"no_minus_{case}", f"{name}: the payment steps come to no more than the total",
                f"{name}: the payment steps come to more than the total",
                _flag(least.ge(0)), "Lower the fixed amounts, or write shares.")  # fmt: skip
    # To a hundredth of a per cent: the cent of the price may bring a margin a hair under what was asked.
    above = round_to(price["bu_margin"].at(case), 4).ge(floor)
    yield Check(f"floor_{case}", f"{name}: the margin is not under the floor",
                f"{name}: the margin is under the floor", _flag(above),
                "Raise the profit or lower the discount.", "warning")  # fmt: skip


ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class TaxAmount:
    """A tax line: `rate` as a fraction of `base`; `number` is the shop's registration, '' for none."""

    name: str
    rate: Decimal
    base: Decimal
    amount: Decimal
    number: str = ""
    recoverable: bool = True


@dataclass(frozen=True, slots=True)
class PaymentAmount:
    """A payment step of the total, tax included."""

    label: str
    when: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Totals:
    """A price and how it came about, in the order it is built up.

    Attributes:
        case, title: 'base' or the option's name, and its title.
        materials, labour, other: direct cost; `other` holds lines marked up and tax paid on purchases.
        purchase_taxes: taxes inside `other`, paid by the shop on what it buys.
        overhead, contingency: added to direct cost.
        cost: all of these and what stands in the price at cost.
        profit_asked, full_price: as the margin or markup gives them, before discount and rounding.
        discount: taken off the full price.
        at_cost: lines that stand in the price as they are.
        rounding: added to reach the quote's step.
        price: before tax. `profit` = price - cost.
        margin, markup: profit as a fraction of price and of cost; 0 where there is none.
        taxes, tax, total: tax lines, their sum, and price with tax.
        payments: add up to `total`.
    """

    case: str
    title: str
    materials: Decimal
    labour: Decimal
    other: Decimal
    purchase_taxes: tuple[TaxAmount, ...]
    direct: Decimal
    overhead: Decimal
    contingency: Decimal
    cost: Decimal
    profit_asked: Decimal
    full_price: Decimal
    discount: Decimal
    at_cost: Decimal
    rounding: Decimal
    price: Decimal
    profit: Decimal
    margin: Decimal
    markup: Decimal
    taxes: tuple[TaxAmount, ...]
    tax: Decimal
    total: Decimal
    payments: tuple[PaymentAmount, ...]


@dataclass(frozen=True, slots=True)
class Move:
    """How one figure moved; `share` is the change as a fraction of `before`, None where that is 0."""

    key: str
    label: str
    before: Decimal
    after: Decimal

    @property
    def change(self) -> Decimal:
        """Return after - before."""
        return self.after - self.before

    @property
    def share(self) -> Decimal | None:
        """Return the change as a fraction of what was."""
        return self.change / self.before if self.before else None


FIGURES = (
    ("materials", "Materials"), ("labour", "Labour"), ("other", "Other"), ("direct", "Direct cost"),
    ("overhead", "Overhead"), ("contingency", "Contingency"), ("at_cost", "Lines at cost"), ("cost", "Cost"),
    ("profit_asked", "Profit as asked"), ("full_price", "Price before discount and lines at cost"),
    ("discount", "Discount"), ("rounding", "Rounding of the quote"),
    ("price", "Price before tax"),
    ("profit", "Profit after discount and rounding"), ("margin", "Margin"), ("tax", "Tax"),
    ("total", "Total"),
)  # fmt: skip


def moved(before: Totals, after: Totals) -> tuple[Move, ...]:
    """Return every figure of the build-up before and after, then every tax line of either by name."""
    figures = [Move(k, label, getattr(before, k), getattr(after, k)) for k, label in FIGURES]
    return (*figures, *_moved_taxes(before.taxes, after.taxes))


def _moved_taxes(before: Sequence[TaxAmount], after: Sequence[TaxAmount]) -> list[Move]:
    was, now = ({t.name: t.amount for t in taxes} for taxes in (before, after))
    return [Move(f"tax:{name}", name, was.get(name, ZERO), now.get(name, ZERO)) for name in {**was, **now}]


_FIGURES = {
    "materials": "bu_materials", "labour": "bu_labour", "other": "bu_other", "direct": "bu_direct",
    "overhead": "bu_overhead", "contingency": "bu_contingency", "cost": "bu_cost",
    "profit_asked": "bu_profit_asked", "full_price": "bu_full", "discount": "bu_discount",
    "at_cost": "bu_at_cost", "rounding": "bu_rounding", "price": "bu_price", "profit": "bu_profit",
    "tax": "bu_tax", "total": "bu_total",
}  # fmt: skip


def read_totals(tables: Sequence[Table], taxes: Sequence[TaxCells], case: int) -> Totals:
    """Return the figures of a case of a price's tables; 0 is the base."""
    found = {table.key: table for table in tables}
    price, direct, plan = (found[k] for k in ("build_up", "direct_costs", "payment_plan"))
    figures = {name: rounded(number(price.value(key, case))) for name, key in _FIGURES.items()}
    margin, markup = (number(price.value(key, case)) for key in ("bu_margin", "bu_markup"))
    return Totals(
        case=str(price.value("bu_case", case)),
        title=str(found["cases"].value("case_title", case)),
        purchase_taxes=_taxes(taxes, direct, "dc", case, outside=False),
        taxes=_taxes(taxes, price, "bu", case, outside=True),
        payments=_payments(plan, case),
        margin=margin,
        markup=markup,
        **figures,
    )


def _text(expr: Expr) -> str:
    value = evaluate(expr, 0)
    return "" if value in (None, NONE) else str(value)


def _taxes(
    taxes: Sequence[TaxCells], table: Table, prefix: str, case: int, *, outside: bool
) -> tuple[TaxAmount, ...]:
    """Return the named tax lines that are added to the price, or those paid on purchases."""
    return tuple(
        TaxAmount(
            _text(tax.name), number(evaluate(tax.rate, 0)),
            rounded(number(table.value(f"{prefix}_{tax.key}_base", case))),
            rounded(number(table.value(f"{prefix}_{tax.key}", case))),
            _text(tax.number), evaluate(tax.recoverable, 0) == YES,
        )
        for tax in taxes
        if _text(tax.name) and bool(evaluate(tax.outside, 0)) is outside
    )  # fmt: skip


def _payments(plan: Table, case: int) -> tuple[PaymentAmount, ...]:
    rows = zip(*(plan[k].values for k in ("plan_step", "plan_when", f"due_{case}")), strict=True)
    return tuple(
        PaymentAmount(str(step), str(when), rounded(due))
        for step, when, due in rows
        if step != NONE and isinstance(due, Decimal)
    )


Parts = tuple[tuple[str, Decimal], ...]


@dataclass(frozen=True, slots=True)
class Shares:
    """Three ways to say one price; the parts of each add up to it exactly.

    Attributes:
        sum: one line.
        section: by what is bought and done, shared by cost.
        wall: by treatment or piece, shared by covered area.
    """

    sum: Parts
    section: Parts
    wall: Parts


def shared(
    price: Decimal,
    sections: Mapping[str, Decimal],
    areas: Mapping[str, Decimal],
    *,
    labour: Decimal,
    other: Decimal,
    at_cost: Parts = (),
) -> Shares:
    """Return a price taken apart.

    Args:
        price: before tax.
        sections: cost of the materials of each section of the price list, in the job's currency.
        areas: covered area of each treatment or piece, in any unit of area.
        labour: its cost, a section of its own.
        other: cost of lines marked up; a section of its own where there are any.
        at_cost: lines that stand in the price as they are, by text.
    """
    costs = {**sections, "Labour": labour}
    if other:
        costs["Other"] = other
    own = price - sum((amount for _, amount in at_cost), ZERO)
    return Shares(
        (("The work as described", own), *at_cost),
        (*zip(costs, split(own, [*costs.values()]), strict=True), *at_cost),
        (*zip(areas, split(own, [*areas.values()]), strict=True), *at_cost),
    )


@dataclass(frozen=True, slots=True)
class Pricing:
    """The price of a job.

    Attributes:
        inputs: terms, taxes, payment steps, other lines: for an inputs sheet.
        workings: bases and roundings of taxes, payment terms, cases, direct costs: for a workings sheet.
        outputs: the build-up and the payment plan.
        checks: for the checks sheet.
        problems: warnings.
        taxes: the cells of every tax line.
    """

    inputs: tuple[Table, ...]
    workings: tuple[Table, ...]
    outputs: tuple[Table, ...]
    checks: tuple[Check, ...]
    problems: tuple[Problem, ...]
    taxes: tuple[TaxCells, ...]

    @property
    def tables(self) -> tuple[Table, ...]:
        """Return inputs, workings, outputs."""
        return (*self.inputs, *self.workings, *self.outputs)

    @property
    def build_up(self) -> Table:
        """Return the build-up, one column a case."""
        return self.outputs[0]

    @property
    def cases(self) -> int:
        """Return the number of cases: the base and its options."""
        return self.build_up.count

    @property
    def valid_days(self) -> int:
        """Return how many days the quote holds for."""
        return int(number(next(t for t in self.inputs if t.key == "terms").value("valid_days")))

    @property
    def others(self) -> tuple[OtherLine, ...]:
        """Return the lines beside what is built that come to something."""
        tables = {table.key: table for table in self.tables}
        found, t = read_others(tables["others"], tables["other_amounts"]), self.totals()
        marked_up = (t.full_price - t.discount) / t.direct if t.direct else ZERO
        return tuple(replace(o, price=rounded(o.amount * (1 if o.at_cost else marked_up))) for o in found)

    def totals(self, case: int = 0) -> Totals:
        """Return the figures of a case; 0 is the base."""
        return read_totals(self.tables, self.taxes, case)


def reckon_price(
    direct: DirectCost,
    terms: Terms,
    options: Sequence[OptionCost] = (),
    *,
    day: dt.date,
    currency: str,
    others: Sequence[OtherLine] = (),
    edits: Edits = NO_EDITS,
    follow: Following | None = None,
) -> Pricing:
    """Return the price of a job and its options, as tables whose every figure has value and formula.

    Args:
        direct: where the base's direct costs stand.
        terms: the client's terms.
        options: what each option costs.
        day: date of the estimate; it decides which taxes are in force.
        currency: ISO 4217 code of the job; nothing is converted.
        others: the job's own lines beside what is built; the terms have theirs.
        edits: what the office changed in the workbook, by input key.
        follow: where options differ from the base, so that they follow prices, wages and rates.

    Raises:
        InputError: terms in another currency, more than three taxes, a reserve without a labour spread,
            or terms with which there is no price: a margin of 100 %, a tax on purchases worked out on
            the price, payment steps that come to more than the total.
    """
    taxes = terms.taxes_on(day)
    refuse_all(list(_refusals(direct, terms, taxes, currency)))
    inputs = terms_inputs(terms, taxes, others, currency, edits)
    cases = cases_table(direct, options, currency, follow)
    pricing = _built(direct, cases, inputs, currency)
    return replace(pricing, problems=tuple(_warnings(pricing, terms, taxes, day)))


def _built(direct: DirectCost, cases: Table, inputs: TermsInputs, currency: str) -> Pricing:
    """Return the price from terms that were accepted, its warnings left out."""
    tax = tax_terms(inputs.taxes)
    others = other_sums(inputs.others, currency)
    costs = direct_table(direct, cases, inputs, tax.cells, others, currency)
    price = build_up(costs, inputs.form, tax.cells, currency)
    steps = payment_terms(inputs.payments)
    names = [str(n) for n in price["bu_case"].values]
    plan = payment_plan(steps, price["bu_total"], names, currency)
    return Pricing(
        inputs.tables, (*tax.tables, steps, cases, *others.tables, costs), (price, plan),
        price_checks(inputs, tax.cells, (steps, price, plan)), (), tax.cells,
    )  # fmt: skip


def _refusals(direct: DirectCost, terms: Terms, taxes: Sequence[Tax], currency: str) -> Iterator[Problem]:
    if terms.currency is not None and terms.currency != currency:
        what = f"the terms are in {terms.currency} and the job is in {currency}"
        yield Problem(
            "terms.currency", what, "Nothing is converted: use terms and prices in the job's currency."
        )
    if len(taxes) > TAX_LINES:
        yield Problem("terms.tax", f"{len(taxes)} taxes are in force", f"At most {TAX_LINES} are worked out.")
    if terms.contingency.from_spread and direct.reserve_eighty is None:
        what = "the contingency is to cover the labour spread, but no labour was worked out"
        yield Problem("terms.contingency", what, "Write a rate.")
    for part in ("materials", "labour", "other"):
        if number(evaluate(getattr(direct, part), 0)) < 0:
            yield Problem(part, "the cost is negative", "Correct the prices.")


def _warnings(pricing: Pricing, terms: Terms, taxes: Sequence[Tax], day: dt.date) -> Iterator[Problem]:
    """Yield what to watch.

    Raises:
        InputError: a check without which there is no price has failed.
    """
    failed = [c for c in pricing.checks if not number(evaluate(c.ok, 0))]
    problems = [Problem("terms", c.failing, c.fix, severity=c.severity) for c in failed]
    if any(p.severity == "error" for p in problems):
        raise InputError(problems)
    yield from problems
    if terms.taxes and not taxes:
        what = f"none of the terms' taxes is in force on {day.isoformat()}"
        yield Problem("terms.tax", what, "Bring the tax lines up to date.", severity="warning")

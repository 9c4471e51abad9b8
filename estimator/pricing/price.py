"""The price of a job on a client's terms: every table of it, its totals, its checks and its warnings."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimator.calc.evaluation import evaluate, number
from estimator.calc.expressions import All, Expr, call, if_, lift, product_total, round_to, total
from estimator.calc.tables import Table
from estimator.catalogue.terms import Tax, Terms
from estimator.core.errors import InputError, Problem
from estimator.pricing.build_up import build_up
from estimator.pricing.cases import DirectCost, OptionCost, cases_table, direct_table
from estimator.pricing.payments import payment_plan, payment_terms
from estimator.pricing.readings import read_totals
from estimator.pricing.tax import TaxCells, tax_terms
from estimator.pricing.terms_inputs import TAX_LINES, TermsInputs, terms_inputs
from estimator.pricing.totals import Totals


@dataclass(frozen=True, slots=True)
class Check:
    """A line of the checks: `ok` is 1 where all is well, otherwise 0."""

    key: str
    label: str
    ok: Expr


@dataclass(frozen=True, slots=True)
class Pricing:
    """The price of a job.

    Attributes:
        inputs: terms, taxes, payment steps, allowances: for an inputs sheet.
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
    allowances: Sequence[tuple[str, Decimal]] = (),
) -> Pricing:
    """Return the price of a job and its options, as tables whose every figure has value and formula.

    Args:
        direct: where the base's direct costs stand.
        terms: the client's terms.
        options: what each option costs.
        day: date of the estimate; it decides which taxes are in force.
        currency: ISO 4217 code of the job; nothing is converted.
        allowances: text and amount of the job's allowances, beside those of the terms.

    Raises:
        InputError: terms in another currency, more than three taxes, one that cannot be worked out,
            a reserve without a labour spread, or payment steps that come to more than the total.
    """
    taxes = terms.taxes_on(day)
    if problems := list(_refusals(direct, terms, taxes, currency)):
        raise InputError(problems)
    inputs = terms_inputs(terms, taxes, allowances, currency)
    tax = tax_terms(inputs.taxes)
    cases = cases_table(direct, options, currency)
    costs = direct_table(direct, cases, inputs, tax.cells, currency)
    price = build_up(costs, inputs.form, tax.cells, currency)
    steps = payment_terms(inputs.payments)
    names = [str(n) for n in price["bu_case"].values]
    plan = payment_plan(inputs.payments, steps, price["bu_total"], names, currency)
    pricing = Pricing(
        inputs.tables, (*tax.tables, steps, cases, costs), (price, plan),
        tuple(_checks(inputs, tax.cells, steps, price, plan)), (), tax.cells,
    )  # fmt: skip
    return _judged(pricing, terms, taxes, day)


def _refusals(direct: DirectCost, terms: Terms, taxes: Sequence[Tax], currency: str) -> Iterator[Problem]:
    if terms.currency is not None and terms.currency != currency:
        what = f"the terms are in {terms.currency} and the job is in {currency}"
        yield Problem(
            "terms.currency", what, "Nothing is converted: use terms and prices in the job's currency."
        )
    if len(taxes) > TAX_LINES:
        yield Problem("terms.tax", f"{len(taxes)} taxes are in force", f"At most {TAX_LINES} are worked out.")
    for n, tax in enumerate(taxes):
        if tax.inside and tax.base == "price":
            what = f"{tax.name!r} is paid on purchases, but worked out on the price"
            yield Problem(f"terms.tax[{n}].base", what, 'Write "materials" or another part of the cost.')
    if terms.contingency.from_spread and direct.reserve_eighty is None:
        what = "the contingency is to cover the labour spread, but no labour was worked out"
        yield Problem("terms.contingency", what, "Write a rate.")
    for part in ("materials", "labour", "other"):
        if number(evaluate(getattr(direct, part), 0)) < 0:
            yield Problem(part, "the cost is negative", "Correct the prices.")


def _checks(
    inputs: TermsInputs, taxes: Sequence[TaxCells], steps: Table, price: Table, plan: Table
) -> Iterator[Check]:
    margin, floor = (inputs.form[key].at() for key in ("margin_asked", "margin_floor"))
    yield Check("margin_possible", "Margin asked is under 100 %", _flag(margin.lt(1)))
    circular: Expr = lift(0)
    for tax in taxes:
        circular = circular + tax.price * (1 - tax.outside)
    yield Check("tax_bases_possible", "No tax on purchases is worked out on the price", _flag(circular.eq(0)))
    used = steps["pay_used"]
    marked = product_total(used, steps["pay_early"]) + product_total(used, steps["pay_last"])
    yield Check(
        "steps_in_order", "Payment steps start at the top, without a gap", _flag(marked.eq(total(used)))
    )
    yield Check("one_step", "There is a payment step", _flag(total(used).ge(1)))
    for n, name in enumerate(price["bu_case"].values):
        due, owed = plan[f"due_{n}"], price["bu_total"].at(n)
        above = price["bu_margin"].at(n).ge(floor)
        yield Check(f"floor_{n}", f"{name}: margin is not under the floor", _flag(above))
        level = round_to(total(due) - owed, 2).eq(0)
        yield Check(f"paid_{n}", f"{name}: payments add up to the total", _flag(level))
        least = call("MIN", All(due))
        yield Check(f"no_minus_{n}", f"{name}: no payment is negative", _flag(least.ge(0)))


def _flag(condition: Expr) -> Expr:
    return if_(condition, 1, 0)


def _judged(pricing: Pricing, terms: Terms, taxes: Sequence[Tax], day: dt.date) -> Pricing:
    """Return the pricing with its warnings.

    Raises:
        InputError: payment steps come to more than a case's total.
    """
    every = [pricing.totals(n) for n in range(pricing.cases)]
    if short := [t for t in every if any(p.amount < 0 for p in t.payments)]:
        what = f"the payment steps come to more than the total of {short[0].total} ({short[0].case})"
        raise InputError([Problem("terms.payment", what, "Lower the fixed amounts, or write shares.")])
    warnings = [
        Problem("terms.margin_floor", f"{t.case}: the margin is {t.margin:.1%}, under the floor of "
                f"{terms.margin_floor:.1%}", "Raise the profit or lower the discount.", severity="warning")
        for t in every if t.margin < terms.margin_floor
    ]  # fmt: skip
    if terms.taxes and not taxes:
        what = f"none of the terms' taxes is in force on {day.isoformat()}"
        fix = "Bring the tax lines up to date."
        warnings.append(Problem("terms.tax", what, fix, severity="warning"))
    return replace(pricing, problems=tuple(warnings))

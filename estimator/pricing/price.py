"""The price of a job on a client's terms: every table of it, its totals, its checks and its warnings."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimator.calc.evaluation import evaluate, number
from estimator.calc.tables import Table
from estimator.catalogue.terms import Tax, Terms
from estimator.core.errors import InputError, Problem, refuse_all
from estimator.core.money import rounded
from estimator.pricing.build_up import build_up, payment_plan, payment_terms
from estimator.pricing.cases import (
    DirectCost,
    Following,
    OptionCost,
    allowances_form,
    cases_table,
    direct_table,
)
from estimator.pricing.checks import Check, price_checks
from estimator.pricing.terms_inputs import (
    NO_EDITS,
    TAX_LINES,
    Edits,
    TaxCells,
    TermsInputs,
    tax_terms,
    terms_inputs,
)
from estimator.pricing.totals import Totals, read_totals


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

    @property
    def valid_days(self) -> int:
        """Return how many days the quote holds for."""
        return int(number(next(t for t in self.inputs if t.key == "terms").value("valid_days")))

    @property
    def allowances(self) -> tuple[tuple[str, Decimal], ...]:
        """Return text and amount of every allowance in the price."""
        table = next(t for t in self.inputs if t.key == "allowances")
        rows = zip(table["allowance_text"].values, table["allowance_amount"].values, strict=True)
        return tuple((str(text), rounded(number(amount))) for text, amount in rows if amount)

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
        allowances: text and amount of the job's allowances, beside those of the terms.
        edits: what the office changed in the workbook, by input key.
        follow: where options differ from the base, so that they follow prices, wages and rates.

    Raises:
        InputError: terms in another currency, more than three taxes, a reserve without a labour spread,
            or terms with which there is no price: a margin of 100 %, a tax on purchases worked out on
            the price, payment steps that come to more than the total.
    """
    taxes = terms.taxes_on(day)
    refuse_all(list(_refusals(direct, terms, taxes, currency)))
    inputs = terms_inputs(terms, taxes, allowances, currency, edits)
    cases = cases_table(direct, options, currency, follow)
    pricing = _built(direct, cases, inputs, currency)
    return replace(pricing, problems=tuple(_warnings(pricing, terms, taxes, day)))


def _built(direct: DirectCost, cases: Table, inputs: TermsInputs, currency: str) -> Pricing:
    """Return the price from terms that were accepted, its warnings left out."""
    tax = tax_terms(inputs.taxes)
    aside = allowances_form(inputs, currency)
    costs = direct_table(direct, cases, inputs, tax.cells, aside["allowances_sum"])
    price = build_up(costs, inputs.form, tax.cells, currency)
    steps = payment_terms(inputs.payments)
    names = [str(n) for n in price["bu_case"].values]
    plan = payment_plan(steps, price["bu_total"], names, currency)
    return Pricing(
        inputs.tables, (*tax.tables, steps, cases, aside, costs), (price, plan),
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

"""Checks of a price: what must hold for there to be one, and what the shop wants to be warned of."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from estimator.calc.expressions import All, Expr, call, if_, round_to, total
from estimator.calc.tables import Table
from estimator.core.errors import Severity
from estimator.pricing.terms_inputs import TaxCells, TermsInputs


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

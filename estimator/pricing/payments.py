"""Payment steps: shares or amounts of the total, the last step taking what is left, to the cent."""

from collections.abc import Sequence
from decimal import Decimal

from estimator.calc.expressions import Expr, cents, if_, lift, total
from estimator.calc.tables import Draft, Field, Table
from estimator.pricing.terms_inputs import NONE


def payment_terms(payments: Table) -> Table:
    """Return which rows of the input table are steps, and which of them is the last."""
    draft = Draft("payment_terms", "How the total is paid")
    draft.keys([str(k) for k in payments["key"].values])
    draft.formula("pay_step", "Step", "", lift(payments["pay_label"]))
    order = draft.decided("pay_order", "No.", "", [Decimal(n + 1) for n in range(payments.count)], 0)

    def answer(key: str, label: str, expr: Expr) -> Field:
        return draft.formula(key, f"{label} (1 = yes)", "", expr, places=0)

    used = answer("pay_used", "Is a step", if_(payments["pay_label"].eq(NONE), 0, 1))
    early = answer("pay_early", "Before the last", if_(order.lt(total(used)), 1, 0))
    last = answer("pay_last", "Is the last", if_(order.eq(total(used)), 1, 0))
    answer("pay_placed", "Is a step in its place", used * (early + last))
    return draft.table()


def payment_plan(payments: Table, terms: Table, totals: Field, cases: Sequence[str], currency: str) -> Table:
    """Return what is due at every step of every case; each case's column adds up to its total.

    Args:
        payments: the input table of steps.
        terms: `payment_terms` of them.
        totals: the total of every case, tax included.
        cases: the cases' names.
        currency: ISO 4217 code.
    """
    draft = Draft("payment_plan", "Payments, tax included")
    draft.keys([str(k) for k in payments["key"].values])
    draft.formula("plan_step", "Step", "", lift(payments["pay_label"]))
    draft.formula("plan_when", "Due", "", lift(payments["pay_when"]))
    for n, name in enumerate(cases):
        share = totals.at(n) * payments["pay_share"] + payments["pay_amount"]
        early = draft.formula(f"early_{n}", f"{name}: before the last", currency,
                              cents(terms["pay_early"] * share))  # fmt: skip
        rest = terms["pay_last"] * (totals.at(n) - total(early))
        draft.formula(f"due_{n}", name, currency, cents(early + rest))
    return draft.table()

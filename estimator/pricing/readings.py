"""The figures of a finished build-up, read off its cells into a frozen record."""

from collections.abc import Sequence
from decimal import Decimal

from estimator.calc.evaluation import evaluate, number
from estimator.calc.expressions import Expr
from estimator.calc.tables import Table
from estimator.core.money import rounded
from estimator.pricing.tax import TaxCells
from estimator.pricing.terms_inputs import NONE, YES
from estimator.pricing.totals import PaymentAmount, TaxAmount, Totals

_FIGURES = {
    "materials": "bu_materials", "labour": "bu_labour", "other": "bu_other", "direct": "bu_direct",
    "overhead": "bu_overhead", "contingency": "bu_contingency", "cost": "bu_cost",
    "profit_asked": "bu_profit_asked", "full_price": "bu_full", "discount": "bu_discount",
    "rounding": "bu_rounding", "price": "bu_price", "profit": "bu_profit", "tax": "bu_tax",
    "total": "bu_total",
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

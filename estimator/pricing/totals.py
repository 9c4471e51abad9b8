"""What a price comes to, what moved between two of them, and the price before tax taken apart.

The figures of a finished build-up, read off its cells into a frozen record.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.calc.evaluation import evaluate, number
from estimator.calc.expressions import Expr
from estimator.calc.tables import Table
from estimator.core.money import rounded, split
from estimator.pricing.terms_inputs import NONE, YES, TaxCells

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
        materials, labour, other: direct cost; `other` holds allowances and tax paid on purchases.
        purchase_taxes: taxes inside `other`, paid by the shop on what it buys.
        overhead, contingency, cost: added to direct cost.
        profit_asked, full_price: as the margin or markup gives them, before discount and rounding.
        discount: taken off the full price.
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
    ("overhead", "Overhead"), ("contingency", "Contingency"), ("cost", "Cost"),
    ("profit_asked", "Profit as asked"), ("full_price", "Price before discount"),
    ("discount", "Discount"), ("rounding", "Rounding of the quote"), ("price", "Price before tax"),
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
) -> Shares:
    """Return a price taken apart.

    Args:
        price: before tax.
        sections: cost of the materials of each section of the price list, in the job's currency.
        areas: covered area of each treatment or piece, in any unit of area.
        labour: its cost, a section of its own.
        other: cost of allowances; a section of its own where there are any.
    """
    costs = {**sections, "Labour": labour}
    if other:
        costs["Allowances"] = other
    return Shares(
        (("The work as described", price),),
        tuple(zip(costs, split(price, [*costs.values()]), strict=True)),
        tuple(zip(areas, split(price, [*areas.values()]), strict=True)),
    )

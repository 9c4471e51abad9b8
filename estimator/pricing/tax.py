"""Taxes: on the price or on parts of the cost, each with its own base and rounding; or paid on purchases.

``tax = ROUND(base x rate x n, 0) / n`` with n rounding steps in one unit of money (100 for cents). The
inner ROUND to 6 places keeps a half-cent a half-cent in programs that count in binary.

Source: EN 16931-1:2017, BR-CO-17: tax amount = taxable amount x rate, rounded to two decimals.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import get_args

from estimator.calc.expressions import Expr, if_, settled
from estimator.calc.tables import Draft, Table
from estimator.catalogue.terms import TaxBase
from estimator.pricing.terms_inputs import STEPS_IN_ONE, YES

PARTS = ("materials", "labour", "other", "price")


@dataclass(frozen=True, slots=True)
class TaxCells:
    """The named cells of one tax line.

    Attributes:
        key: of its line, such as ``tax_first``.
        name, number: texts.
        rate: fraction.
        materials, labour, other, price: 1 where the base holds that part, otherwise 0.
        outside: 1 where it is added to the price, 0 where it is paid on purchases and inside the cost.
        compound: 1 where the taxes above are part of the base.
        circular: 1 where it is paid on purchases and worked out on the price, which cannot be.
        steps: rounding steps in one unit of money.
    """

    key: str
    name: Expr
    number: Expr
    recoverable: Expr
    rate: Expr
    materials: Expr
    labour: Expr
    other: Expr
    price: Expr
    outside: Expr
    compound: Expr
    circular: Expr
    steps: Expr

    def on(self, base: Expr) -> Expr:
        """Return the tax on `base`, rounded as this tax is."""
        return settled(base * self.rate * self.steps, 0) / self.steps


@dataclass(frozen=True, slots=True)
class TaxTerms:
    """How each tax is worked out, and the workings tables that say so."""

    tables: tuple[Table, ...]
    cells: tuple[TaxCells, ...]


def tax_terms(taxes: Table) -> TaxTerms:
    """Return the named cells behind the input table of taxes."""
    bases, steps = _bases(), _steps()
    draft = Draft("tax_terms", "How each tax is worked out", "across")
    cells = tuple(_cells(draft, taxes, row, bases, steps) for row in range(taxes.count))
    return TaxTerms((bases, steps, draft.table()), cells)


def _bases() -> Table:
    names = get_args(TaxBase)
    draft = Draft("tax_bases", "What a tax is worked out on")
    draft.names(names, "Base")
    for part in PARTS:
        draft.decided(
            f"base_{part}", part.capitalize(), "", [Decimal(part in n.split("+")) for n in names], 0
        )
    return draft.table()


def _steps() -> Table:
    draft = Draft("tax_steps", "What a tax is rounded to")
    draft.names(tuple(STEPS_IN_ONE), "Rounding")
    draft.decided("in_one", "Steps in one unit of money", "", list(STEPS_IN_ONE.values()), 0)
    return draft.table()


def _cells(draft: Draft, taxes: Table, row: int, bases: Table, steps: Table) -> TaxCells:
    key = str(taxes.value("key", row))
    called = key.removeprefix("tax_").capitalize()

    def given(field: str) -> Expr:
        return taxes.of(field, key)

    def cell(name: str, label: str, expr: Expr, unit: str = "", places: int = 0) -> Expr:
        return draft.formula(f"{key}_{name}", f"{called} tax: {label}", unit, expr, places=places).at()

    name = cell("name", "name", given("tax_name"))
    rate = cell("rate", "rate", given("tax_rate"), "%", 3)
    parts = [cell(p, f"on {p}", bases.of(f"base_{p}", given("tax_base"))) for p in PARTS]
    outside = cell("outside", "added to the price", if_(given("tax_inside").eq(YES), 0, 1))
    compound = cell("compound", "on the taxes above", if_(given("tax_compound").eq(YES), 1, 0))
    circular = cell("circular", "on purchases, yet on the price", parts[3] * (1 - outside))
    fine = cell("steps", "steps in one", steps.of("in_one", given("tax_rounding")))
    return TaxCells(
        key, name, given("tax_number"), given("tax_recoverable"), rate,
        parts[0], parts[1], parts[2], parts[3], outside, compound, circular, fine,
    )  # fmt: skip

"""The base and its options: what each costs against the base, and the direct cost of every case.

How options follow prices, wages and rates: from tables that say where they differ from the base.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.calc.evaluation import evaluate, number
from estimator.calc.expressions import Expr, Field, call, cents, if_, total_where
from estimator.calc.tables import Draft, Table
from estimator.pricing.other_lines import OtherSums
from estimator.pricing.terms_inputs import NINETY_FIVE, TaxCells, TermsInputs

BASE = "base"


@dataclass(frozen=True, slots=True)
class Following:
    """Where options differ from the base.

    Attributes:
        units: one row an option and a purchase: its `case`, and what it costs `more` than in the base.
        hours: one row an option and a task: its `case`, what it costs `more`, and the `square` of the spread
            of its cost.
        eighty, ninety_five: how many spreads cover the work with that chance.
    """

    units: Table
    hours: Table
    eighty: Expr
    ninety_five: Expr

    def add(self, draft: Draft, case: Field, part: str, base: Expr | None) -> Expr | None:
        """Return what the cases named in `case` cost more than the base in a part; None where it is fixed.

        Args:
            draft: the table of cases, which gets the columns that lead there.
            case: names of the cases.
            part: materials, labour, other, reserve_eighty or reserve_ninety_five.
            base: what the part costs in the base.
        """
        if part in {"materials", "labour"}:
            table = self.units if part == "materials" else self.hours
            return total_where(table["more"], table["case"], case)
        if base is None or part == "other":
            return None
        currency, chance = self.hours["more"].unit, self.ninety_five
        if part == "reserve_eighty":
            chance = self.eighty
            squares = total_where(self.hours["square"], self.hours["case"], case)
            draft.formula("case_spread", "Spread of its labour cost", currency, call("SQRT", squares))
        spread = next(field for field in draft.fields if field.key == "case_spread")
        label = "80 in 100" if part == "reserve_eighty" else "95 in 100"
        own = draft.formula(f"own_{part}", f"Own reserve for {label}", currency, cents(chance * spread))
        return if_(case.eq(BASE), 0, own - base)


ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class DirectCost:
    """Where the base's direct costs stand: cells of the workings.

    Attributes:
        materials, labour, other: totals of rounded lines.
        reserve_eighty, reserve_ninety_five: money that covers the labour spread with that chance; None
            where labour was not worked out.
    """

    materials: Expr
    labour: Expr
    other: Expr
    reserve_eighty: Expr | None = None
    reserve_ninety_five: Expr | None = None


@dataclass(frozen=True, slots=True)
class OptionCost:
    """What an option costs, worked out as a job of its own; reserves None where the base's hold."""

    name: str
    title: str
    materials: Decimal
    labour: Decimal
    other: Decimal
    reserve_eighty: Decimal | None = None
    reserve_ninety_five: Decimal | None = None


PARTS = (
    ("materials", "Materials"), ("labour", "Labour"), ("other", "Other, measured"),
    ("reserve_eighty", "Reserve for 80 in 100"), ("reserve_ninety_five", "Reserve for 95 in 100"),
)  # fmt: skip


def _against(base: Expr | None, option: Decimal | None) -> Decimal:
    return option - number(evaluate(base, 0)) if base is not None and option is not None else ZERO


def cases_table(
    direct: DirectCost, options: Sequence[OptionCost], currency: str, follow: Following | None = None
) -> Table:
    """Return how much more (or less) each case costs than the base.

    Args:
        direct: the base's costs.
        options: what each option costs, as a job of its own.
        currency: ISO 4217.
        follow: where options differ from the base, so that they follow prices, wages and rates; None for
            sums as they were found.
    """
    note = (
        "Packs and quantities are those of each option's own layout; prices, wages and rates are followed. "
        "When anything else moves, a check says so, until the program is run again."
    )
    draft = Draft("cases", "Options against the base", "across", note=note)
    case = draft.label("case_name", "Option", [BASE, *(o.name for o in options)])
    draft.label("case_title", "Title", ["Base", *(o.title for o in options)])
    for part, label in PARTS:
        key, called = f"more_{part}", f"{label}: more than base"
        moving = follow.add(draft, case, part, getattr(direct, part)) if follow else None
        if moving is not None:
            draft.formula(key, called, currency, moving)
            continue
        more = [_against(getattr(direct, part), getattr(o, part)) for o in options]
        draft.decided(key, called, currency, [ZERO, *more])
    return draft.table()


def direct_table(
    direct: DirectCost,
    cases: Table,
    inputs: TermsInputs,
    taxes: Sequence[TaxCells],
    others: OtherSums,
    currency: str,
) -> Table:
    """Return the direct cost of every case, with the other lines and the taxes paid on purchases."""
    draft = Draft("direct_costs", "Direct cost of each case", "across")
    draft.label("dc_case", "Option", cases["case_name"].values)
    materials, labour, measured = (
        draft.formula(f"dc_{part}", label, currency, getattr(direct, part) + cases[f"more_{part}"])
        for part, label in PARTS[:3]
    )
    marked = draft.formula("dc_others", "Other lines, marked up", currency, others.marked)
    at_cost = draft.formula("dc_at_cost", "Other lines, at cost", currency, others.at_cost)
    untaxed = draft.formula("dc_untaxed", "of these without tax", currency, others.untaxed)
    for tax in taxes:
        called = tax.key.removeprefix("tax_").capitalize()
        parts = (
            tax.materials * materials
            + tax.labour * labour
            + tax.other * (measured + marked + at_cost - untaxed)
        )
        base = draft.formula(f"dc_{tax.key}_base", f"{called} tax: base in the cost", currency, parts)
        draft.formula(f"dc_{tax.key}", f"{called} tax: paid on purchases", currency,
                      tax.on(base * (1 - tax.outside)))  # fmt: skip
    _reserve(draft, direct, cases, inputs, currency)
    return draft.table()


def _reserve(draft: Draft, direct: DirectCost, cases: Table, inputs: TermsInputs, currency: str) -> Field:
    if direct.reserve_eighty is None or direct.reserve_ninety_five is None:
        return draft.decided("dc_reserve", "Reserve for labour", currency, [ZERO] * cases.count)
    chosen = if_(
        inputs.form["contingency_by"].at().eq(NINETY_FIVE),
        direct.reserve_ninety_five + cases["more_reserve_ninety_five"],
        direct.reserve_eighty + cases["more_reserve_eighty"],
    )
    return draft.formula("dc_reserve", "Reserve for labour", currency, chosen)

"""The base and its options: what each costs against the base, and the direct cost of every case."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.calc.evaluation import evaluate, number
from estimator.calc.expressions import Expr, if_, round_to, total
from estimator.calc.tables import Draft, Field, Table
from estimator.pricing.tax import TaxCells
from estimator.pricing.terms_inputs import NINETY_FIVE, TermsInputs

ZERO = Decimal(0)
BASE = "base"


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


def cases_table(direct: DirectCost, options: Sequence[OptionCost], currency: str) -> Table:
    """Return how much more (or less) each case costs than the base, as the program worked it out."""
    note = (
        "Worked out with the layout of each option. When the base's costs move, each option moves by as "
        "much, and a check says so, until the program is run again."
    )
    draft = Draft("cases", "Options against the base", "across", note=note)
    draft.label("case_name", "Option", [BASE, *(o.name for o in options)])
    draft.label("case_title", "Title", ["Base", *(o.title for o in options)])
    for part, label in PARTS:
        more = [_against(getattr(direct, part), getattr(o, part)) for o in options]
        draft.decided(f"more_{part}", f"{label}: more than base", currency, [ZERO, *more])
    found = number(evaluate(_worked_out(direct), 0))
    draft.decided(
        "found_for", "Base's materials, labour and reserves when it ran", currency, [found] * draft.count
    )
    return draft.table()


def _worked_out(direct: DirectCost) -> Expr:
    """Return what of the base's costs the options were worked out against, in one sum."""
    reserves = (r for r in (direct.reserve_eighty, direct.reserve_ninety_five) if r is not None)
    return sum(reserves, direct.materials + direct.labour)


def options_in_date(direct: DirectCost, cases: Table) -> Expr:
    """Return whether the base costs what it did when its options were worked out, as 1 or 0."""
    moved = _worked_out(direct) - cases["found_for"].at()
    return if_(round_to(moved, 2).eq(0), 1, 0)


def allowances_form(inputs: TermsInputs, currency: str) -> Table:
    """Return the form with the allowances of all cases in one sum."""
    form = Draft("aside", "Allowances in all", "across")
    form.formula("allowances_sum", "Allowances", currency, total(inputs.allowances["allowance_amount"]))
    return form.table()


def direct_table(
    direct: DirectCost, cases: Table, inputs: TermsInputs, taxes: Sequence[TaxCells], aside: Field
) -> Table:
    """Return the direct cost of every case, with allowances (`aside`) and the taxes paid on purchases."""
    currency = aside.unit
    draft = Draft("direct_costs", "Direct cost of each case", "across")
    draft.label("dc_case", "Option", cases["case_name"].values)
    materials, labour, measured = (
        draft.formula(f"dc_{part}", label, currency, getattr(direct, part) + cases[f"more_{part}"])
        for part, label in PARTS[:3]
    )
    set_aside = draft.formula("dc_allowances", "Allowances", currency, aside.at())
    for tax in taxes:
        called = tax.key.removeprefix("tax_").capitalize()
        parts = tax.materials * materials + tax.labour * labour + tax.other * (measured + set_aside)
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

"""The client's terms as input cells, and the taxes by them: on the price, on parts of it, on purchases."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import get_args

from estimator.calc.expressions import All, Expr, Field, Operand, Value, call, if_, settled
from estimator.calc.tables import Draft, Table
from estimator.catalogue.terms import Payment, Tax, TaxBase, Terms
from estimator.core.money import rounded
from estimator.pricing.other_lines import NO, NONE, YES, OtherLine, other_lines, others_input

Edits = Mapping[str, Value]
NO_EDITS: Edits = {}
ZERO, ONE = Decimal(0), Decimal(1)
BY_RATE, EIGHTY, NINETY_FIVE = "rate", "80 in 100", "95 in 100"
ORDER = ("first", "second", "third", "fourth", "fifth", "sixth",
         "seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth")  # fmt: skip
TAX_LINES = 3
SPARE_STEPS = 2
LARGEST = Decimal(100_000_000)
STEPS_IN_ONE = {"cent": Decimal(100), "5 cents": Decimal(20), "whole": ONE}
"""How many rounding steps of a tax make one unit of money."""
_ROUNDING = {"cent": "cent", "0.05": "5 cents", "1.00": "whole"}
_CHANCE = {"80 %": EIGHTY, "95 %": NINETY_FIVE}


@dataclass(frozen=True, slots=True)
class TermsInputs:
    """The tables of an inputs sheet: the form, tax lines, payment steps and other lines."""

    form: Table
    taxes: Table
    payments: Table
    others: Table

    @property
    def tables(self) -> tuple[Table, ...]:
        """Return them in the order shown."""
        return self.form, self.taxes, self.payments, self.others


def terms_inputs(
    terms: Terms, taxes: Sequence[Tax], others: Sequence[OtherLine], currency: str, edits: Edits
) -> TermsInputs:
    """Return the input tables of `terms`.

    Args:
        terms: the client's terms.
        taxes: the tax lines in force, at most three.
        others: lines beside what is built, those of the terms left out.
        currency: ISO 4217 code of every amount.
        edits: what the office changed in the workbook, by input key.
    """
    own = [*other_lines(terms.allowances), *other_lines(terms.others)]
    return TermsInputs(
        _form(terms, currency, edits), _taxes(taxes, edits), _payments(terms.payments, currency, edits),
        others_input([*own, *others], currency, edits),
    )  # fmt: skip


def said(field: Field, line: Operand) -> Expr:
    """Return the words in a line of a column of inputs; 'none' where they were deleted."""
    words = call("INDEX", All(field), line)
    return if_(words.eq(""), NONE, words)


def _both(terms: Terms) -> tuple[str, Decimal, Decimal]:
    """Return which was asked for, and margin and markup that come to the same."""
    margin, markup = terms.profit.margin, terms.profit.markup
    if margin is not None:
        return "margin", margin, rounded(margin / (1 - margin), 6)
    asked = markup or ZERO
    return "markup", rounded(asked / (1 + asked), 6), asked


def _form(terms: Terms, currency: str, edits: Edits) -> Table:
    by, margin, markup = _both(terms)
    chance = _CHANCE[terms.contingency.from_spread] if terms.contingency.from_spread else BY_RATE
    step = ZERO if terms.rounding == NONE else Decimal(terms.rounding)
    source = f"terms {terms.name!r}"
    draft = Draft("terms", "Terms", "across", edits=edits)
    draft.input("profit_by", "Profit by", "", [by], choices=("margin", "markup"), source=source)

    def share(key: str, label: str, value: Decimal, high: str, blank: Decimal | None = ZERO) -> None:
        draft.input(key, label, "%", [value], low=ZERO, high=Decimal(high), source=source, blank=blank)

    share("margin_asked", "Margin, part of the price (if by margin)", margin, "0.95", None)
    share("markup_asked", "Markup on cost (if by markup)", markup, "20", None)
    share("margin_floor", "Warn under a margin of", terms.margin_floor, "0.95")
    share("overhead_rate", "Overhead on direct cost", terms.overhead, "5")
    draft.input("contingency_by", "Contingency by", "", [chance], choices=(BY_RATE, EIGHTY, NINETY_FIVE),
                source=source)  # fmt: skip
    share("contingency_rate", "Contingency on direct cost and overhead", terms.contingency.rate or ZERO, "1")
    share("discount_rate", "Discount", terms.discount, "0.95")
    draft.input("quote_step", "Price goes up to the next multiple of (0: none)", currency, [step],
                low=ZERO, high=Decimal(1000), source=source, blank=ZERO)  # fmt: skip
    draft.input("valid_days", "Quote holds for", "day", [Decimal(terms.validity_days)],
                low=ONE, high=Decimal(366), source=source, places=0)  # fmt: skip
    return draft.table()


def _taxes(taxes: Sequence[Tax], edits: Edits) -> Table:
    empty = range(max(TAX_LINES - len(taxes), 0))
    note = "Rates change: confirm each with the authority before you quote."
    draft = Draft("taxes", "Taxes", note=note, edits=edits)
    draft.names([f"tax_{ORDER[n]}" for n in range(len(taxes) + len(empty))], "Code")
    draft.input("tax_name", "Tax", "", [*(t.name for t in taxes), *(NONE for _ in empty)])
    draft.input("tax_rate", "Rate", "%", [*(t.rate for t in taxes), *(ZERO for _ in empty)],
                low=ZERO, high=ONE, places=3)  # fmt: skip

    def choice(key: str, label: str, values: Sequence[str], otherwise: str, choices: Sequence[str]) -> None:
        draft.input(key, label, "", [*values, *(otherwise for _ in empty)], choices=choices)

    def switch(key: str, label: str, values: Sequence[bool]) -> None:
        choice(key, label, [YES if v else NO for v in values], NO, (YES, NO))

    choice("tax_base", "Worked out on", [t.base for t in taxes], "price", get_args(TaxBase))
    switch("tax_compound", "And on the taxes above", [t.compound for t in taxes])
    switch("tax_inside", "Paid on purchases, inside the price", [t.inside for t in taxes])
    rounding = [_ROUNDING[t.rounding] for t in taxes]
    choice("tax_rounding", "Rounded to", rounding, "cent", tuple(STEPS_IN_ONE))
    switch("tax_recoverable", "A business client gets it back", [t.recoverable for t in taxes])
    numbers = [*(t.number or NONE for t in taxes), *(NONE for _ in empty)]
    draft.input("tax_number", "Registration number", "", numbers, blank=NONE)
    draft.label("tax_since", "In force since", [*(t.since for t in taxes), *(None for _ in empty)])
    draft.label(
        "tax_source", "Source", [*(f"{t.authority}: {t.source}" for t in taxes), *(NONE for _ in empty)]
    )
    return draft.table()


def _payments(steps: Sequence[Payment], currency: str, edits: Edits) -> Table:
    empty = range(min(SPARE_STEPS, len(ORDER) - len(steps)))
    note = "The last step takes what is left of the total."
    draft = Draft("payments", "Payment steps", note=note, edits=edits)
    draft.names([f"pay_{ORDER[n]}" for n in range(len(steps) + len(empty))], "Code")
    draft.input("pay_label", "Step", "", [*(s.label for s in steps), *(NONE for _ in empty)], blank=NONE)
    draft.input("pay_when", "Due", "", [*(s.when for s in steps), *(NONE for _ in empty)], blank=NONE)
    shares = [*(s.share or ZERO for s in steps), *(ZERO for _ in empty)]
    draft.input("pay_share", "Share of the total", "%", shares, low=ZERO, high=ONE, blank=ZERO)
    amounts = [*(s.amount or ZERO for s in steps), *(ZERO for _ in empty)]
    draft.input("pay_amount", "or amount", currency, amounts, low=ZERO, high=LARGEST, blank=ZERO)
    return draft.table()


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

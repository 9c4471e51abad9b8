"""Lines of the price beside what is built: allowances, hire, travel, credits; marked up or at cost."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Protocol, get_args

from estimator.calc.expressions import All, Expr, Value, call, cents, total_where
from estimator.calc.tables import Draft, Table
from estimator.job.fields import Charged, Other

ZERO, ONE = Decimal(0), Decimal(1)
NONE, YES, NO = "none", "yes", "no"
SPARE = 3
LARGEST = Decimal(100_000_000)
MARKED, AT_COST = get_args(Charged)


class SetAside(Protocol):
    """An allowance: a sum set aside for work that is not measured."""

    @property
    def text(self) -> str:
        """Return what it is for."""

    @property
    def amount(self) -> Decimal:
        """Return it, in the job's currency, tax left out."""

    @property
    def charged(self) -> Charged:
        """Return how it stands in the price."""


@dataclass(frozen=True, slots=True)
class OtherLine:
    """A line beside what is built.

    Attributes:
        text, quantity, unit: as the quote says them; '' for a sum.
        amount: quantity x rate, in the job's currency, tax left out.
        at_cost: it stands in the price as it is; else overhead, profit and discount are on it.
        settled: it was set aside; what the work really takes is settled afterwards.
        price: what it is of the price, with overhead, contingency, profit and discount unless at cost.
    """

    text: str
    quantity: Decimal
    unit: str
    rate: Decimal
    amount: Decimal
    at_cost: bool
    taxed: bool
    settled: bool
    price: Decimal = ZERO


def other_lines(found: Iterable[SetAside | Other]) -> list[OtherLine]:
    """Return allowances and other lines alike."""
    return [_line(o) for o in found]


def _line(found: SetAside | Other) -> OtherLine:
    at_cost = found.charged == AT_COST
    if isinstance(found, Other):
        amount = found.quantity * found.rate
        return OtherLine(
            found.text, found.quantity, found.unit, found.rate, amount, at_cost, found.taxed, settled=False
        )
    return OtherLine(found.text, ONE, "", found.amount, found.amount, at_cost, taxed=True, settled=True)


def others_input(lines: Sequence[OtherLine], currency: str, edits: Mapping[str, Value]) -> Table:
    """Return the input table of other lines, with spare rows."""
    draft = Draft("others", "Other lines of the price", edits=edits)
    empty = OtherLine(NONE, ONE, NONE, ZERO, ZERO, at_cost=False, taxed=True, settled=False)
    rows = [*lines, *[empty] * SPARE]
    draft.names([f"other_{n}" for n in range(1, len(rows) + 1)], "Code")
    draft.input("other_text", "For", "", [r.text for r in rows], blank=NONE)
    draft.input(
        "other_quantity", "Quantity", "", [r.quantity for r in rows], low=ZERO, high=LARGEST, blank=ONE
    )
    draft.input("other_unit", "Unit", "", [r.unit or NONE for r in rows], blank=NONE)
    draft.input(
        "other_rate", "Rate", currency, [r.rate for r in rows], low=-LARGEST, high=LARGEST, blank=ZERO
    )
    charged = [AT_COST if r.at_cost else MARKED for r in rows]
    draft.input("other_charged", "Charged", "", charged, choices=(MARKED, AT_COST))
    draft.input("other_taxed", "Taxed, if at cost", "", [_answer(r.taxed) for r in rows], choices=(YES, NO))
    draft.input(
        "other_settled", "Set aside, settled later", "", [_answer(r.settled) for r in rows], choices=(YES, NO)
    )
    return draft.table()


def _answer(yes: bool) -> str:  # noqa: FBT001 - it is the answer
    return YES if yes else NO


@dataclass(frozen=True, slots=True)
class OtherSums:
    """The cells with what other lines come to: marked up, at cost, and those at cost without tax."""

    tables: tuple[Table, ...]
    marked: Expr
    at_cost: Expr
    untaxed: Expr


def other_sums(inputs: Table, currency: str) -> OtherSums:
    """Return what the lines of the input table come to."""
    draft = Draft("other_amounts", "What the other lines come to")
    key = draft.names([str(k) for k in inputs["key"].values], "Code")
    line = draft.formula(
        "other_line", "Row of the list", "", call("MATCH", key, All(inputs["key"]), 0), places=0
    )

    def given(field: str) -> Expr:
        return call("INDEX", All(inputs[field]), line)

    draft.formula("other_amount", "Amount", currency, cents(given("other_quantity") * given("other_rate")))
    draft.formula("other_way", "Charged", "", given("other_charged"))
    draft.formula("other_tax", "Taxed", "", given("other_taxed"))
    amounts = draft.table()
    form = Draft("aside", "Other lines in all", "across")
    amount, way = amounts["other_amount"], amounts["other_way"]
    marked = form.formula(
        "others_marked", "Other lines, marked up", currency, total_where(amount, way, MARKED)
    )
    at_cost = form.formula(
        "others_at_cost", "Other lines, at cost", currency, total_where(amount, way, AT_COST)
    )
    without = total_where(amount, way, AT_COST, amounts["other_tax"], NO)
    untaxed = form.formula("others_untaxed", "of these without tax", currency, without)
    return OtherSums((amounts, form.table()), marked.at(), at_cost.at(), untaxed.at())


def read_others(inputs: Table, amounts: Table) -> tuple[OtherLine, ...]:
    """Return the lines that come to something, as the tables have them."""
    names = ("text", "quantity", "unit", "rate", "charged", "taxed", "settled")
    rows = zip(
        *(inputs[f"other_{name}"].values for name in names), amounts["other_amount"].values, strict=True
    )
    return tuple(
        OtherLine(
            str(text), _number(quantity), "" if unit in {None, NONE} else str(unit), _number(rate),
            _number(amount), charged == AT_COST, taxed == YES, settled == YES,
        )
        for text, quantity, unit, rate, charged, taxed, settled, amount in rows
        if amount
    )  # fmt: skip


def _number(value: Value) -> Decimal:
    return value if isinstance(value, Decimal) else ZERO

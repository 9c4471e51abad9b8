"""How options follow prices, wages and rates: from tables that say where they differ from the base."""

from dataclasses import dataclass

from estimator.calc.expressions import Expr, Field, call, cents, if_, total_where
from estimator.calc.tables import Draft, Table

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

"""A client's terms: profit, overhead, contingency, taxes, payments and what the quote says of them."""

import datetime as dt
from decimal import Decimal
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from estimator.job.fields import Charged, Currency, FileName, Line, Many, Money, Other, Percent, Prose, Record

TaxBase = Literal[
    "price", "materials", "labour", "other", "materials+labour", "materials+other", "labour+other"
]  # fmt: skip
Rounding = Literal["cent", "0.05", "1.00"]


class Profit(Record):
    """Profit by margin, price = cost / (1 - margin), or by markup, price = cost x (1 + markup)."""

    margin: Percent | None = None
    markup: Percent | None = None

    @model_validator(mode="after")
    def _one(self) -> Self:
        if (self.margin is None) == (self.markup is None):
            raise ValueError("margin and markup both, or neither; give exactly one")
        if self.margin is not None and self.margin >= 1:
            raise ValueError("a margin of 100 % or more has no price; margin is a part of the price")
        return self


class Contingency(Record):
    """Contingency as a rate of cost, or the reserve that covers the labour spread to a stated chance."""

    rate: Percent | None = None
    from_spread: Literal["80 %", "95 %"] | None = None

    @model_validator(mode="after")
    def _one(self) -> Self:
        if (self.rate is None) == (self.from_spread is None):
            raise ValueError("rate and from_spread both, or neither; give exactly one")
        return self


class Tax(Record):
    """One tax line."""

    name: Line
    rate: Percent
    base: TaxBase
    """What it is worked out on: "price" (all, after discount and rounding), or parts of the cost."""
    compound: bool = False
    """Worked out on its base and the tax lines before it."""
    inside: bool = False
    """Paid by the shop on what it buys and inside the price: shown as a cost, not added to the quote."""
    number: Line | None = None
    """The shop's registration number, as printed."""
    recoverable: bool = True
    """A business client gets it back; says so on the quote, changes no sum."""
    rounding: Rounding = "cent"
    since: dt.date
    until: dt.date | None = None
    authority: Line
    """Country, state or province whose tax it is."""
    source: Line
    """Where the rate was read, and that the user confirms it."""


class Payment(Record):
    """One payment step: a share of the total, or a fixed amount."""

    label: Line
    share: Percent | None = None
    amount: Money | None = None
    when: Line

    @model_validator(mode="after")
    def _one(self) -> Self:
        if (self.share is None) == (self.amount is None):
            raise ValueError("share and amount both, or neither; give exactly one")
        return self


def _whole(payments: tuple[Payment, ...]) -> tuple[Payment, ...]:
    shares = sum((p.share for p in payments if p.share is not None), Decimal(0))
    fixed = any(p.share is None for p in payments)
    if shares > 1 or (shares < 1 and not fixed):
        percent = f"{(shares * 100).normalize():f} %"
        raise ValueError(f"the payment shares add up to {percent}; make them add up to 100 %")
    if shares == 1 and fixed:
        raise ValueError(
            "the payment shares add up to 100 % of the total, and fixed amounts come on top; "
            "lower a share, the last step takes what is left"
        )
    return payments


Payments = Annotated[
    tuple[Payment, ...], Field(strict=False, min_length=1, max_length=12), AfterValidator(_whole)
]


class Default(Record):
    """An allowance that every quote on these terms carries."""

    text: Line
    amount: Money
    charged: Charged = "marked up"
    """Whether overhead, profit and discount are on it, or it stands in the price as it is."""


class Terms(Record):
    """A terms file, whole. Percentages are fractions once read."""

    schema_: Literal[1] = Field(alias="schema")
    name: Line
    over: FileName | None = None
    """The shop's own terms, which hold where this file says nothing: shipped ones by name, or a file beside
    this one. A key of this file takes the place of the shop's key whole."""
    currency: Currency | None = None
    """Where given, the job must be in it."""
    profit: Profit
    margin_floor: Annotated[Percent, Field(lt=1)] = Decimal(0)
    """Under this margin the program warns."""
    overhead: Percent
    """On direct cost."""
    contingency: Contingency
    discount: Annotated[Percent, Field(lt=1)] = Decimal(0)
    """Off the price before rounding and tax."""
    rounding: Literal["none", "1.00", "5.00", "10.00", "50.00", "100.00"] = "none"
    """The price before tax goes up to the next multiple, as its own line."""
    taxes: Many[Tax] = Field(default=(), alias="tax")
    payments: Payments = Field(alias="payment")
    """In order; the last takes the odd cent."""
    validity_days: Annotated[int, Field(ge=1, le=366)]
    exclusions: Many[Prose] = ()
    allowances: Many[Default] = Field(default=(), alias="allowance")
    others: Many[Other] = Field(default=(), alias="other")
    """Lines that every quote on these terms carries, such as a least charge for coming out."""

    def taxes_on(self, day: dt.date) -> tuple[Tax, ...]:
        """Return the tax lines in force on a day, in the file's order."""
        return tuple(t for t in self.taxes if t.since <= day and (t.until is None or day <= t.until))

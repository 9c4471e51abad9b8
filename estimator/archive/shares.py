"""What part of an invoice is net and what part is each tax: one answer for the journal and for UBL."""

from dataclasses import dataclass, replace
from decimal import Decimal

from estimator.archive.summary import Summary, TaxLine
from estimator.core.money import rounded

NOTHING = Decimal(0)
PERCENT = Decimal(100)


@dataclass(frozen=True, slots=True)
class SplitAmount:
    """An amount with tax, taken apart: ``net + taxes + rounding = amount``, to the cent."""

    amount: Decimal
    net: Decimal
    taxes: tuple[TaxLine, ...]
    rounding: Decimal

    @property
    def tax(self) -> Decimal:
        """Return all taxes together."""
        return sum((t.amount for t in self.taxes), NOTHING)


def share(quote: Summary, amount: Decimal) -> SplitAmount:
    """Return how an invoice of `amount`, tax included, is made up.

    The whole quote is taken as quoted. Any other amount is divided by one plus the quote's rates; each
    tax is then its rate on the net, rounded, and the cent that no net amount reaches is shown as rounding.

    Args:
        quote: whose taxes apply.
        amount: in the quote's currency; negative for a credit.
    """
    price = quote.totals.price
    if amount == quote.totals.total:
        return SplitAmount(amount, price, quote.taxes, NOTHING)
    if not price:
        return SplitAmount(amount, amount, (), NOTHING)
    rates = sum((t.rate_percent * t.base / price for t in quote.taxes), NOTHING) / PERCENT
    net = rounded(amount / (1 + rates))
    taxes = tuple(_part(tax, net, price) for tax in quote.taxes)
    rest = amount - net - sum((t.amount for t in taxes), NOTHING)
    return SplitAmount(amount, net, taxes, rest)


def _part(tax: TaxLine, net: Decimal, price: Decimal) -> TaxLine:
    base = rounded(net * tax.base / price)
    return replace(tax, base=base, amount=rounded(base * tax.rate_percent / PERCENT))

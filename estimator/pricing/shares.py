"""The price before tax taken apart, as the quote shows it and the archive keeps it: one record for both."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from estimator.core.money import split

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

"""What a catalogue holds: kinds of thing, things to buy, the shop's practice, the client's terms; frozen."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import takewhile
from types import MappingProxyType
from typing import Literal

from estimator.catalogue.labour import LabourBook
from estimator.catalogue.references import References, references
from estimator.catalogue.terms import Terms
from estimator.core.errors import refuse
from estimator.core.units import Nm, converted


@dataclass(frozen=True, slots=True)
class Stock:
    """How a thing comes: the sides that the sizes of one product share, and those that are cut."""

    name: Literal["stick", "board", "roll", "whole"]
    shared: tuple[str, ...] = ()
    cut: tuple[str, ...] = ()


STICK = Stock("stick", ("thickness", "width"), ("length",))
BOARD = Stock("board", ("thickness",), ("width", "length"))
ROLL = Stock("roll")
WHOLE = Stock("whole")
Charged = Literal["pack", "use"]


@dataclass(frozen=True, slots=True)
class ItemKind:
    """A kind of thing to buy.

    Attributes:
        stock: how it comes and is cut.
        content: what one buy unit of it holds, as a dimension.
        needs: columns that its rows must fill beside those that every row fills.
        used: where it is used; what is used on site is packed for it. A screw is packed where it is a fixing.
        wood: it has a planed size, and its density may be given by its specific gravity.
    """

    stock: Stock = WHOLE
    content: str = "count"
    needs: tuple[str, ...] = ()
    used: Literal["shop", "site"] = "shop"
    wood: bool = False


_STRIP = ItemKind(STICK, needs=("thickness", "width", "length"))
_HELD = ItemKind(needs=("rated load",), used="site")
_ON_SITE = ItemKind(used="site")
_LIQUID = ItemKind(content="volume", used="site")

KINDS: dict[str, ItemKind] = {
    "member": ItemKind(STICK, needs=("thickness", "width", "length", "density"), wood=True),
    "board": ItemKind(BOARD, needs=("thickness", "width", "length", "density", "airflow resistivity")),
    "fabric": ItemKind(ROLL, "length", ("width", "cloth mass")),
    "casing": _STRIP,
    "cover": _STRIP,
    "screw": ItemKind(needs=("thickness", "length")),
    "washer": ItemKind(),
    "staple": ItemKind(needs=("length",)),
    "nail": ItemKind(needs=("thickness", "length"), used="site"),
    "paint": _LIQUID,
    "primer": ItemKind(content="volume"),
    "sealant": _LIQUID,
    "masking": ItemKind(content="length", needs=("width",), used="site"),
    "film": ItemKind(content="area", used="site"),
    "filler": _LIQUID,
    "sandpaper": _ON_SITE,
    "protection": ItemKind(content="area", used="site"),
    "extension": _ON_SITE,
    "hanger": _HELD,
    "foot": ItemKind(needs=("length", "mass"), used="site"),
    "hook": _HELD,
    "anchor": _HELD,
    "disposal": _ON_SITE,
    "adhesive": ItemKind(content="volume"),
    "mastic": _LIQUID,
    "guard": _ON_SITE,
}
"""Every kind of item by its name in the price list."""


@dataclass(frozen=True, slots=True)
class Item:
    """One thing as it is bought: a row of the price list.

    Attributes:
        kind: a key of `KINDS`.
        key: unique; `product` groups the sizes of one thing (8, 10 and 12 ft of one stock).
        section, cost_code: heading of the order, and CSI MasterFormat section number.
        content, content_unit: what one `buy_unit` holds ('96 in' a stick, '1000 ea' a box, '300 mL').
        price: for one `buy_unit`, tax left out.
        thickness, width, length: member: as seen from the front, depth of the frame, stick; casing and
            cover: strip's thickness, width, stick; board: thickness, width, length; fabric: width and
            roll length; screw, nail, staple: shank diameter, None, length; foot: length is its reach
            from front to back.
        density_kg_m3: member, board, casing. resistivity_pa_s_m2: airflow resistivity of board.
        cloth_pa_s_m: specific airflow resistance of fabric.
        mass_kg_m2: of fabric. mass_kg: of one piece (foot, hanger).
        alpha: absorption of the board on a hard wall at 125 to 4000 Hz, from `alpha_source`.
        repeat: pattern repeat along the roll, 0 for none. nap: the cloth has a direction.
        railroad: the cloth may be turned a quarter.
        specific_gravity: of member wood. rated_load_n: of one hanger, hook, anchor or foot.
        charged: what a job pays: whole packs, or the part of them that it uses up.
        gauge: number of the screw or nail, '' where it has none.
        lead_days: working days from order to delivery.
    """

    key: str
    product: str
    kind: str
    description: str
    section: str
    cost_code: str
    supplier: str
    item_code: str
    buy_unit: str
    content: Decimal
    content_unit: str
    price: Decimal
    currency: str
    price_date: dt.date
    source: str
    thickness: Nm | None = None
    width: Nm | None = None
    length: Nm | None = None
    density_kg_m3: float | None = None
    resistivity_pa_s_m2: float | None = None
    cloth_pa_s_m: float | None = None
    mass_kg_m2: float | None = None
    mass_kg: float | None = None
    alpha: tuple[float, float, float, float, float, float] | None = None
    alpha_source: str = ""
    repeat: Nm = 0
    nap: bool = False
    railroad: bool = False
    specific_gravity: float | None = None
    rated_load_n: float | None = None
    gauge: str = ""
    charged: Charged = "pack"
    lead_days: int = 0
    line: int = 0
    """Line of the price list, for messages."""

    @property
    def stock(self) -> Stock:
        """Return how it comes and is cut."""
        return KINDS[self.kind].stock

    @property
    def cut_sides(self) -> tuple[Nm, ...]:
        """Return the sides that are cut: length of a stick, width and length of a board, none of others."""
        return tuple(getattr(self, side) or 0 for side in self.stock.cut)

    def content_as(self, unit: str) -> Decimal:
        """Return what one buy unit holds, in `unit` ('ea', 'in', 'm', 'ft^2', 'mL', …).

        Raises:
            ValueError: `unit` measures something else.
        """
        return converted(self.content, self.content_unit, unit)


Dimension = Literal[
    "length", "area", "volume", "mass", "time", "force", "area-rate", "density", "count", "ratio",
    "percent", "days", "area-mass",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class PracticeValue:
    """A number of the shop's practice, with its allowed range and where it comes from.

    Attributes:
        value, low, high: whole nanometres where `dimension` is 'length'; a fraction where it is 'percent';
            otherwise a number of `unit`, which is the same whatever unit the file is written in:
            m^2, mL, kg, h, N, m^2/L, kg/m^3, kg/m^2, day.
        text: the value as the file has it; `shown` its number and `shown_unit` its unit.
    """

    key: str
    label: str
    dimension: Dimension
    value: Nm | float
    unit: str
    low: Nm | float
    high: Nm | float
    source: str
    group: str
    text: str
    shown: Decimal
    shown_unit: str


@dataclass(frozen=True, slots=True)
class PracticeChoice:
    """A choice of the shop's practice.

    Attributes:
        value: one of `options`; or, where `kind` is given, a product of that kind in the price list.
    """

    key: str
    label: str
    value: str
    options: tuple[str, ...]
    kind: str
    source: str
    group: str


@dataclass(frozen=True, slots=True)
class Firm:
    """Who quotes, as printed on papers: address as lines, ISO 3166-1 country code, company registration.

    Attributes:
        archive: the folder quotes are filed in, '' where none is set.
    """

    name: str = ""
    address: tuple[str, ...] = ()
    country: str = ""
    registration: str = ""
    phone: str = ""
    email: str = ""
    archive: str = ""


@dataclass(frozen=True, slots=True)
class Practice:
    """The shop's practice: values and choices by key, and who the shop is."""

    name: str
    values: Mapping[str, PracticeValue]
    choices: Mapping[str, PracticeChoice]
    firm: Firm = Firm()

    def length(self, key: str) -> Nm:
        """Return a length, whole nanometres.

        Raises:
            KeyError: no such value, or it is no length.
        """
        found = self.values[key]
        if found.dimension != "length":
            raise KeyError(f"{key} is a {found.dimension}, not a length")
        return int(found.value)

    def number(self, key: str) -> float:
        """Return a value that is no length, in its `unit` (percentages as fractions).

        Raises:
            KeyError: no such value, or it is a length.
        """
        found = self.values[key]
        if found.dimension == "length":
            raise KeyError(f"{key} is a length; ask for length({key!r})")
        return float(found.value)

    def choice(self, key: str) -> str:
        """Return a choice's value.

        Raises:
            KeyError: no such choice.
        """
        return self.choices[key].value


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Everything from outside that a job is worked out with.

    Attributes:
        items: the price list in the file's order.
        labour: tasks with their rates, wages, and the working day.
        prices_name: the shipped name or path the job gives.
        references: tables that every estimate reads.
    """

    items: tuple[Item, ...]
    practice: Practice
    terms: Terms
    labour: LabourBook
    prices_name: str
    by_key: Mapping[str, Item]
    by_product: Mapping[str, tuple[Item, ...]]
    references: References

    @staticmethod
    def of(
        items: tuple[Item, ...],
        practice: Practice,
        terms: Terms,
        labour: LabourBook,
        prices_name: str = "",
        tables: References | None = None,
    ) -> "Catalogue":
        """Return the catalogue of these items, its look-up tables made; `tables` as shipped by default."""
        groups: dict[str, list[Item]] = {}
        for item in items:
            groups.setdefault(item.product, []).append(item)
        by_product = MappingProxyType({name: tuple(group) for name, group in groups.items()})
        by_key = MappingProxyType({item.key: item for item in items})
        used = tables or references()
        return Catalogue(items, practice, terms, labour, prices_name, by_key, by_product, used)

    def item(self, key: str) -> Item:
        """Return the item of that key.

        Raises:
            InputError: the price list has none.
        """
        if key not in self.by_key:
            raise refuse(key, "the price list has no such key", "Add a row, or name another.")
        return self.by_key[key]

    def sizes(self, product: str) -> tuple[Item, ...]:
        """Return the sizes a product is bought in, in the file's order; at least one.

        Raises:
            InputError: the price list has no such product.
        """
        if product not in self.by_product:
            raise refuse(product, "the price list has no such product", "Add a row, or name another.")
        return self.by_product[product]

    def kind(self, product: str) -> str:
        """Return the kind of a product.

        Raises:
            InputError: the price list has no such product.
        """
        return self.sizes(product)[0].kind

    def of_kind(self, kind: str) -> tuple[Item, ...]:
        """Return every item of a kind, in the file's order."""
        return tuple(item for item in self.items if item.kind == kind)


def described(sizes: Sequence[Item]) -> str:
    """Return what all sizes of a product have in common of their descriptions; at least one size."""
    parts = [item.description.split(", ") for item in sizes]
    shared = [words[0] for words in takewhile(lambda w: len(set(w)) == 1, zip(*parts, strict=False))]
    return ", ".join(shared) or sizes[0].description

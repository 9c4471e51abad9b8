"""The kinds of thing in a price list: how each is cut and counted, what its rows need, where it is used."""

from dataclasses import dataclass
from typing import Literal


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
    "guard": _ON_SITE,
}
"""Every kind of item by its name in the price list."""

"""Softwood lumber: the sizes it is planed to, and its density from its specific gravity.

Source: PS 20-20, American Softwood Lumber Standard; NDS Supplement 2018, section 3.1.3; each value in
``data/lumber.toml`` with how far it was checked.
"""

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from estimator.catalogue.shelf import DATA, on_shelf
from estimator.core.units import Nm, factor, parse_length

_NOMINAL = re.compile(r"\b([12])\s*[x×]\s*([2-8])\b(?! *(?:mm|cm|in))")


@cache
def lumber_facts(shelf: Path = DATA) -> Mapping[str, Any]:
    """Return the table of lumber on a shelf; without one, the shipped one."""
    return tomllib.loads(on_shelf("lumber.toml", shelf).read_text(encoding="utf-8"))


@cache
def dressed_sizes() -> Mapping[str, tuple[Nm, Nm]]:
    """Return thickness and width as planed, by nominal size such as ``2x4``; nanometres."""
    sizes = {k: (parse_length(t), parse_length(w)) for k, (t, w) in lumber_facts()["dressed"].items()}
    return MappingProxyType(sizes)


def nominal_size(description: str) -> str:
    """Return the nominal size that a description names, such as ``2x4``; '' where it names none."""
    found = _NOMINAL.search(description)
    return f"{found[1]}x{found[2]}" if found else ""


def density_kg_m3(
    gravity: float, moisture_percent: float | None = None, facts: Mapping[str, Any] | None = None
) -> float:
    """Return the density of wood, kg/m3: 62.4 G / (1 + 0.009 G M) x (1 + M / 100) lb/ft3.

    Args:
        gravity: specific gravity, weight and volume oven dry.
        moisture_percent: moisture content M, 0 to 30 %; left out, that of wood in a shop.
        facts: the table of lumber; left out, the shipped one.

    Source: NDS Supplement 2018, section 3.1.3.
    """
    facts = lumber_facts() if facts is None else facts
    moisture = facts["moisture_percent"] if moisture_percent is None else moisture_percent
    swollen = 1 + facts["swelling"] * gravity * moisture
    pounds = facts["water_lb_ft3"] * gravity / swollen * (1 + moisture / 100)
    return float(pounds * factor("lb/ft^3"))

"""Titles of the sections that cost codes name.

Source: CSI MasterFormat; each row says how far its title was checked.
"""

import csv
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType

DATA = Path(__file__).parent / "data" / "cost_codes.csv"


@cache
def cost_code_titles() -> Mapping[str, str]:
    """Return the title of every section known here, by its number such as ``09 84 33``."""
    with DATA.open(encoding="utf-8", newline="") as stream:
        return MappingProxyType({row["code"]: row["title"] for row in csv.DictReader(stream)})

"""Money as `Decimal`, and the rounding rules: the one place where anything is rounded for money.

Rounding a binary float decides half-cents by accident (2.675 is stored below the half), so numbers are
first taken to 15 significant digits, as a spreadsheet shows them, then rounded halves away from zero.
"""

import math
import re
from collections.abc import Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, ROUND_UP, Decimal

Number = int | float | Decimal
_WRITTEN = re.compile(r"[+-]?[0-9]+(\.[0-9]*)?([eE][+-]?[0-9]+)?")
_LONGEST = 60


def decimal(value: Number) -> Decimal:
    """Return `value` to 15 significant digits, the precision a spreadsheet keeps."""
    if isinstance(value, int):
        return Decimal(value)
    return Decimal(f"{float(value):.15g}")


def as_typed(text: str) -> Decimal:
    """Return the number that was typed where a program wrote `text`: 5.1 for 5.09999999999999999991.

    Programs write a binary fraction with 15 to 21 digits or in powers of ten (``1E-007``); 15 digits tell
    what was typed.

    Raises:
        ValueError: no number in ASCII digits, or one that a spreadsheet cannot hold.
    """
    written = text.strip()
    if len(written) > _LONGEST or not _WRITTEN.fullmatch(written) or not math.isfinite(float(written)):
        raise ValueError(f"{written[:_LONGEST]!r} is no number")
    return decimal(float(written))


def rounded(value: Number, places: int = 2) -> Decimal:
    """Return `value` rounded to `places` decimals, halves away from zero (the workbook's ROUND)."""
    return decimal(value).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)


def packs(need: Number, content: Number) -> int:
    """Return the whole packs that hold `need`: ``ROUNDUP(ROUND(need / content, 6), 0)``.

    Args:
        need: quantity required, in the unit of `content`.
        content: quantity in one pack, greater than 0.
    """
    ratio = rounded(Decimal(need) / Decimal(content), 6)
    return int(ratio.to_integral_value(ROUND_CEILING if ratio > 0 else ROUND_UP))


def split(total: Decimal, weights: Sequence[Number], places: int = 2) -> list[Decimal]:
    """Return `total` shared out by `weights`, adding up to `total` exactly.

    The largest remainders take the odd units, ties by order (Hamilton's method).

    Raises:
        ValueError: no weight, a negative weight, or weights that add up to nothing.
    """
    shares = [Decimal(w) for w in weights]
    if not shares or min(shares) < 0 or not sum(shares):
        raise ValueError("weights must be at least one, none negative, not all zero")
    unit = Decimal(1).scaleb(-places)
    exact = [total * w / sum(shares) for w in shares]
    floors = [e.quantize(unit, ROUND_FLOOR) for e in exact]
    odd = int((total - sum(floors)) / unit)
    order = sorted(range(len(exact)), key=lambda i: (floors[i] - exact[i], i))
    return [f + (unit if i in order[:odd] else 0) for i, f in enumerate(floors)]

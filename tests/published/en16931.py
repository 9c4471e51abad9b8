"""The amounts of a business document by EN 16931-1:2017, and its published examples from the file beside.

The rules, as the published validation artefacts of the standard word them (CEN/TC 434, repository
ConnectingEurope/eInvoicing-EN16931, licence EUPL 1.2, example files Apache 2.0):

* BR-CO-10: Sum of Invoice line net amount (BT-106) = Σ Invoice line net amount (BT-131).
* BR-CO-11: Sum of allowances on document level (BT-107) = Σ Document level allowance amount (BT-92).
* BR-CO-12: Sum of charges on document level (BT-108) = Σ Document level charge amount (BT-99).
* BR-CO-13: total without VAT (BT-109) = Σ BT-131 − BT-107 + BT-108.
* BR-CO-14: Invoice total VAT amount (BT-110) = Σ VAT category tax amount (BT-117).
* BR-CO-15: total with VAT (BT-112) = BT-109 + BT-110.
* BR-CO-16: Amount due (BT-115) = BT-112 − Paid amount (BT-113) + Rounding amount (BT-114).
* BR-CO-17: BT-117 = BT-116 × (BT-119 / 100), rounded to two decimals.

The published checker lets BR-CO-17 differ by almost one unit of currency; here it is exact.
"""

import csv
import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

CENT = Decimal("0.01")
FILE = Path(__file__).parent / "data" / "en16931_examples.csv"


@dataclass(frozen=True)
class Document:
    """The amounts of one document, by business term."""

    lines: tuple[Decimal, ...]  # BT-131
    allowances: tuple[Decimal, ...]  # BT-92
    charges: tuple[Decimal, ...]  # BT-99
    categories: tuple[tuple[Decimal, Decimal | None, Decimal], ...]  # BT-116, BT-119, BT-117
    bt106: Decimal
    bt107: Decimal
    bt108: Decimal
    bt109: Decimal
    bt110: Decimal
    bt112: Decimal
    bt113: Decimal
    bt114: Decimal
    bt115: Decimal


def broken_rules(d: Document) -> set[str]:
    """Return the names of the rules that the document breaks."""
    rules = {
        "BR-CO-10": d.bt106 == sum(d.lines),
        "BR-CO-11": d.bt107 == sum(d.allowances),
        "BR-CO-12": d.bt108 == sum(d.charges),
        "BR-CO-13": d.bt109 == sum(d.lines) - d.bt107 + d.bt108,
        "BR-CO-14": d.bt110 == sum(tax for _, _, tax in d.categories),
        "BR-CO-15": d.bt112 == d.bt109 + d.bt110,
        "BR-CO-16": d.bt115 == d.bt112 - d.bt113 + d.bt114,
        "BR-CO-17": all(
            tax == (base * (rate or 0) / 100).quantize(CENT, ROUND_HALF_UP)
            for base, rate, tax in d.categories
        ),
    }
    return {name for name, holds in rules.items() if not holds}


def _decimals(text: str) -> tuple[Decimal, ...]:
    return tuple(map(Decimal, text.split()))


def _taxes(text: str) -> tuple[tuple[Decimal, Decimal, Decimal], ...]:
    return tuple(
        (Decimal(base), Decimal(rate), Decimal(tax))
        for base, rate, tax in (re.split("[@=]", one) for one in text.split())
    )


def _example(row: dict[str, str]) -> Document:
    lines, allowances, charges = (_decimals(row[name]) for name in ("lines", "allowances", "charges"))
    totals = (Decimal(text) for name, text in row.items() if name.startswith("bt"))
    return Document(lines, allowances, charges, _taxes(row["taxes"]), *totals)


with FILE.open(encoding="utf-8", newline="") as _lines:
    _rows = csv.DictReader(line for line in _lines if not line.startswith("#"))
    EXAMPLES = {row["file"]: _example(row) for row in _rows}

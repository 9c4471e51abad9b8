"""A supplier's list read into the shop's own."""

import csv
import io
from pathlib import Path
from typing import Any

import pytest

from estimator.catalogue.load import DATA
from estimator.catalogue.price_list import read_price_list
from estimator.catalogue.supplier_list import Imported, Mapped, import_prices
from estimator.core.errors import InputError

OWN = (DATA / "prices.csv").read_text()
SUPPLIER = "Alder Lane Lumber (invented)"
CODES = [r["item code"] for r in csv.DictReader(io.StringIO(OWN)) if r["supplier"] == SUPPLIER]


def mapped(**changes: Any) -> Mapped:
    plain = {"schema": 1, "supplier": SUPPLIER, "currency": "CAD", "date": "2026-11-01",
             "columns": {"item_code": "SKU", "price": "Net", "unit": "UoM"},
             "units": {"EA": "stick"}}  # fmt: skip
    return Mapped.model_validate(plain | changes, strict=False)


def run(rows: str, on: Mapped | None = None, own: str = OWN) -> Imported:
    return import_prices(own, rows, on or mapped(), "theirs.csv")


def cells(text: str, delimiter: str = ",") -> dict[str, dict[str, str]]:
    return {r["key"]: r for r in csv.DictReader(io.StringIO(text), delimiter=delimiter)}


def test_prices_and_dates_change_by_item_code_and_nothing_else(tmp_path: Path) -> None:
    got = run(f"SKU,Net,UoM\n{CODES[0]},4.55,EA\n{CODES[1]},5.62,EA\nX-9,1.00,EA\n")
    assert [(c.key, str(c.before), str(c.after)) for c in got.changes] == [("member-2x2-8", "4.38", "4.55")]
    assert got.kept == 1
    before, after = cells(OWN), cells(got.text)
    changed = {(k, c) for k, row in after.items() for c in row if row[c] != before[k][c]}
    assert changed == {
        ("member-2x2-8", "price"),
        ("member-2x2-8", "price date"),
        ("member-2x2-10", "price date"),
    }
    (tmp_path / "new.csv").write_text(got.text)
    assert len(read_price_list(tmp_path / "new.csv")) == len(before)


def test_what_the_supplier_no_longer_lists_is_a_warning() -> None:
    got = run(f"SKU,Net,UoM\n{CODES[0]},4.55,EA\n")
    assert len(got.problems) == len(CODES) - 1
    assert {p.severity for p in got.problems} == {"warning"}


@pytest.mark.parametrize(("written", "decimal", "price"), [
    ("$1,234.50", ".", "1234.50"), ("CAD 4.5", ".", "4.5"), ("1.234,50 €", ",", "1234.50"), (" 7 ", ".", "7"),
])  # fmt: skip
def test_prices_as_suppliers_write_them(written: str, decimal: str, price: str) -> None:
    got = run(f'SKU;Net;UoM\n{CODES[0]};"{written}";EA\n', mapped(delimiter=";", decimal=decimal))
    assert cells(got.text)["member-2x2-8"]["price"] == price


@pytest.mark.parametrize("written", ["", "free", "0.00", "-4.00", "1.2.3", "=1+1", "NaN"])
def test_what_is_no_price_is_refused(written: str) -> None:
    with pytest.raises(InputError, match="is no price over 0") as refused:
        run(f"SKU,Net,UoM\n{CODES[0]},{written},EA\n")
    assert refused.value.problems[0].line == 2


def test_another_unit_of_sale_is_refused() -> None:
    with pytest.raises(InputError, match="by the bundle, the own list by the stick"):
        run(f"SKU,Net,UoM\n{CODES[0]},4.55,BD\n", mapped(units={"BD": "bundle"}))
    with pytest.raises(InputError, match="the unit 'BD' is not in the mapping"):
        run(f"SKU,Net,UoM\n{CODES[0]},4.55,BD\n")


def test_another_currency_is_refused_not_converted() -> None:
    with pytest.raises(InputError, match="prices in USD, the own list in CAD"):
        run(f"SKU,Net,UoM\n{CODES[0]},4.55,EA\n", mapped(currency="USD"))


def test_a_wrong_heading_supplier_or_double_row_is_named() -> None:
    with pytest.raises(InputError, match=r"the heading lacks Net\. It has 'SKU', 'Nett'"):
        run("SKU,Nett,UoM\n")
    with pytest.raises(InputError, match="buys nothing of 'Alder Lane'"):
        run("SKU,Net,UoM\n", mapped(supplier="Alder Lane"))
    with pytest.raises(InputError, match="stands already in line 2"):
        run(f"SKU,Net,UoM\n{CODES[0]},4.55,EA\n{CODES[0]},4.60,EA\n")


def test_the_own_list_keeps_its_delimiter() -> None:
    rows = list(csv.reader(io.StringIO(OWN)))
    out = io.StringIO()
    csv.writer(out, delimiter=";", lineterminator="\n").writerows(rows)
    got = run(f"SKU,Net,UoM\n{CODES[0]},4.55,EA\n", own=out.getvalue())
    assert cells(got.text, ";")["member-2x2-8"]["price"] == "4.55"

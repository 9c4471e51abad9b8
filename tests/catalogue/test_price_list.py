"""Price lists: the shipped ones are whole, and a shop's own is read however a spreadsheet saved it."""

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.catalogue.load import DATA, PRICES
from estimator.catalogue.price_list import ALWAYS, COLUMNS, read_price_list
from estimator.catalogue.records import KINDS, Item
from estimator.core.errors import InputError, Problem
from estimator.core.units import INCH

SHIPPED = sorted(PRICES)
HEAD = ",".join(ALWAYS)
ROW = "washer,washer,washer,Washer,Fasteners,06 05 23,Nobody,box,100 ea,9.75,CAD,2026-01-15,invented"


def _read(tmp_path: Path, text: str) -> tuple[Item, ...]:
    path = tmp_path / "prices.csv"
    path.write_bytes(text.encode())
    return read_price_list(path, "prices.csv")


def _problems(tmp_path: Path, text: str) -> tuple[Problem, ...]:
    with pytest.raises(InputError) as caught:
        _read(tmp_path, text)
    return caught.value.problems


@pytest.mark.parametrize("name", SHIPPED)
def test_the_shipped_lists_have_every_kind_and_say_that_they_are_invented(name: str) -> None:
    items = read_price_list(DATA / PRICES[name])
    assert {item.kind for item in items} == set(KINDS)
    assert all("invented for the demonstration" in item.source for item in items)
    assert all("(invented)" in item.supplier for item in items)


@pytest.mark.parametrize("name", SHIPPED)
def test_the_larger_pack_of_the_same_thing_is_never_dearer_a_unit(name: str) -> None:
    by_product: dict[tuple[str, int | None], list[Item]] = {}
    for item in read_price_list(DATA / PRICES[name]):
        by_product.setdefault((item.product, item.length if item.content_unit == "ea" else None), []).append(
            item
        )
    for sizes in by_product.values():
        packs = sorted(sizes, key=lambda item: item.content_as(sizes[0].content_unit))
        rates = [item.price / item.content_as(sizes[0].content_unit) for item in packs]
        assert rates == sorted(rates, reverse=True)


def test_sizes_are_exact() -> None:
    items = {item.key: item for item in read_price_list(DATA / PRICES["default"])}
    stick = items["member-2x2-10"]
    assert (stick.thickness, stick.width, stick.length) == (INCH * 3 // 2, INCH * 3 // 2, 120 * INCH)
    assert items["sealant-acrylic-10"].content_as("mL") == Decimal("298.69264858125")
    assert items["fabric-plain-yd"].content_as("in") == 36
    assert items["fabric-velour-yd"].nap


def test_semicolons_tabs_and_byte_order_marks_are_read(tmp_path: Path) -> None:
    (wanted,) = _read(tmp_path, f"{HEAD}\n{ROW}\n")
    for mark in ";\t":
        assert _read(tmp_path, f"﻿{HEAD}\r\n{ROW}\r\n\r\n".replace(",", mark)) == (wanted,)


def test_columns_may_stand_in_any_order(tmp_path: Path) -> None:
    heads, cells = HEAD.split(","), ROW.split(",")
    turned = ",".join(reversed(heads)) + "\n" + ",".join(reversed(cells)) + "\n"
    assert _read(tmp_path, turned) == _read(tmp_path, f"{HEAD}\n{ROW}\n")


@pytest.mark.parametrize(
    ("column", "cell", "part"),
    [
        ("price", "", "missing"),
        ("price", "0", "a price of nothing"),
        ("price", "-9.75", "negative"),
        ("price", "9.75 CAD", "not a price"),
        ("price", "1e2", "not a price"),
        ("content", "", "missing"),
        ("content", "0 ea", "cannot be one buy unit"),
        ("content", "2.5 ea", "cannot be one buy unit"),
        ("content", "1 gal", "no content"),
        ("content", "many", "no content"),
        ("currency", "$", "not an ISO 4217"),
        ("price date", "1/15/26", "not a date"),
        ("kind", "washers", "not a kind"),
        ("key", "Washer 1", "not a key"),
        ("cost code", "6", "not a section number"),
        ("source", "", "missing"),
        ("supplier", "x" * 301, "over 300"),
    ],
)
def test_a_faulty_cell_is_named_with_its_row_and_column(
    tmp_path: Path, column: str, cell: str, part: str
) -> None:
    cells = dict(zip(HEAD.split(","), ROW.split(","), strict=True)) | {column: cell}
    found = [p for p in _problems(tmp_path, f"{HEAD}\n{','.join(cells.values())}\n") if part in p.what]
    assert [(p.line, p.where.rsplit(".", 1)[1]) for p in found] == [(2, column)]


def test_two_currencies_two_kinds_and_a_key_twice_are_refused(tmp_path: Path) -> None:
    other = ROW.replace("CAD", "USD").replace("washer,washer,washer", "washer,washer,staple")
    texts = [p.what for p in _problems(tmp_path, f"{HEAD},length\n{ROW},\n{other},3/8 in\n")]
    assert any("stands already in line 2" in text for text in texts)
    assert any("another kind, size or way to charge" in text for text in texts)
    assert any("USD stands among prices in CAD" in text for text in texts)


def test_a_section_in_other_capitals_is_refused(tmp_path: Path) -> None:
    """Spreadsheet programs sum both under each: the cost by section would come out twice."""
    (section,) = [
        cell for head, cell in zip(HEAD.split(","), ROW.split(","), strict=True) if head == "section"
    ]
    other = ROW.replace("washer,washer,washer", "washer-2,washer-2,washer").replace(section, section.upper())
    (found,) = _problems(tmp_path, f"{HEAD}\n{ROW}\n{other}\n")
    assert (found.line, found.where) == (3, "washer-2.section")
    assert f"is written {section!r} in line 2" in found.what


def test_a_comma_in_a_price_makes_a_cell_too_many(tmp_path: Path) -> None:
    texts = [p.what for p in _problems(tmp_path, f"{HEAD}\n{ROW.replace('9.75', '9,75')}\n")]
    assert "more cells than headings" in texts


@pytest.mark.parametrize("text", ["", "\n\n", HEAD, HEAD + "\n", '"key', "key;price"])
def test_a_list_without_rows_or_columns_is_refused(tmp_path: Path, text: str) -> None:
    assert all(problem.file == "prices.csv" for problem in _problems(tmp_path, text))


_CELLS = st.lists(
    st.sampled_from(["", "1 ea", "5", "yes", "a,b", '"', "\n", "member", "2026-01-01"]), max_size=8
)


@settings(max_examples=50)
@given(rows=st.lists(_CELLS, max_size=4), heads=st.lists(st.sampled_from(sorted(COLUMNS)), max_size=8))
def test_anything_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, rows: list[list[str]], heads: list[str]
) -> None:
    path = tmp_path_factory.mktemp("list") / "prices.csv"
    lines = [HEAD + "," + ",".join(heads), *(",".join(row) for row in rows)]
    path.write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(InputError):
        read_price_list(path)

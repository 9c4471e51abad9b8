"""The language: values as a spreadsheet computes them, formulas as it reads them."""

import re
from decimal import Decimal as D

import pytest

from estimator.calc.evaluation import CellError
from estimator.calc.expressions import (
    cents,
    find,
    find_in,
    if_,
    product_total,
    round_to,
    total,
    total_where,
    whole_up,
)
from estimator.calc.formulas import Renderer
from estimator.calc.tables import Book, Draft, FieldAddresses, Sheet


def draft() -> tuple[Draft, Draft]:
    terms = Draft("terms", "Terms", "across")
    terms.input("waste", "Waste", "%", [D("0.1")])
    frames = Draft("frames", "Frames")
    frames.keys(["N1", "N2"])
    frames.input("width", "Width", "in", [D(60), D("48.5")])
    frames.input("height", "Height", "in", [D(84), D(30)])
    return terms, frames


def test_operators_keep_the_order_of_arithmetic() -> None:
    terms, frames = draft()
    width, height = frames.fields[1:]
    ring = frames.formula("ring", "Ring", "in", 2 * (width + height) - (width - height) / 2)
    assert ring.values == (D(300), D("147.75"))
    book = Book(
        (Sheet("Terms", "inputs", "", (terms.table(),)), Sheet("Frames", "inputs", "", (frames.table(),)))
    )
    writer = Renderer(FieldAddresses(book), "Frames")
    assert writer.formula(ring.exprs[0], 0) == "=2*(B8+C8)-(B8-C8)/2"
    assert writer.formula(ring.exprs[0], 1) == "=2*(B9+C9)-(B9-C9)/2"


def test_names_ranges_and_lookups() -> None:
    terms, frames = draft()
    waste = terms.fields[0]
    keys, width, height = frames.fields
    lines = Draft("lines", "Lines")
    lines.keys(["a", "b"])
    what = lines.label("what", "What", ["N2", "N1"])
    head = lines.label("head", "Column", ["width", "height"])
    one = lines.formula("one", "One", "in", find_in((width, height), keys, what, head) * (1 + waste.at()))
    assert one.values == (D("53.35"), D("92.4"))
    other = lines.formula("two", "Two", "in", total_where(width, keys, what))
    assert other.values == (D("48.5"), D(60))
    sheets = (
        Sheet("Terms", "inputs", "", (terms.table(),)),
        Sheet("Frames", "inputs", "", (frames.table(),)),
        Sheet("Lines of it", "workings", "", (lines.table(),)),
    )
    writer = Renderer(FieldAddresses(Book(sheets)), "Lines of it")
    assert writer.formula(one.exprs[0], 1) == (
        "=INDEX(Frames!$B$8:$C$9,MATCH(B9,Frames!$A$8:$A$9,0),MATCH(C9,Frames!$B$7:$C$7,0))*(1+waste)"
    )
    assert writer.formula(other.exprs[0], 0) == "=SUMPRODUCT((Frames!$A$8:$A$9=B8)*1,Frames!$B$8:$B$9)"
    assert writer.formula(total(one), 0) == "=SUM($D$8:$D$9)"


def test_rounding_is_half_away_from_zero_and_packs_are_whole() -> None:
    form = Draft("form", "Form", "across")
    half = form.input("half", "Half a cent", "$", [D("2.675")])
    assert form.formula("cent", "Rounded", "$", round_to(half, 2)).values == (D("2.68"),)
    assert form.formula("packs", "Packs", "", whole_up(half / half)).values == (D(1),)
    assert form.formula("pick", "Pick", "", if_(half.gt(2), 1, 0)).values == (D(1),)


def test_money_on_the_half_cent_goes_up_whatever_the_last_bit() -> None:
    form = Draft("form", "Form", "across")
    price, share = (form.input(k, k, "", [D(v)]) for k, v in (("price", "2701.25"), ("share", "0.1")))
    field = form.formula("discount", "Discount", "", cents(price * share))
    assert field.values == (D("270.13"),)
    book = Book((Sheet("Form", "workings", "", (form.table(),)),))
    text = Renderer(FieldAddresses(book), "Form").formula(field.exprs[0], 0)
    assert re.fullmatch(r"=ROUND\(ROUND\(D\d+\*D\d+,6\),2\)", text)


def test_no_number_hides_in_a_formula() -> None:
    form = Draft("form", "Form", "across")
    half = form.input("half", "Half", "", [D(1)])
    for number in (3, 6, 12, -1):
        with pytest.raises(ValueError, match="belongs in an input cell"):
            _ = half * number


def test_an_unknown_key_is_an_error_cell_not_a_guess() -> None:
    _, frames = draft()
    keys, width, _ = frames.fields
    form = Draft("form", "Form", "across")
    form.input("who", "Who", "", ["N9"])
    with pytest.raises(CellError):
        form.formula("found", "Found", "in", find(width, keys, form.fields[0]))


def test_products_skip_text() -> None:
    _, frames = draft()
    _, width, height = frames.fields
    form = Draft("form", "Form", "across")
    area = form.formula("area", "Area", "in2", product_total(width, height))
    assert area.values == (D(60 * 84) + D("48.5") * 30,)

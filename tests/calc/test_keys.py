"""Keys of cells, and the table that checks names against them."""

from decimal import Decimal as D

from estimator.calc.formulas import Renderer
from estimator.calc.tables import (
    Book,
    Draft,
    FieldAddresses,
    Sheet,
    Table,
    bindings,
    footer,
    input_cells,
    row_keys,
)


def prices() -> Table:
    draft = Draft("prices", "Prices", spare=2)
    draft.keys(["clips", "tape"])
    draft.label("what", "What", ["Clips", "Tape"])
    draft.input("price", "Price", "$", [D(4), D(7)], low=D(0), source="invented for the demonstration")
    return draft.table()


def terms() -> Table:
    draft = Draft("terms", "Terms", "across")
    draft.input("waste", "Waste", "%", [D("0.1")])
    return draft.table()


def test_spare_rows_are_keyed_and_open_for_their_labels() -> None:
    assert row_keys(prices()) == ("clips", "tape", "spare-1", "spare-2")
    book = Book((Sheet("Prices", "inputs", "", (prices(), terms())),))
    assert [key for key, _, _ in input_cells(book)] == [
        "prices.price.clips",
        "prices.price.tape",
        "prices.what.spare-1",
        "prices.price.spare-1",
        "prices.what.spare-2",
        "prices.price.spare-2",
        "terms.waste",
    ]


def test_a_form_of_several_cases_counts_them() -> None:
    draft = Draft("options", "Options", "across")
    draft.input("price", "Price", "$", [D(1), D(2)])
    assert row_keys(draft.table()) == ("0", "1")


def test_bindings_read_the_key_beside_each_name() -> None:
    form = terms()
    checks = bindings((prices(), form))
    assert checks["check"].values == ("ok",)
    book = Book((Sheet("Terms", "inputs", "", (form,)), Sheet("Checks", "control", "", (checks,))))
    writer = Renderer(FieldAddresses(book), "Checks")
    assert writer.formula(checks["found"].exprs[0], 0) == (
        '=IFERROR(INDEX(Terms!$A$1:$A$8,ROW(waste)),"gone")'
    )


def test_sources_stand_under_a_table() -> None:
    assert footer(prices()) == ("Sources. Price: invented for the demonstration.",)
    assert footer(terms()) == ()


def test_an_input_takes_what_the_office_changed() -> None:
    draft = Draft("prices", "Prices", edits={"prices.price.tape": D(8), "prices.price.gone": D(1)})
    draft.keys(["clips", "tape"])
    assert draft.input("price", "Price", "$", [D(4), D(7)]).values == (D(4), D(8))
    form = Draft("terms", "Terms", "across", edits={"terms.waste": D("0.2")})
    assert form.input("waste", "Waste", "%", [D("0.1")]).values == (D("0.2"),)


def test_a_filled_spare_row_keeps_its_key() -> None:
    draft = Draft("prices", "Prices", spare=2)
    draft.keys(["clips", "spare-1"])
    assert row_keys(draft.table()) == ("clips", "spare-1", "spare-2", "spare-3")

"""Lists of pieces: what is read, and that every problem is named with its line and column."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.core.errors import InputError
from estimator.core.units import INCH, MM
from estimator.cutting.piece_list import SHEET_COLUMNS, STICK_COLUMNS, ListedPiece, parse_list, read_list


def test_reads_lengths_counts_and_names() -> None:
    data = b"length,count,name\n62 1/2 in,4,rail\n1473 mm,1,\n"
    rows = parse_list(data, "list.csv", STICK_COLUMNS).rows
    assert rows == (ListedPiece("rail", (125 * INCH // 2,), 4, 2), ListedPiece("line 3", (1473 * MM,), 1, 3))


def test_reads_feet_and_inch_marks_unquoted() -> None:
    rows = parse_list(b"name,length\nrail,5'2-1/2\"\n", "list.csv", STICK_COLUMNS).rows
    assert rows == (ListedPiece("rail", (125 * INCH // 2,), 1, 2),)


def test_reads_semicolons_a_byte_order_mark_and_blank_lines() -> None:
    data = "\ufeffWidth;Height;Name\r\n\r\n600 mm;1200 mm;tafel\r\n".encode()
    rows = parse_list(data, "list.csv", SHEET_COLUMNS).rows
    assert rows == (ListedPiece("tafel", (600 * MM, 1200 * MM), 1, 3),)


def test_bare_numbers_take_the_unit_given() -> None:
    rows = parse_list(b"length\n10.5\n2 1/2 in\n", "list.csv", STICK_COLUMNS, unit="mm").rows
    assert [row.sizes[0] for row in rows] == [10_500_000, 5 * INCH // 2]


def test_every_problem_is_reported_with_its_line_and_column() -> None:
    data = b"width,height,count,name\n60,2 m,1,a\n1 m,0 mm,0,b\n1 m,-2 m,2.5,c\n1 furlong,1 m,9999999,d\n"
    with pytest.raises(InputError) as caught:
        parse_list(data, "list.csv", SHEET_COLUMNS)
    found = [(p.file, p.line, p.where) for p in caught.value.problems]
    assert found == [
        ("list.csv", 2, "column width"),
        ("list.csv", 3, "column height"),
        ("list.csv", 3, "column count"),
        ("list.csv", 4, "column height"),
        ("list.csv", 4, "column count"),
        ("list.csv", 5, "column width"),
        ("list.csv", 5, "column count"),
    ]
    assert "which unit" in caught.value.problems[0].what


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"", "no such column"),
        (b"length,count\n", "no pieces"),
        (b"len,count\n1 m,2\n", "no such column"),
        (b"length,length\n1 m,2 m\n", "more than once"),
        (b"length\n\xff\xfe\n", "not UTF-8"),
        (b"length\n" + b"9" * 200_000 + b"\n", "cannot be read as CSV"),
        (b"length,count\n1 m,3000\n2 m,3000\n", "more than 5,000 pieces"),
        (b"length,name\n1 m," + b"x" * 300 + b"\n", "longer than"),
    ],
)
def test_refuses_what_is_no_list(data: bytes, what: str) -> None:
    with pytest.raises(InputError, match=what):
        parse_list(data, "list.csv", STICK_COLUMNS)


def test_a_million_pieces_are_refused_before_they_are_counted_out() -> None:
    """Laying 5,000 pieces on a roll took half a minute of the processor."""
    with pytest.raises(InputError, match="from 1 to 5,000"):
        parse_list(b"length,count\n1 m,1000000\n", "list.csv", STICK_COLUMNS)
    with pytest.raises(InputError, match="more than 5,000 pieces in all"):
        parse_list(b"width,height\n" + b"1 m,1 m\n" * 5_001, "list.csv", SHEET_COLUMNS)
    assert len(parse_list(b"width,height\n" + b"1 m,1 m\n" * 5_000, "list.csv", SHEET_COLUMNS).rows) == 5_000


def test_warns_of_columns_that_are_not_read() -> None:
    found = parse_list(b"length,cuont\n1 m,3\n", "list.csv", STICK_COLUMNS)
    assert [(p.where, p.severity) for p in found.warnings] == [("column cuont", "warning")]


def test_refuses_files_that_cannot_be_read(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "missing.csv"):
        with pytest.raises(InputError):
            read_list(path, STICK_COLUMNS)


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    try:
        found = parse_list(b"length,count,name\n" + data, "list.csv", STICK_COLUMNS)
    except InputError:
        return
    assert all(row.count > 0 and row.sizes[0] > 0 for row in found.rows)

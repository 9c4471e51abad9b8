"""Lists without words of their own: payment steps and the like, whose rows may change places as a whole."""

from decimal import Decimal as D
from pathlib import Path

import openpyxl
import pytest

from estimator.calc.tables import Book, Draft, Sheet
from estimator.core.errors import InputError
from estimator.intake.cells import cells_of
from estimator.workbook.build import workbook_bytes
from estimator.workbook.readback import read_workbook

STEPS = (("Deposit", D("0.4")), ("On delivery", D("0.35")), ("Balance", D("0.25")))


def steps_book() -> Book:
    steps = Draft("steps", "Payment steps")
    steps.names(["one", "two", "three"], "Row")
    steps.input("step", "Step", "", [words for words, _ in STEPS])
    steps.input("share", "Share", "%", [share for _, share in STEPS], low=D(0), high=D(1))
    return Book((Sheet("About", "control", "", ()), Sheet("Steps", "inputs", "", (steps.table(),))))


def decided_book() -> Book:
    plans = Draft("plans", "Plans")
    plans.names(["a", "b", "c"], "Plan")
    plans.decided("sticks", "Sticks", "ea", [D(3), D(4), D(5)], 0)
    form = Draft("terms", "Terms", "across")
    form.input("waste", "Waste", "%", [D("0.1")], low=D(0), high=D(1))
    return Book((
        Sheet("About", "control", "", ()), Sheet("Terms", "inputs", "", (form.table(),)),
        Sheet("Plans", "workings", "", (plans.table(),)),
    ))  # fmt: skip


def with_rows(folder: Path, rows: tuple[tuple[str, D], ...]) -> Path:
    path = folder / "steps.xlsx"
    path.write_bytes(workbook_bytes(steps_book(), {"job_id": "14"}, "a4"))
    book = openpyxl.load_workbook(path)
    for row, (words, share) in enumerate(rows, start=8):
        book["Steps"].cell(row, 3).value, book["Steps"].cell(row, 4).value = words, float(share)
    book.save(path)
    return path


def test_whole_rows_may_change_places(tmp_path: Path) -> None:
    back = read_workbook(cells_of(with_rows(tmp_path, STEPS[::-1])), steps_book(), "14")
    assert [back.inputs[f"steps.share.{row}"] for row in ("one", "two", "three")] == [
        s for _, s in STEPS[::-1]
    ]
    assert back.notes == ()


def test_one_column_of_them_sorted_alone_is_refused(tmp_path: Path) -> None:
    shares = [share for _, share in STEPS]
    turned = tuple((words, share) for (words, _), share in zip(STEPS, shares[1:] + shares[:1], strict=True))
    with pytest.raises(InputError, match=r"the same figures stand in other rows of steps\.share"):
        read_workbook(cells_of(with_rows(tmp_path, turned)), steps_book(), "14")

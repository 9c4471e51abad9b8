"""Options beside a base that lacks what they buy, or lacks nothing: in other programs, and by themselves."""

import csv
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path

import ironcalc
import pytest

from estimator.calc.expressions import Value
from estimator.calc.tables import Book, FieldAddresses, input_cells
from estimator.catalogue.load import load
from estimator.job.options import apply_option
from estimator.pipeline import Estimate, estimate
from estimator.tables.book import book_of
from estimator.workbook.build import workbook_bytes
from estimator.workbook.control import completed
from tests.end_to_end.office import Office
from tests.workbook.recalculate import compare_with, recalculated_all

D = Decimal
ROOT = Path(__file__).parents[2]
JOB = (ROOT / "examples" / "one_panel" / "job.toml").read_text(encoding="utf-8")
PRICES = ROOT / "estimator" / "catalogue" / "data" / "prices.csv"
VELOUR = """
[[option]]
name = "velour"
title = "In velour"
colour = [ { wall = "N", fabric = "fabric-velour", colour = "plum" } ]
"""
SAME = """
[[option]]
name = "same"
title = "The same again"
band = { N = { bottom = "6 in", height = "85 in" } }
"""
SCREWS = ("screw-fixing", "brad-18")
"""Products whose sizes the layout needs."""


def job_in(folder: Path, option: str, prices: str = "") -> Path:
    path = folder / "job.toml"
    named = f'currency = "CAD"\n{prices}'
    path.write_text(JOB.replace('currency = "CAD"\n', named) + option, encoding="utf-8")
    return path


def worked_out(path: Path, edits: Mapping[str, Value] | None = None) -> Estimate:
    job, catalogue, _ = load(path)
    return estimate(job, catalogue, edits or {})


def one_size_each(folder: Path) -> str:
    """Write the shipped price list with one size of every product; return the line that names it."""
    with PRICES.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    last = {row["product"]: row for row in rows}
    kept = [row for row in rows if row["product"] in SCREWS or row is last[row["product"]]]
    with (folder / "single.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(kept)
    return 'prices = "single.csv"\n'


def written(book: Book, folder: Path) -> Path:
    path = folder / "book.xlsx"
    path.write_bytes(workbook_bytes(book, {"job_id": "1", "title": "t"}, "letter"))
    return path


def totals_after(book: Book, path: Path, key: str, value: float) -> list[Decimal]:
    """Return every case's total with tax, in another program, with one input changed."""
    model, placement = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en"), FieldAddresses(completed(book))
    sheets = [s["name"] for s in model.get_worksheets_properties()]
    field, index = next((f, i) for k, f, i in input_cells(book) if k == key)
    sheet, row, column = placement.cell(field, index)
    model.update_cell_with_number(sheets.index(sheet), row, column, value)
    model.evaluate()
    totals = book.table("build_up")["bu_total"]
    cells = (placement.cell(totals, i) for i in range(len(totals.values)))
    return [round(D(str(model.get_cell_value(sheets.index(s), r, c))), 2) for s, r, c in cells]


def test_cloth_that_only_an_option_takes_has_its_price_in_the_list(tmp_path: Path) -> None:
    path = job_in(tmp_path, VELOUR)
    before = worked_out(path)
    book = book_of(before)
    assert "fabric-velour-yd" in book.table("prices")["key"].values
    assert "fabric-velour-yd" not in book.table("purchases")["item"].values
    key = "prices.price.fabric-velour-yd"
    after = worked_out(path, {key: D("40.15")})
    assert after.totals.total == before.totals.total
    option = after.pricing.totals(1).total
    assert option > before.pricing.totals(1).total
    assert totals_after(book, written(book, tmp_path), key, 40.15) == [after.totals.total, option]
    # And it costs what a job of its own costs.
    job, catalogue, _ = load(path)
    alone = estimate(apply_option(job, job.options[0]).model_copy(update={"options": ()}), catalogue)
    assert before.pricing.totals(1).total == alone.totals.total


@pytest.mark.parametrize(
    "engine", ["ironcalc", pytest.param("libreoffice", marks=[pytest.mark.libreoffice, pytest.mark.slow])]
)
@pytest.mark.parametrize("single", [True, False])
def test_an_option_that_changes_nothing_costs_the_same_in_every_program(
    tmp_path: Path, engine: str, *, single: bool
) -> None:
    path = job_in(tmp_path, SAME, one_size_each(tmp_path) if single else "")
    found = worked_out(path)
    assert found.pricing.totals(1).total == found.totals.total
    book = book_of(found)
    (values,) = recalculated_all([written(book, tmp_path)], engine)  # type: ignore[arg-type]
    assert compare_with(book, values) == ()


TALLER = """
[[option]]
name = "taller"
title = "Taller"
band = { N = { bottom = "2 in", height = "93 in" } }
"""
HARDER = {"casing": D(8)}
"""So hard that the taller panel takes a second trip and the base none."""


def test_a_trip_more_for_an_option_alone_is_said(tmp_path: Path) -> None:
    path = job_in(tmp_path, TALLER)
    office = Office(book_of(worked_out(path)))
    totals = office.book.table("build_up")["bu_total"]
    for task, factor in HARDER.items():
        key = f"labour_rates.difficulty.{task}"
        office.change(key, factor)
        fresh = worked_out(path, {key: factor})
        assert [s.schedule.trips for s in (fresh.scope, *fresh.options.values())] == [1, 2]
        base, option = (round(D(str(shown)), 2) for shown in office.values(totals))
        assert (base, option) == (fresh.totals.total, option)
        assert option < fresh.pricing.totals(1).total
        assert office.looks() == ["days_in_date"]


HEAVY = """
[[option]]
name = "thicker"
title = "Thicker"
make-up = { standard = "deep" }
[make-up.deep]
member = "member-2x4"
board = "board-48-1"
layers = 2
gap = "1 1/2 in"
fabric = "fabric-plain"
colour = "slate"
"""


def test_what_is_to_know_of_an_option_begins_with_its_name(tmp_path: Path) -> None:
    """The option's own model of absorption is out of its range, the base's board has a measured row."""
    path = job_in(tmp_path, HEAVY)
    job, catalogue, _ = load(path)
    alone = estimate(apply_option(job, job.options[0]), catalogue)
    made = estimate(job, catalogue)
    base = estimate(job.model_copy(update={"options": ()}), catalogue)
    wanted = [p for p in (*alone.scope.layout.problems, *alone.scope.room.problems) if p not in base.problems]
    found = [p for p in made.problems if p.where.startswith("thicker: ")]
    assert wanted
    assert [(p.where.removeprefix("thicker: "), p.what) for p in found] == [(p.where, p.what) for p in wanted]
    assert set(base.problems) <= set(made.problems)

"""A quote's whole life with a real LibreOffice: nothing that the office typed is lost on the way.

Estimate, edit the workbook in LibreOffice, read it back, change the job, estimate again, meet a conflict and
decide it, file, change, file again, compare, invoice, be paid, prove.
"""

import json
import shutil
from decimal import Decimal as D
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook
from typer.testing import CliRunner

from estimator.calc.tables import FieldAddresses
from estimator.catalogue.load import DATA, load
from estimator.cli.app import gather
from estimator.office.edits import applied
from estimator.pipeline import estimate
from estimator.tables.book import book_of
from estimator.workbook.control import completed
from tests.workbook.recalculate import resaved

EXAMPLE = Path(__file__).parents[2] / "examples" / "rehearsal_room" / "job.toml"
NUMBER = "2026-014"
TYPED = {"prices.price.fabric-plain-yd": D("31.5"), "terms.margin_asked": D("0.28"), "practice.coats": D(3)}


class Desk:
    """A folder with a job and its own terms, an archive, and the command."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.job, self.out = folder, folder / "job.toml", folder / "out"
        self.app = gather()
        self.terms = folder / "terms.toml"
        shutil.copy(DATA / "terms" / "default.toml", self.terms)
        text = EXAMPLE.read_text(encoding="utf-8")
        own = text.replace('currency = "CAD"', 'currency = "CAD"\nterms = "terms.toml"', 1)
        self.job.write_text(own, encoding="utf-8")

    def says(self, *words: str | Path, code: int = 0) -> dict[str, Any]:
        env = {"BATTENBOOK_ARCHIVE": str(self.folder / "archive")}
        done = CliRunner().invoke(self.app, [*map(str, words), "--json"], env=env)
        assert done.exit_code == code, done.output
        answer: dict[str, Any] = json.loads(done.stdout)
        return answer

    def change(self, path: Path, old: str, new: str) -> None:
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new, 1), encoding="utf-8")

    def saved_by_libreoffice(self, typed: dict[str, D]) -> Path:
        """Type into the workbook and let LibreOffice open and save it."""
        book = completed(book_of(applied(self.job).estimate))
        place = FieldAddresses(book)
        workbook = load_workbook(self.out / f"{NUMBER}-workbook.xlsx")
        for key, value in typed.items():
            table, field, *row = key.split(".", 2)
            cells = book.table(table)
            index = cells["key"].values.index(row[0]) if row else 0
            sheet, at, column = place.cell(cells[field], index)
            cell = workbook[sheet].cell(at, column)
            assert not cell.protection.locked
            cell.value = float(value)
        edited = self.folder / "edited" / f"{NUMBER}-workbook.xlsx"
        edited.parent.mkdir(exist_ok=True)
        workbook.save(edited)
        saved = self.folder / "from-office"
        saved.mkdir(exist_ok=True)
        return resaved([edited], saved)[0]


@pytest.mark.libreoffice
def test_from_the_first_estimate_to_the_last_payment(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    first = desk.says("estimate", desk.job, "--out", desk.out)["result"]

    back = desk.says("readback", desk.saved_by_libreoffice(TYPED), "--job", desk.job)["result"]
    assert {c["key"]: D(str(c["now"])) for c in back["changes"]} == TYPED
    assert back["price_before"] == first["totals"]["price"]

    kept_through_a_change_of_the_job(desk, back["price_after"])
    a_conflict_is_shown_and_decided(desk)
    filed_compared_invoiced_and_proven(desk)


def kept_through_a_change_of_the_job(desk: Desk, price: float) -> None:
    again = desk.says("estimate", desk.job, "--out", desk.out, "--force")
    assert again["result"]["totals"]["price"] == price
    desk.change(desk.job, 'height = "8 ft" }', 'height = "7 ft 6 in" }')
    lower = desk.says("estimate", desk.job, "--out", desk.out, "--force")
    assert any("3 inputs as the office changed them" in p["what"] for p in lower["problems"])
    assert lower["result"]["totals"]["price"] != price
    job, catalogue, _ = load(desk.job)
    totals = estimate(job, catalogue, dict(TYPED)).totals
    assert lower["result"]["totals"]["price"] == float(totals.price)
    assert lower["result"]["totals"]["margin"] == pytest.approx(0.28, abs=0.0001)
    workbook = load_workbook(desk.out / f"{NUMBER}-workbook.xlsx", data_only=True)
    place = FieldAddresses(completed(book_of(applied(desk.job).estimate)))
    prices = book_of(applied(desk.job).estimate).table("prices")
    sheet, row, column = place.cell(prices["price"], prices["key"].values.index("fabric-plain-yd"))
    assert workbook[sheet].cell(row, column).value == 31.5


def a_conflict_is_shown_and_decided(desk: Desk) -> None:
    before = {p: p.read_bytes() for p in desk.out.iterdir()}
    desk.change(desk.terms, 'margin = "25 %"', 'margin = "30 %"')
    refused = desk.says("estimate", desk.job, "--out", desk.out, "--force", code=3)
    (problem,) = refused["problems"]
    assert problem["where"] == "terms.margin_asked"
    said = "was 0.25; the office says 0.28, the job file now says 0.3"
    assert problem["what"] == f"Terms: Margin, part of the price (if by margin) {said}"
    assert {p: p.read_bytes() for p in desk.out.iterdir()} == before
    decided = desk.says("estimate", desk.job, "--out", desk.out, "--force", "--keep", "office")
    assert decided["result"]["totals"]["margin"] == pytest.approx(0.28, abs=0.0001)
    settled = desk.says("estimate", desk.job, "--out", desk.out, "--force")
    assert settled["result"]["totals"] == decided["result"]["totals"]


def filed_compared_invoiced_and_proven(desk: Desk) -> None:
    total = desk.says("estimate", desk.job, "--out", desk.out, "--force")["result"]["totals"]["total"]
    assert desk.says("archive", "add", desk.job)["result"]["revision"] == 0
    (folder,) = (desk.folder / "archive").glob(f"2026/*/{NUMBER}-r0")
    assert (folder / "job.edits.toml").is_file()
    assert desk.says("compare", desk.job)["result"]["same"]

    desk.change(
        desk.job,
        'name = "W2"\nkind = "window"\nleft = "14 ft"',
        'name = "W2"\nkind = "window"\nleft = "13 ft"',
    )
    assert desk.says("archive", "add", desk.job)["result"]["revision"] == 1
    moved = desk.says("compare", f"{NUMBER}-r0", f"{NUMBER}-r1")["result"]
    assert [d["where"] for d in moved["scope"]] == ["wall[N].opening[W2].left"]
    totals = {m["key"]: m for m in moved["totals"]}
    assert totals["total"]["before"] == total

    due = f"{totals['total']['after']:.2f}"
    paper = desk.folder / "INV-1.pdf"
    paper.write_bytes(b"%PDF an invented invoice")
    desk.says("archive", "outcome", NUMBER, "won")
    desk.says("archive", "invoice", NUMBER, paper, "--amount", due, "--date", "2026-05-01")
    desk.says("archive", "paid", NUMBER, "--amount", due, "--date", "2026-05-20", "--invoice", "INV-1")
    (account,) = desk.says("archive", "list")["result"]["quotes"]
    assert (account["revision"], account["outcome"], account["due"], account["to_invoice"]) == (
        1,
        "won",
        0,
        0,
    )
    proven = desk.says("archive", "verify")["result"]
    assert (proven["quotes"], proven["papers"]) == (2, 3)

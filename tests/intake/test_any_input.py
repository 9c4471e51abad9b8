"""Whatever a file holds, it is read or refused in words: good files with seeded faults, and no crash."""

import datetime as dt
import io
import random
import zipfile
from collections.abc import Callable
from decimal import Decimal
from functools import cache
from pathlib import Path

import pytest

from estimator.archive import events, manifest
from estimator.archive import finished as took
from estimator.archive.exporting import load_chart
from estimator.catalogue.labour import SHIPPED, load_labour
from estimator.catalogue.load import DATA, load
from estimator.catalogue.price_list import read_price_list
from estimator.catalogue.references import read_finishes
from estimator.catalogue.supplier_list import Mapped, import_prices
from estimator.core.errors import BattenbookError
from estimator.cutting.piece_list import SHEET_COLUMNS, STICK_COLUMNS, read_list
from estimator.intake.cells import cells_of
from estimator.intake.files import read_text
from estimator.job.document import read_document, validated
from estimator.labour.learning import actuals_of
from estimator.office.edits import load_edits
from estimator.workbook.build import workbook_bytes
from estimator.workbook.readback import read_workbook
from tests.workbook.books import everything

EXAMPLES = Path(__file__).parents[2] / "examples"
TIMES = 30
TOKENS = (
    "\x00", "\u202e", "\ufeff", '"', "'", "[", "[" * 900, "{" * 400, "=", ",", ";", "\n", "\r", "\t", "-1",
    "9" * 400, "NaN", "null", "true", "1/0 in", "٣", "[[wall]]", "a.b.c = 1", "<", "&#0;", "]]>", "-", "0",
    ".", "\\", '{"a":' * 30, "x" * 5000, "²", "A1", "inf", "2026-02-30", "999999-01-01", "0 ea", "1e-400",
    "1e999",
)  # fmt: skip
MAPPING = """schema = 1
supplier = "Alder Lane Lumber (invented)"
currency = "CAD"
date = 2026-04-01
columns = { item_code = "SKU", price = "Net", unit = "UoM" }
units = { EA = "stick" }
"""
EDITS = (
    'schema = 1\njob_id = "14"\n\n[edits."prices.price.a"]\nwas = 4.38\nnow = 5.1\n\n[edits.b]\nnow = "y"\n'
)
HOURS = "job,task,quantity,unit,hours,difficulty\n2026-001,cut-members,120,ft,6.5,1\n2026-002,fit,3,ea,2,\n"

EVENT = events.to_json(events.Event("2026-001", 1, "invoice", dt.date(2026, 3, 2), Decimal("99.50"), "I-1"))
LISTED = manifest.to_json(
    manifest.Manifest("2026-001", 0, "R. Example", "A wall", "2026-03-02", "battenbook", "CAD",
                      {"price": Decimal(100)}, (manifest.FiledFile("a.xlsx", 10, "0" * 64),))
)  # fmt: skip


def spoilt(text: str, chance: random.Random) -> str:
    """Return a text with one to three faults: something cut out, doubled, moved, put in or turned round."""
    for _ in range(chance.randint(1, 3)):
        values = [n for n, c in enumerate(text, 1) if c in "=:>,"] if chance.random() < 0.5 else []
        at = chance.choice(values or range(len(text) + 1))
        to = at + chance.choice((0, 1, 3, 20, 400))
        piece, token = text[at:to], chance.choice(TOKENS)
        text = text[:at] + chance.choice((token, "", piece * 2, piece[::-1], token + piece)) + text[to:]
    return text


def supplier(path: Path) -> object:
    own = (DATA / "prices.csv").read_text(encoding="utf-8")
    mapping = path.with_name("mapping.toml")
    mapping.write_text(MAPPING, encoding="utf-8")
    return import_prices(own, read_text(path, "a"), validated(Mapped, read_document(mapping)), "a")


def shipped(name: str) -> str:
    return (DATA / name).read_text(encoding="utf-8")


READERS: dict[str, tuple[str, Callable[[Path], object]]] = {
    "job.toml": ((EXAMPLES / "voice_booth" / "job.toml").read_text(encoding="utf-8"), load),
    "prices.csv": (shipped("prices.csv"), read_price_list),
    "labour.toml": (SHIPPED.read_text(encoding="utf-8"), load_labour),
    "mapping.toml": (MAPPING, lambda path: validated(Mapped, read_document(path))),
    "absorption.csv": (shipped("absorption.csv"), lambda path: read_finishes(read_text(path, "a"), "a")),
    "supplier.csv": ("SKU,Net,UoM\nD-101,4.55,EA\nD-102,1,EA\n", supplier),
    "hours.csv": (HOURS, lambda path: actuals_of(read_text(path, "a"), load_labour(), "a")),
    "sticks.csv": (
        "length,count,name\n1 m,2,rail\n62 1/2 in,4,post\n",
        lambda p: read_list(p, STICK_COLUMNS),
    ),
    "sheets.csv": ("width;height;name\n1 m;2 m;rail\n600 mm;4 ft;b\n", lambda p: read_list(p, SHEET_COLUMNS)),
    "job.edits.toml": (EDITS, lambda path: load_edits(path, "14")),
    "took.json": ('{"hours": {"Cut": 6.5, "Fit": 2}, "costs": {"materials": 1300.00}}', took.load),
    "took.csv": ("kind,name,amount\nhours,Cut,6.5\ncost,materials,1300\n", took.load),
    "record.json": (EVENT, lambda path: events.from_json(path.read_bytes(), "a")),
    "manifest.json": (LISTED, lambda path: manifest.from_json(path.read_bytes(), "a")),
    "accounts.toml": (shipped("accounts.toml"), load_chart),
}


@pytest.mark.parametrize("name", READERS)
def test_a_text_with_faults_is_read_or_refused(tmp_path: Path, name: str) -> None:
    text, read = READERS[name]
    chance = random.Random(name)  # noqa: S311 - a seed
    for _ in range(TIMES):
        raw = spoilt(text, chance).encode("utf-8", "surrogatepass")
        (tmp_path / name).write_bytes(raw)
        read_or_refused(read, tmp_path / name)


def read_or_refused(read: Callable[[Path], object], path: Path) -> None:
    try:
        read(path)
    except BattenbookError as error:
        unfit = [p for p in error.problems if not p.what.isprintable() or len(p.what) > 200]
        if unfit or not error.problems:
            raise AssertionError(unfit) from error


@cache
def parts() -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(workbook_bytes(everything(), {"job_id": "14"}, "a4"))) as file:
        return {name: file.read(name) for name in file.namelist()}


READ = sorted(
    name for name in parts() if not name.startswith(("xl/drawings", "xl/charts", "xl/styles", "xl/theme"))
)


@pytest.mark.parametrize("seed", range(3))
def test_a_workbook_with_faults_is_read_or_refused(tmp_path: Path, seed: int) -> None:
    chance, path = random.Random(seed), tmp_path / "a.xlsx"  # noqa: S311 - a seed
    for _ in range(TIMES):
        wrong = chance.choice(READ)
        body = spoilt(parts()[wrong].decode("utf-8"), chance).encode("utf-8", "surrogatepass")
        with zipfile.ZipFile(path, "w") as file:
            for name, part in {**parts(), wrong: body}.items():
                file.writestr(name, part)
        raw = bytearray(path.read_bytes())
        for _ in range(chance.randrange(3)):
            raw[chance.randrange(len(raw))] = chance.randrange(256)
        path.write_bytes(raw)
        read_or_refused(lambda one: read_workbook(cells_of(one), everything(), "14"), path)

"""A filed quote comes to the same papers from its folder alone, whatever the program ships by then.

'Five years later' is the program with every shipped table changed, in a process of its own: prices doubled,
other wages, margins and practice, other absorption, wetter wood, other targets and classes.
"""

import csv
import datetime as dt
import io
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

import estimator
from estimator.archive.gather import gather
from estimator.archive.store import file_quote
from estimator.office.edits import applied

ROOT = Path(__file__).parents[2]
NAMES = (
    "one_panel",
    *(pytest.param(n, marks=pytest.mark.slow) for n in ("voice_booth", "chapel_annex", "own_files")),
)
NOW = dt.datetime(2026, 3, 2, tzinfo=dt.UTC)

# Prints price and the SHA-256 of workbook and papers, by job file (as it stands) or filed folder (as filed).
PAPERS = """
import hashlib, json, sys
from pathlib import Path
from estimator.archive.reopen import reopen
from estimator.office.edits import applied
from estimator.documents.files import Wishes, contents
def told(name):
    if name.endswith(".toml"):
        result = applied(Path(name)).estimate
    else:
        opened = reopen(Path(name))
        result = applied(opened.job, instead=opened.instead).estimate
    papers = {n: hashlib.sha256(c).hexdigest() for n, c in contents(result, Wishes()).items()}
    return [str(result.totals.price), papers]
print(json.dumps({name: told(name) for name in sys.argv[1:]}))
"""

# Prints every table that was opened while a job was estimated and its papers made, and is not filed.
OPENED = """
import json, sys
from pathlib import Path
seen = set()
sys.addaudithook(lambda event, args: seen.add(str(args[0])) if event == "open" else None)
from estimator.archive.gather import gather
from estimator.office.edits import applied
job = Path(sys.argv[1])
sources = gather(job, applied(job).estimate)[1]
kept = {str(s) for s in sources.values() if isinstance(s, Path)}
read = {n for n in seen if n.endswith((".toml", ".csv"))}
print(json.dumps([sorted(read - kept), len(read & kept)]))
"""


def say(code: str, plans: Path, *words: str, program: Path = ROOT) -> str:
    """Run code with the program in a folder, whose plans are those of the session; return what it prints."""
    whole = f"from tests.remembered import plans_in\nplans_in({str(plans)!r})\n{code}"
    done = subprocess.run(
        [sys.executable, "-c", whole, *words], capture_output=True, text=True, check=False, cwd=program,
        env={"PYTHONPATH": f"{program}{os.pathsep}{ROOT}", "PATH": ""},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout


def own_files(folder: Path) -> Path:
    """Write a job with a price list, practice, rates, and terms over shipped ones of its own."""
    data = Path(estimator.__file__).parent / "catalogue" / "data"
    shutil.copyfile(data / "prices.csv", folder / "ours.csv")
    shutil.copyfile(data / "labour.toml", folder / "rates.toml")
    (folder / "practice.toml").write_text(
        'name = "Ours (invented)"\n[values.saw_kerf]\nvalue = "3/32 in"\nsource = "our blade"\n'
    )
    (folder / "acme.toml").write_text(
        'schema = 1\nname = "Acme (invented)"\nover = "default"\nprofit = { margin = "31 %" }\n'
    )
    names = 'prices = "ours.csv"\npractice = "practice.toml"\nterms = "acme.toml"\nlabour = "rates.toml"'
    text = (ROOT / "examples" / "one_panel" / "job.toml").read_text(encoding="utf-8")
    job = folder / "job.toml"
    job.write_text(text.replace('"CAD"', f'"CAD"\n{names}', 1), encoding="utf-8")
    return job


def _prices(text: str) -> str:
    rows = list(csv.DictReader(io.StringIO(text)))
    out = io.StringIO()
    writer = csv.DictWriter(out, rows[0].keys(), lineterminator="\n")
    writer.writeheader()
    writer.writerows({**row, "price": f"{2 * float(row['price']):.2f}"} for row in rows)
    return out.getvalue()


def _halved(text: str) -> str:
    rows = list(csv.DictReader(io.StringIO(text)))
    out = io.StringIO()
    writer = csv.DictWriter(out, rows[0].keys(), lineterminator="\n")
    writer.writeheader()
    octaves = ("125", "250", "500", "1000", "2000", "4000")
    writer.writerows({**row, **{hz: f"{float(row[hz]) / 2:.3f}" for hz in octaves}} for row in rows)
    return out.getvalue()


def _sub(pattern: str, new: str) -> Callable[[str], str]:
    def change(text: str) -> str:
        return re.sub(pattern, new, text, flags=re.MULTILINE)

    return change


CHANGES: dict[str, Callable[[str], str]] = {
    "prices.csv": _prices,
    "prices-metric.csv": _prices,
    "labour.toml": _sub(r"^wage = \d.*", "wage = 61.00"),
    "practice/default.toml": _sub(r"(\[values\.stud_spacing\]\n.*\n)value = .*", r'\1value = "12 in"'),
    "practice/metric.toml": _sub(r"(\[values\.stud_spacing\]\n)value = .*", r'\1value = "300 mm"'),
    "terms/default.toml": _sub(r"^profit = .*", 'profit = { margin = "40 %" }'),
    "terms/vat-19.toml": _sub(r"^profit = .*", 'profit = { margin = "40 %" }'),
    "absorption.csv": _halved,
    "reverberation_targets.csv": _sub(r"cube-root,0\.25", "cube-root,0.5"),
    "reverberation_masks.csv": _sub(r",add,(\d+),", r",factor,\1,"),
    "lumber.toml": _sub(r"^moisture_percent = .*", "moisture_percent = 29"),
    "estimate_classes.toml": _sub(r"low = \[\d+, \d+\]", "low = [1, 2]"),
}  # fmt: skip


@pytest.fixture(scope="module")
def later(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the program as it may be in five years: the same, every shipped table changed."""
    folder = tmp_path_factory.mktemp("later")
    shutil.copytree(Path(estimator.__file__).parent, folder / "estimator")
    shutil.copytree(ROOT / "templates", folder / "templates")
    for name, change in CHANGES.items():
        path = folder / "estimator" / "catalogue" / "data" / name
        before = path.read_text(encoding="utf-8")
        after = change(before)
        assert after != before, name
        path.write_text(after, encoding="utf-8")
    return folder


@cache
def _now(job: Path, plans: Path) -> list[object]:
    told: dict[str, list[object]] = json.loads(say(PAPERS, plans, str(job)))
    return told[str(job)]


@pytest.fixture(params=NAMES)
def job(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Return an example, or a job with files of its own."""
    if request.param == "own_files":
        return own_files(tmp_path)
    return ROOT / "examples" / str(request.param) / "job.toml"


def test_every_table_that_an_estimate_reads_is_filed(job: Path, shared: Path) -> None:
    unfiled, filed = json.loads(say(OPENED, shared, str(job)))
    assert unfiled == []
    assert filed >= 10


def test_a_filed_quote_comes_to_the_same_papers_five_years_later(
    job: Path, tmp_path: Path, later: Path, shared: Path
) -> None:
    quote, sources = gather(job, applied(job).estimate)
    root = tmp_path / "archive"
    folder = root / file_quote(root, quote, sources, NOW).folder
    price, papers = _now(job, shared)
    assert price == str(quote.totals.price)
    told = json.loads(say(PAPERS, shared, str(folder), str(job), program=later))
    assert told[str(folder)] == [price, papers]
    assert told[str(job)][0] != price, "the job as it stands must move, or nothing is shown"

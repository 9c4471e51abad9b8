"""`battenbook compare`: two job files, a job and its filed quote, two revisions; and what cannot be."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from estimator.cli.app import gather

EXAMPLE = Path(__file__).parents[2] / "examples" / "one_panel" / "job.toml"
Says = Callable[..., Result]


@pytest.fixture
def desk(tmp_path: Path) -> Says:
    """Return the command, run with an archive in which the job of the folder is filed."""
    shutil.copy(EXAMPLE, tmp_path / "job.toml")

    def says(*words: str | Path) -> Result:
        env = {"BATTENBOOK_ARCHIVE": str(tmp_path / "archive")}
        return CliRunner().invoke(gather(), list(map(str, words)), env=env)

    assert says("archive", "add", tmp_path / "job.toml").exit_code == 0
    return says


def compared(done: Result) -> dict[str, Any]:
    assert done.exit_code == 0, done.output
    found: dict[str, Any] = json.loads(done.stdout)["result"]
    return found


def widen(job: Path) -> None:
    """Make the panel of the job 12 in wider."""
    text = job.read_text(encoding="utf-8")
    assert 'to = "90 1/2 in"' in text
    job.write_text(text.replace('to = "90 1/2 in"', 'to = "102 1/2 in"'), encoding="utf-8")


def test_a_job_is_what_was_filed_of_it_until_it_changes(desk: Says, tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    assert compared(desk("compare", job, "--json"))["same"]
    widen(job)
    found = compared(desk("compare", job, "--json"))
    assert (found["before"]["label"], found["after"]["label"]) == ("as filed, revision 0", "job.toml")
    assert [(d["where"], d["was"], d["now"]) for d in found["scope"]] == [
        ("wall[N].to", "7'6-1/2\"", "8'6-1/2\"")
    ]
    (frame,) = found["frames"]
    assert (frame["before"]["width"], frame["after"]["width"]) == ("5'0\"", "6'0\"")
    assert found["treated_m2"]["after"] == pytest.approx(found["treated_m2"]["before"] * 6 / 5)
    text = desk("compare", job).stdout
    for wanted in ("wall[N].to", "Price before tax", "Treated room, estimated", "6'0\""):
        assert wanted in text


def test_two_revisions_and_a_folder(desk: Says, tmp_path: Path) -> None:
    widen(tmp_path / "job.toml")
    assert desk("archive", "add", tmp_path / "job.toml").exit_code == 0
    by_number = compared(desk("compare", "2026-001-r0", "2026-001-r1", "--json"))
    assert [f["name"] for f in by_number["frames"]] == ["N1"]
    (old,) = (tmp_path / "archive").glob("2026/*/2026-001-r0")
    by_folder = compared(desk("compare", old, "2026-001", "--json"))
    assert {**by_folder, "files": []} == {**by_number, "files": []}


def test_the_filed_prices_count_not_those_of_today(desk: Says, tmp_path: Path) -> None:
    (place,) = (tmp_path / "archive").glob("2026/*/2026-001-r0")
    prices = (place / "catalogue" / "prices.csv").read_text(encoding="utf-8")
    job = tmp_path / "job.toml"
    text = job.read_text(encoding="utf-8").replace('currency = "CAD"', 'currency = "CAD"\nprices = "own.csv"')
    job.write_text(text, encoding="utf-8")
    (tmp_path / "own.csv").write_text(prices.replace(",4.38,CAD", ",5.38,CAD"), encoding="utf-8")
    found = compared(desk("compare", job, "--json"))
    assert [d["where"] for d in found["scope"]] == ["job.prices"]
    changed = {q["key"]: q["cost"]["change"] for q in found["quantities"]}
    assert list(changed) == ["member:member-2x2"]


def test_what_was_filed_and_is_damaged_is_not_compared(desk: Says, tmp_path: Path) -> None:
    (place,) = (tmp_path / "archive").glob("2026/*/2026-001-r0")
    with (place / "catalogue" / "prices.csv").open("a", encoding="utf-8") as file:
        file.write("\n")
    done = desk("compare", tmp_path / "job.toml")
    assert done.exit_code == 5
    assert "is damaged" in done.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("nowhere.toml",), "neither a job file nor a filed quote"),
        (("2026-999",), "is not filed here"),
        (("2026-001-r7",), "is not filed here"),
    ],
)
def test_what_is_not_there_is_said(desk: Says, words: tuple[str, ...], said: str) -> None:
    done = desk("compare", *words)
    assert done.exit_code == 3
    assert said in done.stderr


def test_a_change_order_is_written_once(desk: Says, tmp_path: Path) -> None:
    job, out = tmp_path / "job.toml", tmp_path / "change-order.html"
    widen(job)
    found = compared(desk("compare", job, "--out", out, "--json"))
    assert found["files"] == [str(out)]
    page = out.read_text(encoding="utf-8")
    total = next(m for m in found["totals"] if m["key"] == "total")
    for wanted in (f"{total['before']:,.2f}", f"{total['after']:,.2f}", "N1"):
        assert wanted in page
    assert desk("compare", job, "--out", out).exit_code == 4
    assert desk("compare", job, "--out", out, "--force").exit_code == 0
    assert desk("compare", job, "--out", tmp_path / "b.html", "--paper", "napkin").exit_code == 3
    assert not (tmp_path / "b.html").exists()


@pytest.mark.parametrize(("shown", "asked", "size"), [
    ("imperial", (), "letter"), ("metric", (), "A4"), ("metric", ("--paper", "letter"), "letter"),
])  # fmt: skip
def test_a_change_order_is_on_the_paper_of_the_jobs_units(
    desk: Says, tmp_path: Path, shown: str, asked: tuple[str, ...], size: str
) -> None:
    job, out = tmp_path / "job.toml", tmp_path / "change-order.html"
    text = EXAMPLE.read_text(encoding="utf-8")
    assert "[job]\n" in text
    job.write_text(text.replace("[job]\n", f'[job]\ndisplay = "{shown}"\n'), encoding="utf-8")
    assert desk("compare", job, job, "--out", out, *asked).exit_code == 0
    assert f"@page {{ size: {size};" in out.read_text(encoding="utf-8")

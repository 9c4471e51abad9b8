"""`battenbook templates copy` and the papers that `estimate` writes."""

import json
from pathlib import Path

from typer.testing import CliRunner

from estimator.cli.app import gather

ROOT = Path(__file__).parents[2]
RUN = CliRunner()


def test_templates_are_copied_once(tmp_path: Path) -> None:
    done = RUN.invoke(gather(), ["templates", "copy", str(tmp_path / "own"), "--json"])
    assert done.exit_code == 0
    files = json.loads(done.stdout)["result"]["files"]
    assert {Path(f).name for f in files} >= {
        "base.html",
        "quote.html",
        "shop.html",
        "site.html",
        "order.html",
    }
    again = RUN.invoke(gather(), ["templates", "copy", str(tmp_path / "own")])
    assert again.exit_code == 4


def test_estimate_says_when_no_way_to_pdfs_is_found(tmp_path: Path) -> None:
    job = str(ROOT / "examples/one_panel/job.toml")
    done = RUN.invoke(
        gather(),
        ["estimate", job, "--out", str(tmp_path / "out"), "--pdf", "--json"],
        env={"PATH": str(tmp_path)},
    )
    found = json.loads(done.stdout)
    assert done.exit_code == 0
    assert {"2026-001-quote.html", "2026-001-shop.html"} <= {p.name for p in (tmp_path / "out").iterdir()}
    if found["result"]["pdf"] is None:
        assert any("no way to make PDFs" in p["what"] for p in found["problems"])
        assert not list((tmp_path / "out").glob("*.pdf"))

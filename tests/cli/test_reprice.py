"""`battenbook reprice`: the same scope with other prices, terms or rates, and what moved."""

import csv
import json
import shutil
from decimal import Decimal as D
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from estimator.catalogue.load import DATA
from estimator.cli.app import gather
from estimator.office.edits import Edit, applied, edits_path, save_edits

ROOT = Path(__file__).parents[2]
JOB = ROOT / "examples" / "one_panel" / "job.toml"
TERMS = (DATA / "terms" / "default.toml").read_text(encoding="utf-8")


def reprice(*words: str | Path) -> tuple[int, dict[str, Any]]:
    done = CliRunner().invoke(gather(), ["reprice", *map(str, words), "--json"])
    return done.exit_code, json.loads(done.stdout)


def moves(answer: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {m["key"]: m for m in answer["result"]["totals"]}


def written(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def doubled(folder: Path, **changes: str) -> Path:
    """Write the shipped price list with every price doubled."""
    with (DATA / "prices.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        row["price"] = str(D(row["price"]) * 2)
        row.update(changes)
    path = folder / "new.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0].keys())
        writer.writeheader()
        writer.writerows(rows)
    return path


def test_twice_the_prices_is_twice_the_materials_of_the_same_scope(tmp_path: Path) -> None:
    code, answer = reprice(JOB, "--prices", doubled(tmp_path))
    assert code == 0, answer
    found, result = moves(answer), answer["result"]
    # What is charged by use is rounded to the cent, purchase by purchase.
    cents = 0.01 * len(result["quantities"])
    assert found["materials"]["after"] == pytest.approx(2 * found["materials"]["before"], abs=cents)
    assert found["labour"]["change"] == 0
    assert result["frames"] == []
    assert [d["where"] for d in result["scope"]] == ["job.prices"]
    twice = [pytest.approx(2 * q["cost"]["before"], abs=0.0101) for q in result["quantities"]]
    assert [q["cost"]["after"] for q in result["quantities"]] == twice
    assert sum(q["cost"]["change"] for q in result["quantities"]) == pytest.approx(
        found["materials"]["change"]
    )


def test_another_client_with_another_margin(tmp_path: Path) -> None:
    terms = written(tmp_path, "acme.toml", TERMS.replace('margin = "25 %"', 'margin = "40 %"'))
    code, answer = reprice(JOB, "--terms", terms, "--client", "Acme (invented)", "--out", tmp_path / "out")
    assert code == 0, answer
    found = moves(answer)
    assert found["cost"]["change"] == 0
    # cost / (1 - 0.4), by hand
    assert found["price"]["after"] == float(round(D(str(found["cost"]["before"])) / D("0.6"), 2))
    files = [Path(f) for f in answer["result"]["files"]]
    assert all(f.is_file() for f in files)
    quote = next(f for f in files if f.name.endswith("quote.html"))
    assert "Acme (invented)" in quote.read_text(encoding="utf-8")
    assert "R. Example" not in quote.read_text(encoding="utf-8")
    again, _ = reprice(JOB, "--terms", terms, "--out", tmp_path / "out")
    assert again == 4


def test_another_currency_is_refused(tmp_path: Path) -> None:
    code, answer = reprice(JOB, "--prices", doubled(tmp_path, currency="EUR"))
    assert (code, answer["result"]) == (3, None)
    assert "Prices are not converted" in answer["problems"][0]["fix"]
    terms = written(tmp_path, "eu.toml", 'currency = "EUR"\n' + TERMS.replace("currency", "# currency", 1))
    code, answer = reprice(JOB, "--terms", terms)
    assert (code, answer["result"]) == (3, None)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "nothing is to change"),
        (("--prices", "nowhere.csv"), "there is no file"),
        (("--terms", "defualt"), "Did you mean 'default'"),
        (("--number", "../x"), "--number"),
        (("--date", "soon"), "no date"),
    ],
)
def test_what_cannot_be_asked_is_said(words: tuple[str, ...], said: str) -> None:
    code, answer = reprice(JOB, *words)
    assert code == 3
    assert said in str(answer["problems"][0])


def test_edits_go_along_unless_the_new_price_list_says_something_else(tmp_path: Path) -> None:
    shutil.copy(JOB, tmp_path / "job.toml")
    with (DATA / "prices.csv").open(encoding="utf-8", newline="") as file:
        price = next(r["price"] for r in csv.DictReader(file) if r["key"] == "fabric-plain-yd")
    edits = (
        'schema = 1\njob_id = "2026-001"\n'
        f'[edits."prices.price.fabric-plain-yd"]\nwas = {price}\nnow = 99.0\n'
        '[edits."practice.coats"]\nwas = 2\nnow = 3\n'
    )
    written(tmp_path, "job.edits.toml", edits)
    code, answer = reprice(tmp_path / "job.toml", "--prices", doubled(tmp_path))
    assert code == 0, answer
    behind = [p for p in answer["problems"] if p["where"] == "prices.price.fabric-plain-yd"]
    assert [p["severity"] for p in behind] == ["warning"]
    assert (answer["result"]["before"]["edits"], answer["result"]["after"]["edits"]) == (2, 1)
    cloth = next(q for q in answer["result"]["quantities"] if q["key"].startswith("fabric"))
    assert cloth["cost"]["after"] < cloth["cost"]["before"]  # 99.00 a yard left behind
    assert (tmp_path / "job.edits.toml").read_text(encoding="utf-8") == edits


def test_a_date_decides_the_tax_in_force() -> None:
    assert "HST" in TERMS
    code, answer = reprice(JOB, "--date", "1999-01-04")
    assert code == 0, answer
    assert moves(answer)["tax"]["after"] == 0
    assert any("not in force" in p["what"] for p in answer["problems"])


def _own_shop(folder: Path) -> Path:
    """Write a job that names files beside it and above it, by paths that count from its folder."""
    desk = folder / "shop" / "job"
    desk.mkdir(parents=True)
    (folder / "shop/ours.csv").write_bytes((DATA / "prices.csv").read_bytes())
    written(folder / "shop", "shop.toml", TERMS)
    acme = 'schema = 1\nname = "Acme (invented)"\nover = "shop.toml"\nprofit = { margin = "31 %" }\n'
    written(folder / "shop", "acme.toml", acme)
    written(desk, "rates.toml", (DATA / "labour.toml").read_text(encoding="utf-8"))
    names = 'prices = "../ours.csv"\nterms = "../acme.toml"\nlabour = "rates.toml"'
    return written(desk, "job.toml", JOB.read_text(encoding="utf-8").replace('"CAD"', f'"CAD"\n{names}', 1))


def test_a_repriced_job_is_a_job(tmp_path: Path) -> None:
    """Its own file, in another folder, is checked, estimated, read back, filed and compared, at one price."""
    job = _own_shop(tmp_path)
    save_edits(edits_path(job), [Edit("waste.share.board", D("0.08"), D("0.25"))], "2026-001")
    out = tmp_path / "elsewhere" / "for acme"
    out.parent.mkdir()
    asked = ("--number", "2026-077", "--client", 'Acme "North" (invented)', "--date", "2026-04-01")
    code, answer = reprice(job, "--prices", doubled(tmp_path), *asked, "--out", out)
    assert code == 0, answer
    price = moves(answer)["price"]["after"]
    new = out / "2026-077-job.toml"
    assert str(new) in answer["result"]["files"]
    assert "# " in new.read_text(encoding="utf-8"), "comments stay"

    def says(*words: str | Path) -> dict[str, Any]:
        done = CliRunner().invoke(gather(), [*map(str, words), "--json"])
        assert done.exit_code == 0, done.output
        found: dict[str, Any] = json.loads(done.stdout)["result"]
        return found

    archive = ("--archive", tmp_path / "archive")
    assert says("check", new)["number"] == "2026-077"
    assert says("estimate", new, "--out", tmp_path / "again")["totals"]["price"] == price
    assert says("readback", out / "2026-077-workbook.xlsx", "--job", new)["changes"] == []
    assert says("archive", "add", new, *archive)["number"] == "2026-077"
    assert says("archive", "show", "2026-077", *archive)["quote"]["totals"]["price"] == price
    assert {m["change"] for m in says("compare", new, *archive)["totals"]} == {0}
    assert applied(job).edits == applied(new).edits, "the office's edits went along"


def test_a_repriced_job_never_takes_the_place_of_the_one_it_is_made_from(tmp_path: Path) -> None:
    job = written(tmp_path, "2026-001-job.toml", JOB.read_text(encoding="utf-8"))
    before = job.read_bytes()
    code, answer = reprice(job, "--prices", doubled(tmp_path), "--out", tmp_path, "--force")
    assert (code, "is the job file that it is made from" in answer["problems"][0]["what"]) == (4, True)
    assert (job.read_bytes(), sorted(p.name for p in tmp_path.iterdir())) == (
        before,
        ["2026-001-job.toml", "new.csv"],
    )

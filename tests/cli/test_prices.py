"""`battenbook prices check` and `prices import`."""

import json
from pathlib import Path

from typer.testing import CliRunner

from estimator.catalogue.load import DATA
from estimator.catalogue.price_list import read_price_list
from estimator.cli.app import gather

MAPPING = """schema = 1
supplier = "Alder Lane Lumber (invented)"
currency = "CAD"
date = 2026-11-01
columns = { item_code = "SKU", price = "Net" }
"""


def test_check_names_stale_prices_and_ends_well() -> None:
    got = CliRunner().invoke(gather(), ["prices", "check", "default", "--date", "2026-11-25", "--json"])
    answer = json.loads(got.stdout)
    assert got.exit_code == 0
    assert answer["result"]["doubtful"] == answer["result"]["prices"]
    assert len(answer["problems"]) == len(answer["result"]["suppliers"]), "one line for a supplier and date"
    assert answer["problems"][0]["what"].endswith("prices of 2026-01-15, 314 days old")
    keys = [key for group in answer["result"]["dated"] for key in group["keys"]]
    assert len(set(keys)) == len(keys) == answer["result"]["prices"]
    fresh = CliRunner().invoke(gather(), ["prices", "check", "default", "--date", "2026-03-01", "--json"])
    assert json.loads(fresh.stdout)["problems"] == []


def test_check_refuses_missing_units_and_impossible_packs(tmp_path: Path) -> None:
    text = (DATA / "prices.csv").read_text()
    path = tmp_path / "p.csv"
    path.write_text(text.replace(",stick,1 ea,4.38,", ",stick,0 ea,4.38,").replace("450 kg/m^3", "450", 1))
    got = CliRunner().invoke(gather(), ["prices", "check", str(path)])
    assert got.exit_code == 3
    assert "'0 ea' cannot be one buy unit" in got.stderr
    assert "'450' is not in a unit of density" in got.stderr


def test_check_refuses_a_content_without_its_unit(tmp_path: Path) -> None:
    path = tmp_path / "p.csv"
    path.write_text((DATA / "prices.csv").read_text().replace(",stick,1 ea,4.38,", ",stick,1,4.38,"))
    got = CliRunner().invoke(gather(), ["prices", "check", str(path)])
    assert got.exit_code == 3
    assert "member-2x2-8.content: '1' has no unit. Write the unit too, such as 1 ea." in got.stderr


def test_import_writes_only_when_told(tmp_path: Path) -> None:
    mapping, theirs, new = (tmp_path / n for n in ("map.toml", "theirs.csv", "new.csv"))
    mapping.write_text(MAPPING)
    theirs.write_text("SKU,Net\nD-101,4.99\n")
    arguments = ["prices", "import", str(theirs), "--mapping", str(mapping), "--json"]
    shown = CliRunner().invoke(gather(), arguments)
    assert json.loads(shown.stdout)["result"]["changes"] == [
        {"key": "member-2x2-8", "before": 4.38, "after": 4.99}
    ]
    assert not new.exists()
    assert CliRunner().invoke(gather(), [*arguments, "--write", str(new)]).exit_code == 0
    assert str(read_price_list(new)[0].price) == "4.99"
    assert CliRunner().invoke(gather(), [*arguments, "--write", str(new)]).exit_code == 4

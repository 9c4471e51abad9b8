"""`explain JOB list` names every line once; `explain JOB KEY` shows where its quantity comes from."""

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from estimator.cli.app import gather
from estimator.pipeline import estimate
from tests.examples import loaded

JOB = Path(__file__).parents[2] / "examples" / "one_panel" / "job.toml"


def test_list_is_one_row_a_line() -> None:
    told = CliRunner().invoke(gather(), ["explain", str(JOB), "list"]).stdout.splitlines()
    keys = [row.split()[0] for row in told]
    assert keys[0] == "member:member-2x2"
    assert len(set(keys)) == len(keys)
    assert all(":" in key for key in keys)


def test_a_key_shows_the_trail() -> None:
    """Four uprights between two rails: eight joints, two screws each."""
    told = CliRunner().invoke(gather(), ["explain", str(JOB), "screw-assembly"]).stdout
    assert told.startswith("screw:screw-assembly\n")
    assert "rule: screws a member joint" in told
    assert "net 16.000 ea" in told


def told(*words: str) -> str:
    return CliRunner().invoke(gather(), ["explain", str(JOB), *words]).stdout


def answer(*words: str) -> dict[str, Any]:
    said: dict[str, Any] = json.loads(told(*words, "--json"))["result"]
    return said


def test_hours_are_those_of_the_estimate_task_by_task() -> None:
    """Each is quantity x minutes x difficulty / 60; they add up to the labour that is priced."""
    tasks, made = answer("hours")["tasks"], estimate(*loaded("one_panel"))
    for row in tasks:
        expected = (row["low"] + 4 * row["likely"] + row["high"]) / 6
        assert row["expected"] == pytest.approx(expected)
        assert row["hours"] == pytest.approx(row["quantity"] * expected * row["difficulty"] / 60)
    assert sum(row["hours"] for row in tasks) == pytest.approx(float(sum(made.scope.labour.hours.values())))
    assert told("hours").splitlines()[-1].endswith("h of one person, in all")


def test_a_task_names_what_drives_it_place_by_place() -> None:
    """The panel of the example has two rails, two stiles and two studs: six cuts."""
    (row,) = answer("cut_members")["tasks"]
    assert row["from"] == [{"source": "N1", "quantity": 6}]
    assert row["quantity"] == 6


def test_price_goes_from_materials_to_total() -> None:
    rows = {row["key"]: row["amount"] for row in answer("price")["price"]}
    assert rows["direct"] == pytest.approx(rows["materials"] + rows["labour"] + rows["other"])
    left = rows["full_price"] - rows["discount"] + rows["at_cost"] + rows["rounding"]
    assert rows["price"] == pytest.approx(left)
    assert rows["total"] == pytest.approx(rows["price"] + rows["tax"])


@pytest.mark.parametrize("word", ["days", "visits", "trips"])
def test_days_say_what_is_done_on_each_and_what_is_charged(word: str) -> None:
    found = answer(word)
    worked = {w["label"] for d in found["days"] for w in d["work"]}
    tasks = [row for row in answer("hours")["tasks"] if row["hours"] and row["stage"] != "office"]
    planned = {row["label"] for row in tasks if row["task"] not in {"finish", "set_up", "travel", "standing"}}
    assert planned <= worked  # painting says which coat, and a trip all that begins the day
    assert found["days_on_site"] == sum(d["stage"] == "site" for d in found["days"])
    assert found["trips"] in {found["days_on_site"], found["returns"]}
    assert "on site" in told(word)

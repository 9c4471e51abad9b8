"""`explain JOB list` names every line once; `explain JOB KEY` shows where its quantity comes from."""

from pathlib import Path

from typer.testing import CliRunner

from estimator.cli.app import gather

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

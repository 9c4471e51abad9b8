"""The verb `absorb` as its user meets it: figures, JSON, and refusals."""

import json
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from estimator.cli.app import gather

BOARD = ["--thickness", "38 mm", "--density", "48"]


def call(*arguments: str) -> Result:
    return CliRunner().invoke(gather(), ["absorb", *arguments])


def answer(*arguments: str) -> dict[str, Any]:
    result = call(*arguments, "--json")
    assert result.exit_code == 0, result.output
    found: dict[str, Any] = json.loads(result.stdout)
    assert found["schema"] == 1
    return found


def test_values_of_a_38_mm_board() -> None:
    """Finite sample, Thomasson; the values of a second, separately written implementation."""
    result = answer(*BOARD)["result"]
    assert result["octaves_hz"] == [125, 250, 500, 1000, 2000, 4000]
    assert result["alpha"] == pytest.approx([0.1451, 0.4525, 0.7532, 0.8732, 0.9501, 0.959], abs=0.02)
    assert result["resistivity_pa_s_m2"] == pytest.approx(16288, abs=1)


def test_infinite_sample() -> None:
    result = answer(*BOARD, "--infinite")["result"]
    assert result["alpha"] == pytest.approx([0.09524, 0.2467, 0.5002, 0.7695, 0.9186, 0.9468], abs=0.005)
    assert result["sample_m"] is None


def test_band_and_ratings_follow_from_what_is_printed() -> None:
    result = answer(*BOARD)["result"]
    assert all(a <= b <= c for a, b, c in zip(result["low"], result["alpha"], result["high"], strict=True))
    mean = sum(result["alpha"][1:5]) / 4
    assert result["nrc"] == pytest.approx(round(mean * 20) / 20)
    assert result["class"] in {"A", "B", "C", "D", "E", "not classified"}
    assert {*result["indicators"]} <= {*"LMH"}


def test_octaves_outside_the_fit_are_flagged() -> None:
    found = answer("--thickness", "38 mm", "--density", "128")
    assert found["result"]["valid"] == [False, False, False, True, True, True]
    assert found["result"]["valid_from_hz"] == pytest.approx(774.77, abs=0.01)
    assert [p["severity"] for p in found["problems"]] == ["warning"]


@pytest.mark.parametrize("density", ["3 lb/ft^3", "48.0554 kg/m^3"])
def test_density_with_a_unit(density: str) -> None:
    """3 lb/ft3 = 48.0554 kg/m3."""
    bare = answer("--thickness", "1-1/2 in", "--density", "48.0554")["result"]
    assert answer("--thickness", "38.1 mm", "--density", density)["result"]["alpha"] == pytest.approx(
        bare["alpha"], abs=1e-3
    )


def test_resistivity_wins_over_density() -> None:
    result = answer(*BOARD, "--resistivity", "77477")["result"]
    assert result["resistivity_pa_s_m2"] == 77477


def test_gap_and_cloth_and_sample_are_used() -> None:
    plain = answer(*BOARD)["result"]["alpha"]
    for extra in (["--gap", "50 mm"], ["--cloth", "200"], ["--sample", "2 m x 1 m"]):
        assert answer(*BOARD, *extra)["result"]["alpha"] != plain, extra


def test_density_beyond_its_fit_warns() -> None:
    problems = answer("--thickness", "25 mm", "--density", "200")["problems"]
    assert any(p["where"] == "--density" for p in problems)


def test_a_person_reads_that_it_is_an_estimate() -> None:
    result = call(*BOARD)
    assert result.exit_code == 0
    assert "estimated, not guaranteed" in result.stdout
    assert "NRC 0.75" in result.stdout
    assert "errs by 0.12 RMS" in result.stdout


@pytest.mark.parametrize(
    ("arguments", "where"),
    [
        (["--thickness", "38", "--density", "48"], "--thickness"),
        (["--thickness", "38 mm", "--density", "-4"], "--density"),
        (["--thickness", "38 mm", "--density", "heavy"], "--density"),
        (["--thickness", "38 mm", "--density", "48 mm"], "--density"),
        (["--thickness", "38 mm"], "--density"),
        (["--thickness", "0 mm", "--density", "48"], "--thickness"),
        ([*BOARD, "--cloth", "-1"], "--cloth"),
        ([*BOARD, "--cloth", "nan"], "--cloth"),
        ([*BOARD, "--gap", "5 m"], "--gap"),
        ([*BOARD, "--sample", "3 m"], "--sample"),
        ([*BOARD, "--sample", "3 m x 1 mm"], "--sample"),
    ],
)
def test_refusals(arguments: list[str], where: str) -> None:
    result = call(*arguments, "--json")
    assert result.exit_code == 3
    found = json.loads(result.stdout)
    assert found["result"] is None
    assert [p["where"] for p in found["problems"]] == [where]
    assert all(p["fix"] for p in found["problems"])


@pytest.mark.parametrize("arguments", [["--density", "48"], [*BOARD, "--infinite", "--sample", "3 m x 3 m"]])
def test_usage(arguments: list[str]) -> None:
    assert call(*arguments).exit_code == 2

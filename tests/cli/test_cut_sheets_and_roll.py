"""The verbs cut-sheets and cut-roll, as their user starts them."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from estimator.cli.app import gather
from estimator.core.units import INCH, MM, parse_length

APP = gather()

SHEETS = "width,height,count,name\n24 in,48 in,3,back\n14 in,30 in,4,shelf\n2 in,2 in,5,block\n"
CLOTH = "width,height,count,name\n51 in,63 in,2,N1\n30 in,40 in,3,cloud\n"


def started(*arguments: str) -> tuple[int, str, str]:
    done = CliRunner().invoke(APP, list(arguments))
    return done.exit_code, done.stdout, done.stderr


def answer(*arguments: str) -> dict[str, Any]:
    code, out, err = started(*arguments, "--json")
    assert code == 0, out + err
    body = json.loads(out)
    assert body["schema"] == 1
    result: dict[str, Any] = body["result"]
    return result


@pytest.fixture
def sheets(tmp_path: Path) -> str:
    path = tmp_path / "sheets.csv"
    path.write_text(SHEETS, encoding="utf-8")
    return str(path)


@pytest.fixture
def cloth(tmp_path: Path) -> str:
    path = tmp_path / "cloth.csv"
    path.write_text(CLOTH, encoding="utf-8")
    return str(path)


def test_sheets_are_planned_with_cost_and_bound(sheets: str) -> None:
    result = answer("cut-sheets", sheets, "--sheet", "48 in x 96 in=31.50", "--kerf", "1/8 in")
    assert result["cost"] == result["bound"] == 63.0  # 5156 sq in of pieces, 4608 on a sheet
    assert result["proven"]
    assert result["count"] == len(result["plan"])
    assert result["guillotine"]
    pieces = [piece for sheet in result["plan"] for piece in sheet["pieces"]]
    assert sorted(piece["name"] for piece in pieces) == ["back"] * 3 + ["block"] * 5 + ["shelf"] * 4
    for piece in pieces:
        assert parse_length(piece["width"]) == piece["width_nm"]
        assert piece["x_nm"] + piece["width_nm"] <= 48 * INCH
        assert piece["y_nm"] + piece["height_nm"] <= 96 * INCH


def test_no_turn_keeps_the_direction(sheets: str) -> None:
    result = answer("cut-sheets", sheets, "--sheet", "48 in x 96 in=31.50", "--no-turn")
    assert not any(piece["turned"] for sheet in result["plan"] for piece in sheet["pieces"])


def test_a_roll_is_planned_with_length_and_bound(cloth: str) -> None:
    # N1 twice, one after the other, 126 in; two clouds side by side and one more, 80 in: own arithmetic.
    result = answer("cut-roll", cloth, "--roll-width", "60 in", "--no-turn")
    assert result["length_nm"] == 206 * INCH
    assert result["length"] == "17'2\""
    assert result["bound_nm"] <= result["length_nm"]
    assert result["count"] == len(result["plan"]) == 5
    assert not any(piece["turned"] for piece in result["plan"])


def test_a_repeat_rounds_every_piece_up_and_forbids_turns(cloth: str) -> None:
    result = answer("cut-roll", cloth, "--roll-width", "60 in", "--repeat", "9 in")
    assert result["length_nm"] % (9 * INCH) == 0
    assert all(piece["y_nm"] % (9 * INCH) == 0 for piece in result["plan"])
    assert not any(piece["turned"] for piece in result["plan"])


def test_bare_numbers_take_the_unit_given(tmp_path: Path) -> None:
    path = tmp_path / "bare.csv"
    path.write_text("width,height,count,name\n600,1200,2,p\n", encoding="utf-8")
    result = answer("cut-roll", str(path), "--unit", "mm", "--roll-width", "1200 mm", "--no-turn")
    assert result["length_nm"] == 1200 * MM
    assert result["length"] == "1200 mm"
    code, _, err = started("cut-roll", str(path), "--roll-width", "1200 mm")
    assert code == 3
    assert "unit" in err


def test_text_says_what_to_cut(sheets: str, cloth: str) -> None:
    code, out, _ = started("cut-sheets", sheets, "--sheet", "48 in x 96 in=31.50")
    assert code == 0
    assert "Sheet 1: 48 in x 96 in, 31.50" in out
    assert "shelf" in out
    code, out, _ = started("cut-roll", cloth, "--roll-width", "60 in")
    assert code == 0
    assert "straight, from edge to edge" in out


@pytest.mark.parametrize("verb", ["cut-sheets", "cut-roll"])
def test_the_drawing_is_one_self_contained_file(verb: str, sheets: str, cloth: str, tmp_path: Path) -> None:
    out = tmp_path / "plan.html"
    given = (
        [sheets, "--sheet", "48 in x 96 in=31.50"]
        if verb == "cut-sheets"
        else [cloth, "--roll-width", "60 in"]
    )
    answer(verb, *given, "--out", str(out))
    text = out.read_text(encoding="utf-8")
    assert "<svg" in text
    assert not re.search(r"(src|href)=|url\(|@import", text)
    code, _, err = started(verb, *given, "--out", str(out))
    assert (code, "is there already" in err) == (4, True)
    assert started(verb, *given, "--out", str(out), "--force")[0] == 0


@pytest.mark.parametrize(
    "sheet",
    ["48 in x 96 in", "48 in=3", "48 in x 96 in=dear", "48 in x 96 in=-3", "48 x 96=3", "48 in x 96 in=3*x"],
)
def test_a_sheet_that_is_none_is_refused(sheet: str, sheets: str) -> None:
    code, _, err = started("cut-sheets", sheets, "--sheet", sheet)
    assert code == 3
    assert "--sheet" in err


def test_options_and_list_tell_all_their_problems_at_once(tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_text("width,height,count,name\n50 in,97 in,1,door\n1 in,0 in,2,slip\n", encoding="utf-8")
    code, _, err = started("cut-sheets", str(path), "--sheet", "48 in x 96 in=31.50", "--kerf", "wide")
    assert code == 3
    assert [line.split(": ")[1] for line in err.splitlines()] == ["--kerf", f"{path}:2", f"{path}:3"]
    code, _, err = started("cut-roll", str(path), "--roll-width", "broad", "--repeat", "often")
    assert code == 3
    assert [line.split(": ")[1] for line in err.splitlines()] == ["--roll-width", "--repeat", f"{path}:3"]


def test_a_piece_too_large_is_named(tmp_path: Path) -> None:
    path = tmp_path / "large.csv"
    path.write_text("width,height,count,name\n50 in,97 in,1,door\n", encoding="utf-8")
    code, _, err = started("cut-sheets", str(path), "--sheet", "48 in x 96 in=31.50")
    assert (code, "door" in err) == (3, True)
    code, _, err = started("cut-roll", str(path), "--roll-width", "48 in", "--no-turn")
    assert (code, "door" in err) == (3, True)

"""`battenbook cut`: a plain list, its answer for people and for programs, its page, and its refusals."""

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from estimator.cli.app import gather

LIST = "length,count,name\n62 1/2 in,4,rail\n31 3/8 in,9,stile\n14 in,7,short & <sweet>\n"
STOCK = ("--stock", "96 in=4.38", "--stock", "120 in=5.72@2", "--kerf", "1/8 in")


@pytest.fixture
def pieces(tmp_path: Path) -> Path:
    path = tmp_path / "pieces.csv"
    path.write_text(LIST, encoding="utf-8")
    return path


def cut(*arguments: object) -> Result:
    return CliRunner().invoke(gather(), ["cut", *map(str, arguments)])


def answer(*arguments: object) -> dict[str, Any]:
    got = cut(*arguments, "--json")
    assert got.exit_code == 0, got.stdout
    body = json.loads(got.stdout)
    assert body["problems"] == []
    result: dict[str, Any] = body["result"]
    return result


def test_the_answer_adds_up(pieces: Path) -> None:
    found = answer(pieces, *STOCK)
    assert found["sticks"] == len(found["plan"])
    assert found["cost"] == pytest.approx(sum(stick["price"] for stick in found["plan"]))
    assert found["bound"] <= found["cost"]
    assert found["proven"] is (found["bound"] == found["cost"])
    names = [piece["name"] for stick in found["plan"] for piece in stick["pieces"]]
    assert {name: names.count(name) for name in names} == {"rail": 4, "stile": 9, "short & <sweet>": 7}
    for stick in found["plan"]:
        used = sum(piece["length_nm"] + found["kerf_nm"] for piece in stick["pieces"])
        assert (
            stick["stock_nm"] - found["kerf_nm"]
            <= used + stick["offcut_nm"]
            <= stick["stock_nm"] + found["kerf_nm"]
        )


def test_lengths_are_written_as_the_stock_is(pieces: Path) -> None:
    assert answer(pieces, *STOCK)["plan"][0]["stock"] in {"8'0\"", "10'0\""}
    assert answer(pieces, "--stock", "2.4 m=4.38")["plan"][0]["stock"] == "2400 mm"


def test_a_person_sees_sticks_totals_and_the_proof(pieces: Path) -> None:
    got = cut(pieces, *STOCK)
    assert got.exit_code == 0
    assert "the least possible" in got.stdout
    assert " × 8'0\", " in got.stdout
    assert "rail 5'2-1/2\"" in got.stdout


def test_the_page_is_whole_and_never_written_over(pieces: Path, tmp_path: Path) -> None:
    out = tmp_path / "plan.html"
    assert answer(pieces, *STOCK, "--out", out)["file"] == str(out)
    page = out.read_text(encoding="utf-8")
    assert page.startswith("<!DOCTYPE html>")
    assert "short &amp; &lt;sweet&gt;" in page
    assert "<sweet>" not in page
    assert "http://" not in page.replace("http://www.w3.org/2000/svg", "")
    refused = cut(pieces, *STOCK, "--out", out)
    assert refused.exit_code == 4
    assert "--force" in refused.stderr
    assert cut(pieces, *STOCK, "--out", out, "--force").exit_code == 0
    assert sorted(p.name for p in tmp_path.iterdir()) == ["pieces.csv", "plan.html"]


@pytest.mark.parametrize(
    ("stock", "what"),
    [
        ("96 in", "not a length with a price"),
        ("96=4.38", "which unit"),
        ("96 in=cheap", "not a price"),
        ("96 in=-1", "not a price"),
        ("96 in=NaN", "not a price"),
        ("96 in=1@some", "not a length with a price"),
        ("60 in=1", "longer than any stick"),
        ("96 in=1@1", "limits cannot be met"),
    ],
)
def test_stock_that_will_not_do_is_refused(pieces: Path, stock: str, what: str) -> None:
    got = cut(pieces, "--stock", stock)
    assert got.exit_code == 3
    assert what in got.stderr


def test_a_list_with_problems_names_them_all_as_json(tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_text("length,count,name\n12,1,a\n0 in,1,b\n1 in,x,c\n", encoding="utf-8")
    got = cut(path, "--stock", "96 in=4.38", "--json")
    assert got.exit_code == 3
    problems = json.loads(got.stdout)["problems"]
    assert [(p["line"], p["where"]) for p in problems] == [
        (2, "column length"),
        (3, "column length"),
        (4, "column count"),
    ]


def test_options_and_list_tell_all_their_problems_at_once(tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_text("length,count,name\n12,1,a\n97 in,1,b\n1 in,x,c\n", encoding="utf-8")
    got = cut(path, "--stock", "96 in=4.38", "--stock", "8 ft=cheap", "--kerf", "wide", "--end-trim", "-1 in")
    assert got.exit_code == 3
    told = got.stderr.splitlines()
    assert [line.split(": ")[1] for line in told] == [
        "--stock",
        "--kerf",
        "--end-trim",
        *[f"{path}:{n}" for n in (2, 4)],
    ]
    # With the stock known, a piece too long for it is told beside the rest, and where it stands.
    got = cut(path, "--stock", "96 in=4.38", "--end-trim", "1/2 in")
    assert [line.split(": ")[1] for line in got.stderr.splitlines()] == [f"{path}:{n}" for n in (2, 3, 4)]
    assert "'b' is longer than any stick. The longest usable length is 7'11-1/2\"" in got.stderr


def test_a_missing_list_is_the_users_to_mend(tmp_path: Path) -> None:
    got = cut(tmp_path / "none.csv", "--stock", "96 in=4.38")
    assert got.exit_code == 3
    assert "there is no such file" in got.stderr

"""A change order tells what changed, and nothing where nothing did."""

from decimal import Decimal
from pathlib import Path

from estimator.documents.change_order import change_order
from estimator.documents.render import rendered
from tests.documents.made import ROOT, estimate_of_text, pages, text_of
from tests.examples import estimate_of


def test_two_estimates_alike_change_nothing() -> None:
    text = text_of(pages("one_panel")["change_order"])
    assert "Nothing that is built changes." in text
    found = change_order(estimate_of("one_panel"), estimate_of("one_panel"))
    assert [row["more"] for row in found["sums"]] == [0, 0, 0]


def test_a_lower_band_changes_frame_price_and_materials(tmp_path: Path) -> None:
    text = (ROOT / "examples/one_panel/job.toml").read_text(encoding="utf-8")
    before = estimate_of("one_panel")
    after = estimate_of_text(text.replace('height = "85 in"', 'height = "73 in"'), tmp_path)
    found = change_order(before, after)
    assert [(r["name"], r["what"]) for r in found["frames"]] == [("N1", "changed")]
    assert found["frames"][0]["was"].startswith("5'0\" × 7'0\"")
    assert found["frames"][0]["now"].startswith("5'0\" × 6'0\"")
    assert found["sums"][2]["more"] == after.totals.total - before.totals.total < Decimal(0)
    page = rendered({"change_order.html": {**found, "paper": "a4"}})["change_order.html"]
    assert "This changes 2026-001" in text_of(page)


def test_frames_left_out_and_added_are_told() -> None:
    found = change_order(estimate_of("rehearsal_room"), estimate_of("one_panel"))
    what = {row["name"]: row["what"] for row in found["frames"]}
    assert what["E1"] == "left out"
    back = change_order(estimate_of("one_panel"), estimate_of("rehearsal_room"))
    assert {row["name"]: row["what"] for row in back["frames"]}["E1"] == "added"

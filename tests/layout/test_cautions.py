"""Each hazard is named with what triggers it, and left to the local code or a licensed trade."""

from typing import Any

import pytest

from estimator.layout.assembly import lay_out
from tests.layout.jobs import STANDARD, shipped, write_job

FULL = {"name": "N", "on": "north", "make-up": "standard"}
BOX = {"name": "O1", "kind": "outlet", "left": "24 in", "bottom": "12 in", "width": "2 in", "height": "4 in"}
HEATER = {
    "name": "H1",
    "kind": "heater",
    "left": "60 in",
    "bottom": "0 in",
    "width": "40 in",
    "height": "8 in",
}
DOOR = {"name": "D1", "kind": "door", "left": "60 in", "bottom": "0 in", "width": "36 in", "height": "80 in"}


def cautions(room: dict[str, Any] | None = None, **wall: Any) -> dict[str, str]:
    layout = lay_out(write_job(room=room or {}, wall=[{**FULL, **wall}]), shipped())
    return {p.where: f"{p.what} {p.fix}" for p in layout.problems if p.severity == "caution"}


def test_a_box_behind_a_frame_names_the_frame_and_the_electrician() -> None:
    said = cautions(opening=[BOX])["N1"]
    assert said.startswith("outlet O1 is behind frame N1")
    assert "licensed electrician" in said


def test_a_box_is_counted_and_a_clear_one_is_gone_round() -> None:
    behind = lay_out(write_job(wall=[{**FULL, "opening": [BOX]}]), shipped())
    assert sum(f.boxes_counted for f in behind.frames) == 1
    clear = lay_out(write_job(wall=[{**FULL, "opening": [{**BOX, "keep": "clear"}]}]), shipped())
    assert sum(f.boxes_counted for f in clear.frames) == 0
    assert len(clear.frames) > len(behind.frames)


def test_heater() -> None:
    said = cautions(opening=[HEATER])["H1"]
    assert "maker's clearances" in said


def test_vent() -> None:
    assert "moves air" in cautions(opening=[{**HEATER, "kind": "vent"}])["H1"]


def test_a_way_out() -> None:
    assert "way out in an emergency" in cautions(opening=[{**DOOR, "egress": True}])["D1"]
    assert "D1" not in cautions(opening=[DOOR])


def test_a_frame_that_only_one_stud_is_sure_to_cross() -> None:
    """Studs 16 in apart, the first not known: 29 in crosses one wherever they are, 45 in crosses two."""

    def said(to: str) -> dict[str, str]:
        layout = lay_out(write_job(wall=[{**FULL, "from": "12 in", "to": to}]), shipped())
        return {p.where: p.what for p in layout.problems}

    assert said("42 in")["N"].startswith("only one stud is certain behind N1")
    assert "N" not in said("58 in")


def test_an_outside_wall() -> None:
    assert "damp" in cautions(exterior=True)["N"]


@pytest.mark.parametrize(
    ("built", "lead", "asbestos"), [(1965, True, True), (1979, False, True), (1995, False, False)]
)
def test_the_age_of_the_building(built: int, lead: bool, asbestos: bool) -> None:  # noqa: FBT001
    said = cautions({"built": built}).get("room.built", "")
    assert ("lead" in said, "asbestos" in said) == (lead, asbestos)


def test_an_unknown_age_is_said_to_be_unknown() -> None:
    assert "is not known" in cautions()["room.built"]


def test_flame_spread_is_always_said() -> None:
    assert "flame spread" in cautions()["job"]


def test_nothing_claims_to_comply() -> None:
    layout = lay_out(write_job(wall=[{**FULL, "opening": [BOX, HEATER], "exterior": True}]), shipped())
    words = " ".join(f"{p.what} {p.fix}" for p in layout.problems).lower()
    assert not any(word in words for word in ("complies", "compliant", "meets code", "is safe", "soundproof"))


def test_a_frame_too_heavy_is_a_warning() -> None:
    deep = {**STANDARD, "member": "member-2x4", "layers": 2, "gap": "1/2 in", "casing": "casing-half-4"}
    wide = {**FULL, "frames": ["167 in"]}
    layout = lay_out(write_job(wall=[wide], **{"make-up": {"standard": deep}}), shipped())
    assert any("N1 weighs" in p.what for p in layout.problems)
    assert any("larger than two people carry" in p.what for p in layout.problems)
    rails = [m for m in layout.frames[0].members if m.role == "rail"]
    assert len(rails) == 4  # 167 in of 144 in sticks, spliced once each

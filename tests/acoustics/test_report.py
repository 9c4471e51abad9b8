"""The report: what is shown and what is not, and the plain paragraph."""

import json
import re

import pytest

from estimator.acoustics.ratings import Six
from estimator.acoustics.reflections import Panel, ReflectingRoom, ReflectingWall
from estimator.acoustics.report import ESTIMATED, Listening, RoomReport, plain, room_report
from estimator.acoustics.reverberation import RANGE, times
from estimator.acoustics.room import AXES, Patch, RoomModel, Surface, both_faces, treat
from estimator.acoustics.smallest import Offer
from estimator.acoustics.targets import judge, own_target, target_for
from estimator.catalogue.references import references

BARE: Six = (0.29, 0.10, 0.05, 0.04, 0.07, 0.09)
SOFT: Six = (0.25, 0.62, 0.89, 0.93, 0.92, 0.93)
WALLS = {"A": 10.8, "B": 16.2, "C": 10.8, "D": 16.2}
NEVER = ("soundproof", "sound proof", "complies", "compliant", "STC", "Rw", "isolation", "transmission")


def room() -> RoomModel:
    sides = tuple(
        Surface(n, s, BARE, AXES["x" if n in "AC" else "y"], "board table") for n, s in WALLS.items()
    )
    flats = tuple(Surface(n, 24.0, BARE, AXES["z"], "board table") for n in ("floor", "ceiling"))
    return RoomModel(64.8, (*sides, *flats))


def plan() -> ReflectingRoom:
    corners = [(0.0, 0.0), (0.0, 4.0), (6.0, 4.0), (6.0, 0.0)]
    walls = tuple(
        ReflectingWall(n, corners[i], corners[(i + 1) % 4], 2.7, BARE) for i, n in enumerate("ABCD")
    )
    return ReflectingRoom(walls, 2.7, BARE, BARE, (Panel("W1", "B", 1.0, 0.6, 4.0, 1.5, SOFT),))


PATCHES = (Patch("W1", "B", 6.0, SOFT), Patch("W2", "A", 5.0, SOFT))


def report() -> RoomReport:
    cloud = both_faces("cloud C1", 2.0, SOFT, 0.25, "flush data")
    listening = Listening(plan(), (("left", (1.0, 1.0, 1.2)), ("right", (1.0, 3.0, 1.2))), (4.0, 2.0, 1.2))
    offers = [Offer(name, 0.8 * area, SOFT) for name, area in WALLS.items()]
    return room_report(room(), PATCHES, (cloud,), own_target(0.4), listening, offers)


REPORT = report()


def test_figures_are_those_of_the_formulas() -> None:
    found = room_report(room(), PATCHES)
    for state, model in ((found.before, room()), (found.after, treat(room(), PATCHES))):
        again = times(model)
        for formula in RANGE:
            assert state.times_s[formula][4] == pytest.approx(again[formula][4])


def test_nothing_is_stated_below_the_schroeder_frequency() -> None:
    assert REPORT.before.schroeder_hz > 125
    assert REPORT.before.low_s[0] is None
    assert REPORT.before.high_s[0] is None
    assert all(t[0] is None for t in REPORT.before.times_s.values())


def test_paragraph_says_what_the_figures_say() -> None:
    low = min(v for v in REPORT.after.low_s[2:4] if v is not None)
    high = max(v for v in REPORT.after.high_s[2:4] if v is not None)
    built = "11.0 m² of panels and a piece that hangs or stands in it"
    assert f"{low:.2f} to {high:.2f} s with {built}." in REPORT.paragraph
    assert ESTIMATED in REPORT.paragraph
    assert REPORT.target is not None
    assert judge(REPORT.target, REPORT.after).word in REPORT.paragraph
    was, left = (sum(getattr(h, n) for h in REPORT.heard) for n in ("strong_before", "strong_after"))
    assert f": {was} now, {left} with the panels." in REPORT.paragraph


def test_square_feet_for_an_imperial_job() -> None:
    """11 m2 = 118.4 sq ft."""
    found = room_report(room(), PATCHES, display="imperial")
    assert "118 sq ft of panels." in found.paragraph


def test_one_number_alone_is_never_given() -> None:
    assert re.search(
        r"about \d\.\d\d to \d\.\d\d s now and about \d\.\d\d to \d\.\d\d s with", REPORT.paragraph
    )
    assert {*plain(REPORT)["after"]} >= {*RANGE}


@pytest.mark.parametrize("word", NEVER)
def test_words_that_are_never_said(word: str) -> None:
    said = " ".join([REPORT.paragraph, *REPORT.notes])
    assert not re.search(rf"\b{word}\b", said, re.IGNORECASE)


def test_panels_lower_the_reflections_they_catch() -> None:
    caught = [r for h in REPORT.heard for r in h.reflections if r.panel]
    assert {r.surface for r in caught} == {"B"}
    assert all(r.level_after_db < r.level_before_db for r in caught)
    assert all(h.strong_after < h.strong_before for h in REPORT.heard)


def test_every_source_is_printed() -> None:
    said = " ".join(REPORT.notes)
    assert "board table" in said
    assert "both faces less 25%" in said
    found = room_report(room(), PATCHES, target=target_for("control", 64.8, references()))
    assert "EBU Tech 3276" in " ".join(found.notes)


def test_capping_is_said() -> None:
    found = room_report(room(), (Patch("W1", "B", 6.0, (0.2, 0.8, 1.21, 1.1, 1.0, 1.0)),))
    assert "0.99" in " ".join(found.notes)


def test_a_room_without_target_or_listener_is_reported_all_the_same() -> None:
    found = room_report(room(), PATCHES)
    assert found.target is None
    assert found.heard == ()
    assert "aimed at" not in found.paragraph
    assert any("No time is aimed at" in note for note in found.notes)
    assert plain(found)["target"] is None
    assert "reflection" not in found.paragraph


def test_plain_form_is_json() -> None:
    found = json.loads(json.dumps(plain(REPORT)))
    assert found["before"]["sabine"][0] is None
    assert found["after"]["eyring"][3] == pytest.approx(REPORT.after.times_s["eyring"][3])
    assert len(found["reflections"]) == 12
    assert {r["frame"] for r in found["reflections"]} == {None, "W1"}
    assert [s["formula"] for s in found["smallest"]] == list(RANGE)
    assert found["target"]["met"] in {"met by every formula", "met by some formulas", "not met"}

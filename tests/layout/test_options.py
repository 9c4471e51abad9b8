"""Options and colours: what they change, and what they leave."""

from typing import Any

import pytest

from estimator.core.errors import InputError
from estimator.job.description import Job
from estimator.job.options import apply_option
from estimator.layout.assembly import lay_out
from tests.layout.jobs import STANDARD, shipped, write_job

DEEP = {**STANDARD, "member": "member-2x4", "layers": 2, "gap": "1/2 in", "casing": "casing-half-4"}
WINDOW = {
    "name": "W",
    "kind": "window",
    "left": "48 in",
    "bottom": "36 in",
    "width": "40 in",
    "height": "30 in",
}
SCREEN = {"name": "S", "width": "48 in", "height": "60 in", "make-up": "standard", "feet": "foot-steel-28"}


def job_with(**option: Any) -> Job:
    return write_job(
        **{"make-up": {"standard": STANDARD, "deep": DEEP}},
        wall=[
            {"name": "N", "on": "north", "make-up": "standard", "opening": [WINDOW]},
            {"name": "E", "on": "east", "make-up": "standard"},
        ],
        recess=[{"name": "R", "wall": "N", "opening": "W", "depth": "4 in", "make-up": "standard"}],
        screen=[SCREEN],
        colour=[{"wall": "E", "colour": "sand"}, {"frames": ["N1", "E1", "S"], "colour": "rust"}],
        option=[{"name": "other", "title": "Other", **option}],
    )


def applied(**option: Any) -> Job:
    job = job_with(**option)
    return apply_option(job, job.options[0])


def test_a_make_up_changes_on_every_piece() -> None:
    layout = lay_out(applied(**{"make-up": {"standard": "deep"}}), shipped())
    assert {f.make_up for f in layout.frames} == {"deep"}
    assert {c.layers for f in layout.frames for c in f.cavities} == {2}


def test_a_band_changes_on_its_treatment_only() -> None:
    base, other = (
        lay_out(job_with(drop=["S"]), shipped()),
        lay_out(applied(band={"E": {"bottom": "30 in", "height": "40 in"}}), shipped()),
    )
    assert {f.height for f in other.frames if f.host == "E"} != {
        f.height for f in base.frames if f.host == "E"
    }
    members = [[f.members for f in each.frames if f.host == "N"] for each in (base, other)]
    assert members[0] == members[1]


def test_a_finish_changes_on_its_make_up() -> None:
    assert applied(finish={"standard": "paint-satin"}).make_ups["standard"].finish == "paint-satin"
    assert applied(finish={"standard": "paint-satin"}).make_ups["deep"].finish == "paint-trim"


def test_colours_go_frame_before_treatment() -> None:
    layout = lay_out(job_with(drop=["S"]), shipped())
    colours = {f.name: f.faces[0].colour for f in layout.frames}
    assert (colours["N1"], colours["E1"], colours["E2"], colours["S"]) == ("rust", "rust", "sand", "rust")


def test_an_options_colour_goes_over_the_bases() -> None:
    layout = lay_out(applied(colour=[{"wall": "E", "colour": "ash"}]), shipped())
    colours = {f.name: f.faces[0].colour for f in layout.frames}
    assert (colours["E1"], colours["E2"]) == ("rust", "ash")


def test_a_piece_left_out_takes_its_colours_along_and_leaves_its_openings_on_the_wall() -> None:
    job = applied(drop=["N", "S"])
    layout = lay_out(job, shipped())
    assert {f.host for f in layout.frames} == {"E", "R"}
    assert [o.name for o in layout.openings] == ["W"]
    assert [c.frames for c in job.colours] == [(), ("E1",)]
    assert not [p for p in layout.problems if p.where.startswith("colour")]


def test_the_job_itself_is_not_changed() -> None:
    job = job_with(drop=["N"])
    apply_option(job, job.options[0])
    assert job == job_with(drop=["N"])


def test_a_colour_on_a_frame_that_is_not_there_is_refused_but_for_an_option() -> None:
    band = {"E": {"bottom": "30 in", "height": "40 in"}}
    job = write_job(
        wall=[{"name": "E", "on": "east", "make-up": "standard", "to": "60 in"}],
        colour=[{"frames": ["E9"], "colour": "rust"}],
        option=[{"name": "o", "title": "o", "band": band}],
    )
    with pytest.raises(InputError, match=r"there is no frame 'E9'\. There are E1"):
        lay_out(job, shipped())
    found = lay_out(job, shipped(), optional=True).problems
    assert [p.severity for p in found if p.where == "colour[0].frames"] == ["warning"]

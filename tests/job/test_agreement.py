"""Small faults planted in an example job, one at a time: each is named at its line and nothing else is."""

import json
from pathlib import Path

import pytest

from estimator.core.errors import Problem
from estimator.job.agreement import disagreements
from estimator.job.description import Job, job_file
from estimator.job.document import parse_document, validated

CHAPEL = (Path(__file__).parents[2] / "examples" / "chapel_annex" / "job.toml").read_text(encoding="utf-8")


SPEAKER = '{ name = "L", x = "1 ft", y = "1 ft", z = "1 m" }'


def _found(text: str) -> list[Problem]:
    document = parse_document(text, "job.toml")
    return disagreements(validated(job_file(), document), document)


def test_the_example_agrees_with_itself() -> None:
    assert _found(CHAPEL) == []


@pytest.mark.parametrize(
    ("old", "new", "where", "part"),
    [
        ("visits = 4", "visits = 4\nstart = 2026-03-15", "job.start", "before the day of the estimate"),
        ('name = "plain"', 'name = "Base"', "option[1].name", "kept for the job without its options"),
        ('between = ["west", "north"]', 'between = ["wets", "north"]', "corner[0].between", "no wall"),
        (
            'between = ["west", "north"]',
            'between = ["south", "north"]',
            "corner[0].between",
            "does not follow",
        ),
        (
            'name = "west"\nlength = "18 ft"',
            'name = "west"\nlength = "18 ft"\nturn = -90',
            "corner[0].between",
            "-90",
        ),
        ('wall = "west"\nopening', 'wall = "wets"\nopening', "recess[0].wall", "no wall"),
        ('opening = "W3"', 'opening = "W1"', "recess[0].opening", "no window"),
        ('[[colour]]\nwall = "C"', '[[colour]]\nwall = "X"', "colour[0].wall", "no treatment or piece"),
        ('[[colour]]\nwall = "C"', '[[colour]]\nframes = ["C1", "X1"]', "colour[0].frames[1]", "no frame"),
        ('wall = "C"\nfabric', 'wall = "C"\nframes = ["C1"]\nfabric', "colour[0]", "both or neither"),
        (
            'title = "Deep',
            'finish = { standrad = "paint-black" }\ntitle = "Deep',
            "option[0].finish.standrad",
            "make-up",
        ),
        (
            'title = "Deep',
            'band = { X = "floor to ceiling" }\ntitle = "Deep',
            "option[0].band.X",
            "no treatment",
        ),
        ('{ standard = "deep" }', '{ standrad = "deep" }', "option[0].make-up.standrad", "no make-up"),
        ('{ wall = "C", fabric', '{ wall = "X", fabric', "option[1].colour[0].wall", "no treatment"),
        ('drop = ["S"]', 'drop = ["N", "X"]', "option[1].drop[1]", "'X'"),
        ('name = "plain"', 'name = "Thicker"', "option[1].name", "taken"),
        ('name = "W2"', 'name = "w1"', "wall[0].opening[1].name", "taken"),
        ('name = "duct"\nwall = "east"', 'name = "duct"\nwall = "est"', "room.drop[0].wall", "no wall"),
        ('underside = "8 ft"', 'underside = "9 ft 6 in"', "room.drop[0].underside", "not below the ceiling"),
        ('height = "5 ft 6 in"', 'height = "9 ft 6 in"', "screen[0].height", "not below the ceiling"),
        (
            "target_s = 0.7",
            'listening = { x = "1 ft", y = "1 ft", z = "10 ft" }',
            "room.listening.z",
            "not below",
        ),
        (
            "target_s = 0.7",
            f"loudspeakers = [{SPEAKER.replace('1 m', '3 m')}]",
            "room.loudspeakers[0].z",
            "not below",
        ),
        (
            "target_s = 0.7",
            f"loudspeakers = [{SPEAKER}, {SPEAKER.lower()}]",
            "room.loudspeakers[1].name",
            "taken",
        ),
        ('leg = "16 in"', 'leg = "19 in"', "wall[0].from", "overlap"),
        (
            'leg = "16 in"\nbottom = "6 in"\nheight = "90 in"',
            'leg = "16 in"\nbottom = "30 in"\nheight = "90 in"',
            "corner[0].height",
            "the room is",
        ),
    ],
)
def test_a_planted_fault(old: str, new: str, where: str, part: str) -> None:
    assert CHAPEL.count(old) >= 1
    text = CHAPEL.replace(old, new, 1)
    (problem,) = _found(text)
    assert problem.where == where
    assert part in problem.what
    key = where.rsplit(".", 1)[-1].split("[", maxsplit=1)[0]
    assert key in text.splitlines()[problem.line - 1]


def test_a_survey_of_thousands_of_openings_is_refused_and_not_compared_pair_by_pair() -> None:
    opening = 'kind = "vent"\nleft = "1 in"\nbottom = "1 in"\nwidth = "1 in"\nheight = "1 in"\n'
    vents = [f'[[wall.opening]]\nname = "V{n}"\n{opening}' for n in range(180)]
    walls = [f'[[wall]]\nname = "Z{c}"\non = "south"\nmake-up = "standard"\n' for c in "abc"]
    text = CHAPEL + "".join(wall + "".join(vents) for wall in walls)
    found = [p.what for p in _found(text) if "openings are more" in p.what]
    assert found == ["545 openings are more than the 500 a job may have"]


def test_treatments_in_bands_that_do_not_meet_may_share_a_wall() -> None:
    upper = CHAPEL[CHAPEL.index('[[wall]]\nname = "C"') : CHAPEL.index('[[wall]]\nname = "E"')]
    lower = upper.replace('name = "C"', 'name = "B"').replace('height = "90 in"', 'height = "30 in"')
    apart = upper.replace('bottom = "6 in", height = "90 in"', 'bottom = "36 in", height = "60 in"')
    assert _found(CHAPEL.replace(upper, apart + lower)) == []
    assert [p.where for p in _found(CHAPEL.replace(upper, upper + lower))] == ["wall[2].on"]


@pytest.mark.parametrize(
    ("kind", "kept"), [("outlet", "reachable"), ("switch", "reachable"), ("heater", "clear")]
)
def test_openings_are_kept_in_their_kinds_way(kind: str, kept: str) -> None:
    document = parse_document(CHAPEL.replace('kind = "outlet"', f'kind = "{kind}"'), "job.toml")
    assert validated(job_file(), document).walls[0].openings[2].kept == kept


@pytest.mark.parametrize("kind", ["vent", "door", "heater", "window"])
def test_only_boxes_are_reachable_through_a_frame(kind: str) -> None:
    text = CHAPEL.replace('kind = "outlet"', f'kind = "{kind}"\nkeep = "reachable"')
    (found,) = [p for p in _found(text) if p.where.endswith("keep")]
    assert "cannot be reached through a frame" in found.what
    assert found.fix == 'Write keep = "clear", or leave keep out.'


def test_an_option_that_leaves_nothing_to_build_is_refused() -> None:
    names = job_of(CHAPEL).piece_names()
    text = (
        CHAPEL
        + f"""
[[option]]
name = "nothing"
title = "Nothing at all"
drop = {json.dumps(list(names))}
"""
    )
    assert [p.what for p in _found(text)] == ["option 'nothing' leaves nothing to build"]


def job_of(text: str) -> Job:
    return validated(job_file(), parse_document(text, "job.toml"))

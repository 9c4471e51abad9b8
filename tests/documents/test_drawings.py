"""Every drawing of every paper: strict XML, no text over another, none outside, large, in words too."""

import random
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from estimator.documents.canvas import TINY, PaperBox
from tests.documents.made import (
    EXAMPLES,
    KINDS,
    ROOT,
    drawings,
    estimate_of_text,
    letters,
    pages,
    pages_of,
    view_of,
)
from tests.examples import estimate_of

SLACK = 0.02
"""Coordinates are written to 1/100 mm."""
READABLE_PT = 5.9
MM_PT = 72 / 25.4


def clashes(drawing: ET.Element) -> list[tuple[str, str]]:
    """Return the pairs of texts that overlap, and each text that leaves the drawing with 'outside'."""
    found, view, clashing = list(letters(drawing)), view_of(drawing), []
    for at, one in enumerate(found):
        x, y, width, height = one.box
        inner = PaperBox(x + SLACK, y + SLACK, width - 2 * SLACK, height - 2 * SLACK)
        if not inner.within(view):
            clashing.append((one.text, "outside"))
        clashing += [(one.text, other.text) for other in found[:at] if inner.overlaps(other.box)]
    return clashing


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", EXAMPLES)
def test_no_text_stands_over_another_or_outside_its_drawing(name: str, kind: str) -> None:
    for drawing in drawings(pages(name)[kind]):
        assert clashes(drawing) == [], drawing.get("aria-label")


def test_clashes_are_found() -> None:
    head = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20" font-size="4">'
    good = f'{head}<text x="2" y="8">ab</text><text x="2" y="16">ab</text></svg>'
    assert clashes(drawings(good)[0]) == []
    over = f'{head}<text x="2" y="8">ab</text><text x="4" y="9">cd</text></svg>'
    assert clashes(drawings(over)[0]) == [("cd", "ab")]
    out = f'{head}<text x="36" y="8">abc</text></svg>'
    assert clashes(drawings(out)[0]) == [("abc", "outside")]
    turned = f'{head}<text x="6" y="19" transform="rotate(-90 6 19)">abcdefghmm</text></svg>'
    assert clashes(drawings(turned)[0]) == [("abcdefghmm", "outside")]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", EXAMPLES)
def test_every_drawing_has_words_for_those_who_do_not_see_it(name: str, kind: str) -> None:
    for drawing in drawings(pages(name)[kind]):
        assert drawing.get("role") == "img"
        assert len(drawing.get("aria-label", "")) > 10


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", EXAMPLES)
def test_a_drawing_needs_no_style_sheet_and_no_rare_property(name: str, kind: str) -> None:
    for drawing in drawings(pages(name)[kind]):
        for element in drawing.iter():
            assert not {"class", "style", "paint-order"} & set(element.keys())


@pytest.mark.parametrize("kind", ["quote", "site"])
@pytest.mark.parametrize("name", EXAMPLES)
def test_lettering_is_large_enough_to_read(name: str, kind: str) -> None:
    assert TINY * MM_PT >= READABLE_PT
    for drawing in drawings(pages(name)[kind]):
        if drawing.get("width", "").endswith("mm"):
            sizes = [float(e.get("font-size", "9")) for e in drawing.iter() if e.tag.endswith("text")]
            assert all(size * MM_PT >= READABLE_PT for size in sizes)


@pytest.mark.parametrize("name", EXAMPLES)
def test_tones_are_grey(name: str) -> None:
    for kind in ("quote", "site"):
        for drawing in drawings(pages(name)[kind]):
            if not drawing.get("width", "").endswith("mm"):
                continue
            for element in drawing.iter():
                for key in ("fill", "stroke"):
                    colour = element.get(key, "none").removeprefix("#")
                    assert (
                        colour == "none"
                        or len(set(colour)) == 1
                        or len({*zip(*[iter(colour)] * 2, strict=True)}) == 1
                    )


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_frame_is_named_on_the_site_and_shop_papers(name: str) -> None:
    shown = {one.text for drawing in drawings(pages(name)["site"]) for one in letters(drawing)}
    for frame in estimate_of(name).scope.layout.frames:
        if frame.placement.wall:
            assert frame.name in shown, frame.name
        assert f"<h3>{frame.name}: " in pages(name)["shop"]


def random_job(seed: int) -> str:
    """Return a job of an oblong room with a bulkhead, windows, outlets, a trap, clouds, at random."""
    chance = random.Random(seed)  # noqa: S311 - a test's own dice
    wide, deep = chance.randint(90, 260), chance.randint(90, 260)
    high = chance.randint(84, 150)
    unit, metric = chance.choice([("in", False), ("in", False), ("cm", True)])
    scale = 2.54 if metric else 1

    def length(inches: float) -> str:
        return f'"{inches * scale:.2f} {unit}"'

    openings, at = list[str](), chance.randint(12, 40)
    while at + 30 < wide - 20 and len(openings) < 6:
        kind = chance.choice(["window", "window", "outlet", "vent"])
        size = (chance.randint(18, 40), chance.randint(12, 40)) if kind == "window" else (4, 5)
        if at + size[0] > wide - 12:
            break
        low = chance.randint(14, 36)
        openings.append(f"""[[wall.opening]]
name = "{kind[0].upper()}{len(openings) + 1}"
kind = "{kind}"
left = {length(at)}
bottom = {length(low)}
width = {length(size[0])}
height = {length(size[1])}
""")
        at += size[0] + chance.randint(14, 90)
    names = (
        ["north wall by the street", "E", "south", "W"] if seed % 2 else ["north", "east", "south", "west"]
    )
    walls = "".join(
        f'[[room.wall]]\nname = "{n}"\nlength = {length(v)}\n'
        for n, v in zip(names, (wide, deep, wide, deep), strict=True)
    )
    head = (ROOT / "examples/one_panel/job.toml").read_text(encoding="utf-8")
    head = head.split("[room]")[0].replace(
        'currency = "CAD"', f'currency = "CAD"\ndisplay = "{METRIC[metric]}"'
    )
    return f"""{head}[room]
name = "Random"
use = "other"
height = {length(high)}
{walls}[[room.drop]]
name = "duct"
wall = "{names[1]}"
width = {length(deep / 2)}
depth = {length(14)}
underside = {length(high - 10)}
[room.listening]
x = {length(wide / 2)}
y = {length(deep * 0.6)}
z = {length(46)}
[[room.loudspeakers]]
name = "left"
x = {length(wide * 0.3)}
y = {length(deep * 0.3)}
z = {length(46)}
[[room.loudspeakers]]
name = "right"
x = {length(wide * 0.7)}
y = {length(deep * 0.3)}
z = {length(46)}
[make-up.standard]
member = "member-2x2"
board = "board-48-1.5"
fabric = "fabric-plain"
colour = "slate"
casing = "casing-half"
[[corner]]
name = "T"
between = ["{names[2]}", "{names[3]}"]
make-up = "standard"
kind = "{chance.choice(["solid", "flat"])}"
leg = {length(16)}
height = {length(36)}
[[wall]]
name = "{chance.choice(["N", "North side of room", "n-1"])}"
on = "{names[0]}"
make-up = "standard"
band = {{ bottom = {length(6)}, height = {length(high - 12)} }}
{"".join(openings)}[[cloud]]
name = "K"
width = {length(30)}
length = {length(48)}
make-up = "standard"
drop = {length(6)}
at = {{ x = {length(wide / 2)}, y = {length(deep / 2)} }}
"""


METRIC = {True: "metric", False: "imperial"}


@pytest.mark.parametrize("seed", range(4))
def test_no_text_stands_over_another_in_a_room_at_random(seed: int, tmp_path: Path) -> None:
    found = pages_of(estimate_of_text(random_job(seed), tmp_path))
    for kind in KINDS:
        for drawing in drawings(found[kind]):
            assert clashes(drawing) == [], (seed, kind, drawing.get("aria-label"))

"""Hangers that follow their cloud's size and weight: as many as the layout counts for that size."""

from dataclasses import replace
from decimal import Decimal as D

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.calc.evaluation import number
from estimator.calc.expressions import Value
from estimator.catalogue.records import Catalogue
from estimator.core.units import INCH
from estimator.job.description import Job
from estimator.layout.assembly import lay_out
from estimator.layout.fixings import weight_n
from estimator.layout.records import hung_kg
from tests.layout.jobs import shipped, write_job
from tests.takeoff.taken import PAINTED, Row, Taken, practising, take

CLOUD: Row = {"name": "K", "width": "48 in", "length": "96 in", "drop": "8 in", "make-up": "standard"}
BARE = {k: v for k, v in PAINTED.items() if k not in {"casing", "finish", "primer"}}
SCREEN: Row = {
    "name": "S",
    "width": "48 in",
    "height": "60 in",
    "make-up": "standard",
    "feet": "foot-steel-28",
}
WINDOW: Row = {"name": "W", "kind": "window", "left": "48 in", "bottom": "36 in", "width": "40 in",
               "height": "30 in"}  # fmt: skip


def job(make_up: Row = PAINTED, **tables: object) -> Job:
    return write_job(**{"cloud": [CLOUD], "make-up": {"standard": make_up}, **tables})


def weak(rated_n: float, **practice: float) -> Catalogue:
    """Return the shipped catalogue with hangers of that rated load, 0 for none given."""
    book = practising(shipped(), **practice)
    items = tuple(replace(i, rated_load_n=rated_n or None) if i.kind == "hanger" else i for i in book.items)
    return Catalogue.of(items, book.practice, book.terms, book.labour, book.prices_name)


def column(one: Taken, key: str) -> list[Value]:
    return list(one.takeoff.tables["weights" if key == "weight" else "hardware"][key].values)


def bought(one: Taken, line: str) -> D:
    return one.lines()[line].net


@pytest.mark.parametrize("make_up", [PAINTED, BARE], ids=["cased", "bare"])
def test_as_laid_out_weight_and_count_are_the_layouts(make_up: Row) -> None:
    one = take(job(make_up))
    (frame,) = one.layout.frames
    newtons = weight_n(hung_kg(frame, one.layout.strips, shipped()))
    assert float(number(column(one, "weight")[0])) == pytest.approx(newtons, rel=1e-6)
    assert column(one, "pieces") == [D(len(frame.fixings))] == [bought(one, "hanger:hanger-cable")]


def test_a_bare_cloud_of_4_by_8_ft_by_hand() -> None:
    """48 x 96 in, members 1 1/2 in at 450 kg/m3, boards 1 1/2 in at 48 kg/m3, 2 in of cloth pulled round.

    Members 2 rails of 48 in, 3 uprights of 93 in: 375 in x 1.5 x 1.5 in = 843.75 in3; boards
    (48 - 4.5) x 93 x 1.5 = 6068.25 in3; cloth (48 + 7) x (96 + 7) = 5665 in2. With 1 in = 0.0254 m:
    6.2220 + 4.7732 kg and 3.6548 m2 of cloth; x 9.80665 N/kg.

    6 in from the edges and 48 in apart at most: 36 / 48 -> 1 gap, 2 across; 84 / 48 -> 2 gaps, 3 along.
    """
    one, cloth_kg_m2 = take(job(BARE)), shipped().sizes("fabric-plain")[0].mass_kg_m2 or 0
    kilograms = 843.75 * 0.0254**3 * 450 + 6068.25 * 0.0254**3 * 48 + 5665 * 0.0254**2 * cloth_kg_m2
    assert float(number(column(one, "weight")[0])) == pytest.approx(kilograms * 9.80665, rel=1e-6)
    assert [column(one, key) for key in ("across", "along", "pieces")] == [[2], [3], [6]]


def test_by_the_load_by_hand() -> None:
    """The cloud above weighs 119 N in round numbers; with the factor 5, 597 N.

    Hangers of 50 N: 11.9 rated loads. Two across each carry a half of a row: 11.9 / 2 -> 6 parts along, 7
    rows, 14 hangers. Three along halve it too: 6 parts across, 7 in each of 3 rows, 21. So 14; they carry
    2 x 6 = 12 rated loads.
    Hangers of 5.5 N: 108.5 rated loads, 55 parts and 56 rows: over the 50 that a load may ask for.
    """
    one = take(job(BARE), weak(50))
    assert column(one, "by_longer") == [14]
    assert column(one, "by_wider") == [21]
    assert column(one, "pieces") == [14] == [len(one.layout.frames[0].fixings)]
    assert [column(one, key) for key in ("carried", "overloaded")] == [[12], [0]]
    feeble = take(job(BARE), weak(5.5))
    assert column(feeble, "overloaded") == [1]
    assert column(feeble, "pieces") == [len(feeble.layout.frames[0].fixings)] == [100]


def test_resized_by_hand() -> None:
    """To 72 x 120 in: 60 / 48 -> 2 gaps, 3 across; 108 / 48 -> 3 gaps, 4 along: 12.

    Hours follow: what is counted for them is the same 12.
    """
    one = take(job(BARE), edits={"frames.width.K": D(72), "frames.height.K": D(120)})
    assert column(one, "pieces") == [12] == [bought(one, "hanger:hanger-cable")]
    assert one.takeoff.tables["driver_sums"].value("hardware_pieces") == 12


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.sampled_from([PAINTED, BARE]), st.integers(20 * 16, 60 * 16), st.integers(30 * 16, 90 * 16),
    st.sampled_from([0, 20, 50, 110, 441]), st.sampled_from([12, 20, 48]), st.sampled_from([3, 4, 7, 24]),
)  # fmt: skip
def test_resized_it_counts_what_the_layout_does_for_that_size(
    make_up: Row, width: int, height: int, rated: int, apart: int, least: int
) -> None:
    """In sixteenths of an inch, within one width of cloth: seams move studs, which no formula follows."""
    resized = {"frames.width.K": D(width) / 16, "frames.height.K": D(height) / 16}
    book = weak(rated, hanger_spacing=apart * INCH, hanger_points_min=least)
    one = job(make_up)
    found = take(one, book, edits=resized)
    (frame,) = lay_out(one, book, {"K": (width * INCH // 16, height * INCH // 16)}).frames
    assert column(found, "pieces") == [D(len(frame.fixings))]
    assert bought(found, "hanger:hanger-cable") == len(frame.fixings)


@pytest.mark.parametrize(
    ("key", "value"),
    [("hanger_spacing", D(24)), ("hanger_inset", D(24)), ("hanger_safety_factor", D(20)),
     ("hanger_points_min", D(9)), ("hanger_spacing", D(90))],
)  # fmt: skip
def test_practice_moves_hangers_as_it_does_in_the_layout(key: str, value: D) -> None:
    in_layout = int(value * INCH) if key in {"hanger_spacing", "hanger_inset"} else int(value)
    edited = take(job(BARE), weak(300), edits={f"practice.{key}": value})
    again = take(job(BARE), weak(300, **{key: in_layout}))
    assert column(edited, "pieces") == [len(again.layout.frames[0].fixings)] == column(again, "pieces")
    assert column(edited, "pieces") != column(take(job(BARE), weak(300)), "pieces")


def test_feet_and_hooks_follow_the_shops_practice() -> None:
    walls = [{"name": "N", "on": "north", "make-up": "standard", "from": "12 in", "to": "120 in",
              "band": {"bottom": "2 in", "height": "85 in"}, "opening": [WINDOW]}]  # fmt: skip
    recess = {"name": "R", "wall": "N", "opening": "W", "make-up": "standard", "depth": "4 in"}
    screens = [{**SCREEN, "count": 2}]
    one = take(job(wall=walls, screen=screens, recess=[recess]))
    assert one.takeoff.tables["hardware"]["kind"].values == ("hook", "foot", "foot", "hanger")
    assert column(one, "pieces") == [4, 2, 2, 6]
    edits = {"practice.feet_per_screen": D(3), "practice.hooks_per_recess": D(2)}
    edited = take(job(wall=walls, screen=screens, recess=[recess]), edits=edits)
    assert column(edited, "pieces") == [2, 3, 3, 6]
    assert bought(edited, "foot:foot-steel-28") == 6
    assert bought(edited, "hook:hook-recess") == 2
    # 40 x 30 in less its clearances: members, board and cloth of over 4 kg, with the factor 5 over 200 N.
    assert (
        column(edited, "overloaded") == [D(number(column(edited, "loads")[0]) > 2), 0, 0, 0] == [1, 0, 0, 0]
    )

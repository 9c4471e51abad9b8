"""What the office changes in the workbook reaches layout, plans and takeoff in the units it was typed in."""

from decimal import Decimal as D
from functools import cache
from pathlib import Path

import pytest

from estimator.calc.expressions import Value
from estimator.catalogue.load import load
from estimator.catalogue.records import Catalogue
from estimator.core.units import INCH, MM, measures
from estimator.layout.assembly import lay_out
from estimator.takeoff.quantities import deepened, edited, sizes_in
from tests.takeoff.taken import panel, take, walls

FEET, METRES = measures("imperial", "CAD"), measures("metric", "CAD")
JOB = Path(__file__).parents[2] / "examples" / "one_panel" / "job.toml"


@cache
def catalogue() -> Catalogue:
    """Return all that the shop ships: prices, practice, terms, labour."""
    return load(JOB)[1]


def test_nothing_changed_is_the_same_catalogue() -> None:
    assert edited(catalogue(), {}, FEET) is catalogue()


def test_a_length_is_read_in_inches_or_millimetres_as_the_workbook_shows_it() -> None:
    edits = {"practice.stud_spacing": D("16.5")}
    assert edited(catalogue(), edits, FEET).practice.length("stud_spacing") == 33 * INCH // 2
    edits = {"practice.stud_spacing": D("400.5")}
    assert edited(catalogue(), edits, METRES).practice.length("stud_spacing") == 801 * MM // 2


def test_a_spread_rate_is_kept_in_the_practice_s_own_unit() -> None:
    # 1 gal = 231 in3 = 3.785411784 L and 1 ft2 = 0.09290304 m2 (NIST Handbook 44, App. C):
    # 400 ft2/gal = 37.16122 m2 / 3.785412 L = 9.81696 m2/L.
    changed = edited(catalogue(), {"practice.spread_rate": D(400)}, FEET)
    assert changed.practice.number("spread_rate") == pytest.approx(9.81696, abs=1e-5)
    changed = edited(catalogue(), {"practice.spread_rate": D(9)}, METRES)
    assert changed.practice.number("spread_rate") == 9


def test_counts_shares_choices_and_prices() -> None:
    edits: dict[str, Value] = {
        "practice.coats": D(3),
        "practice.transfer_efficiency": D("0.8"),
        "practice.corner_rule": "butt",
        "waste.share.paint": D("0.2"),
        "prices.price.staple-cloth-5000": D("1.25"),
    }
    before, after = catalogue(), edited(catalogue(), edits, FEET)
    assert after.practice.number("coats") == 3
    assert after.practice.number("transfer_efficiency") == pytest.approx(0.8)
    assert after.practice.choice("corner_rule") == "butt"
    assert after.practice.number("waste_paint") == pytest.approx(0.2)
    changed = {i.key: i.price for i in after.items if before.item(i.key).price != i.price}
    assert changed == {"staple-cloth-5000": D("1.25")}


def test_sizes_and_depths_of_frames() -> None:
    layout = lay_out(walls(panel(to="73 in"), panel("E", "east", to="73 in")), catalogue())
    one, two = layout.frames
    edits = {f"frames.width.{one.name}": D(50), f"frames.depth.{two.name}": D("2.5")}
    assert sizes_in(edits, FEET, layout.frames) == {one.name: (50 * INCH, one.height)}
    deep = deepened(layout, edits, FEET).frames
    assert deep[0] == one
    assert deep[1].depth == 5 * INCH // 2
    assert deep[1].faces[0].wrap - two.faces[0].wrap == INCH
    tall = {f"frames.height.{one.name}": D(1000)}
    assert sizes_in(tall, METRES, layout.frames) == {one.name: (one.width, 1000 * MM)}


def test_a_changed_height_alone_is_read_too_and_paint_follows_a_changed_practice() -> None:
    job = walls(panel(to="73 in"))
    fewer = take(job, edited(catalogue(), {"practice.stud_spacing": D(48)}, FEET)).lines()
    # (60 - 1 1/2) / 48 = 1.2: two bays, one stud. (2 x 60 + 3 x 81) / 12 = 30.25 ft.
    assert fewer["member:member-2x2"].net == D("30.25")


def test_a_crew_that_the_office_changed_reaches_the_labour_rates() -> None:
    crews = {t.key: t.crew for t in edited(catalogue(), {"labour_rates.crew.hang": D(3)}, FEET).labour.tasks}
    own = {t.key: t.crew for t in catalogue().labour.tasks}
    assert crews == {**own, "hang": 3}


def test_an_edit_keeps_the_name_of_the_price_list() -> None:
    assert catalogue().prices_name
    assert edited(catalogue(), {"practice.coats": D(3)}, FEET).prices_name == catalogue().prices_name


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("practice.coats", D(3), "3"),
        ("practice.stud_spacing", D("16.5"), "16.5 in"),
        ("waste.share.board", D("0.25"), "25.00 %"),
    ],
)
def test_a_changed_value_is_told_as_the_office_typed_it(key: str, value: D, said: str) -> None:
    values = edited(catalogue(), {key: value}, FEET).practice.values.values()
    before = catalogue().practice.values
    (changed,) = (v for v in values if v != before[v.key])
    assert changed.text == said
    assert changed.source.endswith(f"the shop's is {before[changed.key].text}")

"""What lumber and boards weigh.

Source: NDS Supplement 2018, section 3.1.3: density = 62.4 G / (1 + 0.009 G M) x (1 + M / 100) lb/ft3; its
worked example, G = 0.51 at 30 %, gives 36.4 (read in a published excerpt). Specific gravity of
spruce-pine-fir 0.42: NDS 2018, table 12.3.3A (from memory). The other values are own arithmetic.
"""

from dataclasses import replace
from decimal import Decimal as D

import pytest

from estimator.catalogue.records import Catalogue
from estimator.catalogue.references import density_kg_m3
from estimator.core.units import INCH, converted
from estimator.layout.records import Cavity, Member, parts_kg
from tests.layout.jobs import shipped


def pounds(kilograms: float) -> float:
    return float(converted(D(kilograms), "kg", "lb"))


def test_density_of_lumber_at_30_percent() -> None:
    found = converted(D(density_kg_m3(0.51, 30)), "kg/m^3", "lb/ft^3")
    assert float(found) == pytest.approx(36.4, abs=0.05)


def test_weight_of_a_foot_of_2x2() -> None:
    # 1 1/2 x 1 1/2 in of spruce-pine-fir at 15 % moisture: 0.4457 lb.
    items = tuple(
        replace(i, density_kg_m3=density_kg_m3(0.42, 15)) if i.product == "member-2x2" else i
        for i in shipped().items
    )
    book = Catalogue.of(items, shipped().practice, shipped().terms, shipped().labour, "")
    foot = Member("m", "rail", "member-2x2", 12 * INCH, 3 * INCH // 2, 3 * INCH // 2, 0, 0, upright=False)
    assert pounds(parts_kg([foot], [], [], book)) == pytest.approx(0.445656288, abs=0.001)


def test_the_shipped_members_are_spruce_pine_fir() -> None:
    assert {i.specific_gravity for i in shipped().items if i.kind == "member"} == {0.42}


def test_weight_of_a_sheet_of_board() -> None:
    # 4 x 8 ft x 1 1/2 in at 128 kg/m3 (8 lb/ft3): volume x density, 31.963 lb.
    sheet = Cavity("c", 0, 0, 48 * INCH, 96 * INCH, "board-128-1.5", 1, 0)
    assert pounds(parts_kg([], [sheet], [], shipped())) == pytest.approx(31.9631166, abs=0.05)

"""The room in the workbook: what hangs or stands there follows its size, as what covers a wall does."""

from decimal import Decimal as D

import pytest

from estimator.calc.evaluation import number
from estimator.calc.tables import Book
from estimator.pipeline import Estimate
from tests.examples import estimate_of, sheets_of

OCTAVES = (125, 250, 500, 1000, 2000, 4000)


def estimated(name: str) -> tuple[Estimate, Book]:
    return estimate_of(name), sheets_of(name)


@pytest.mark.parametrize("name", ["chapel_annex", "voice_booth", "rehearsal_room"])
def test_absorption_in_all_is_the_reports(name: str) -> None:
    """Coefficients have three decimals in the workbook: each m2 is off by 0.0005 m2 at most."""
    made, book = estimated(name)
    table = book.table("reverberation_after")
    hung, other = table["hung"].values, table["extra"].values
    found = [float(number(a) + number(b) + number(c)) for a, b, c in
             zip(table["absorbed"].values, hung, other, strict=True)]  # fmt: skip
    areas = (*book.table("room_treatment")["area"].values, *book.table("room_surfaces")["left"].values)
    off = 0.0005 * float(sum(map(number, areas)))
    assert found == pytest.approx(list(made.scope.room.after.absorption_m2), abs=off, rel=0)


def test_a_cloud_of_1200_by_1800_mm_by_hand() -> None:
    """2.16 m2 on no surface; both faces absorb 2.16 m2 times the coefficients beside its name."""
    _, book = estimated("voice_booth")
    row = book.table("room_treatment")["key"].values.index("K")
    treatment, alphas = book.table("room_treatment"), book.table("alpha_frames")
    assert [treatment.value(k, row) for k in ("area", "on_surface", "hung")] == [D("2.16"), 0, D("2.16")]
    for octave, hz in enumerate(OCTAVES):
        absorbed = D("2.16") * number(alphas.value(f"a{hz}", row))
        assert book.table("reverberation_after").value("hung", octave) == absorbed

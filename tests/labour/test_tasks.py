"""Hours and cost of tasks, by hand, by simulation and by a spreadsheet program."""

from collections.abc import Callable
from decimal import Decimal as D
from typing import Any

import numpy as np
import pytest

from estimator.calc.tables import Draft, Table
from estimator.catalogue.labour import STANDING, LabourBook, load_labour
from estimator.core.errors import InputError
from estimator.job.description import Difficulty
from estimator.labour.tasks import Labour, reckon_labour

Recalculate = Callable[..., dict[tuple[str, str, int], Any]]
BASIS = {"likely_weight": 4, "parts": 6, "z_eighty": 0.841621, "z_ninety_five": 1.644854,
         "expectation_source": "PERT", "chance_source": "normal quantiles"}  # fmt: skip
WAGE = {"key": "joiner", "label": "Joiner", "wage": 30, "burden": "28 %", "billable": "85 %", "source": "x"}


def task(key: str = "wrap", **changes: Any) -> dict[str, Any]:
    plain = {"key": key, "label": key, "stage": "shop", "driver": "edge", "unit": "ft",
             "low": 240, "likely": 360, "high": 720, "wage": "joiner", "source": "x"}  # fmt: skip
    return plain | changes


def book(*tasks: dict[str, Any], **basis: Any) -> LabourBook:
    calendar = {"start_hour": 8, "source": "x"}
    body = {
        "schema": 1,
        "name": "t",
        "basis": BASIS | basis,
        "calendar": calendar,
        "learning": {"prior_jobs": 5, "source": "x"},
        "wage": [WAGE],
        "task": tasks,
    }
    return LabourBook.model_validate(body)


def drivers(**quantities: tuple[str, str]) -> Table:
    draft = Draft("drivers", "Drivers")
    draft.keys(list(quantities))
    draft.label("description", "What", list(quantities))
    draft.label("unit", "Unit", [unit for _, unit in quantities.values()])
    draft.input("quantity", "Quantity", "", [D(value) for value, _ in quantities.values()])
    return draft.table()


def job(labour: Labour, key: str) -> D:
    value = labour.workings[2].value(key)
    assert isinstance(value, D)
    return value


def test_hours_and_cost_of_one_task_by_hand() -> None:
    # 10 ft x (3 + 4 x 6 + 15) / 6 min = 10 x 7 = 70 min; spread 10 x (15 - 3) / 6 = 20 min.
    # An hour costs 30.00 x 1.28 / 0.85 = 45.18; 70/60 h x 45.18 = 52.71.
    labour = reckon_labour(drivers(edge=("10", "ft")), book(task(low=3, likely=6, high=15)), currency="CAD")
    assert labour.hours == {"wrap": pytest.approx(D(70) / 60)}
    assert job(labour, "hours_spread") == pytest.approx(D(20) / 60)
    assert labour.cost.values == (D("52.71"),)
    assert job(labour, "hours_eighty") == pytest.approx(D(70) / 60 + D("0.841621") * 20 / 60)


def test_metric_jobs_have_the_same_hours_for_the_same_length() -> None:
    rates = book(task(low=3, likely=6, high=15))
    feet = reckon_labour(drivers(edge=("100", "ft")), rates, currency="CAD")
    metres = reckon_labour(drivers(edge=("30.48", "m")), rates, currency="CAD")
    assert float(metres.hours["wrap"]) == pytest.approx(float(feet.hours["wrap"]), rel=1e-5)


def test_difficulty_multiplies_the_tasks_it_names() -> None:
    rates = book(task("wrap"), task("load"))
    easy = reckon_labour(drivers(edge=("10", "ft")), rates, currency="CAD")
    both = [Difficulty(factor=1.5, reason="third floor, no lift", tasks=("load",)),
            Difficulty(factor=1.2, reason="night work", tasks=("all",))]  # fmt: skip
    hard = reckon_labour(drivers(edge=("10", "ft")), rates, both, currency="CAD")
    assert hard.hours["load"] == pytest.approx(easy.hours["load"] * D("1.8"))
    assert hard.hours["wrap"] == pytest.approx(easy.hours["wrap"] * D("1.2"))
    assert hard.inputs[2].value("reason", 1) == "third floor, no lift; night work"


def test_problems_are_named_all_at_once() -> None:
    rates = book(task("wrap"), task("load", driver="loads", unit="each"))
    with pytest.raises(InputError) as refused:
        reckon_labour(drivers(edge=("10", "ft2")), rates, currency="CAD")
    text = str(refused.value)
    assert "the takeoff has no quantity 'loads'" in text
    assert "its rate is per ft, and 'edge' is in ft2" in text


def test_a_rate_out_of_order_is_refused() -> None:
    with pytest.raises(ValueError, match="minutes are out of order"):
        book(task(low=5, likely=4, high=6))


def test_a_task_that_waits_for_a_later_one_is_refused() -> None:
    with pytest.raises(ValueError, match="does not stand before it"):
        book(task("wrap", after=["load"]), task("load"))


ROOM = {
    "frames": 8, "member_cuts": 56, "bevel_cuts": 4, "casing_pieces": 30, "joints": 64, "screens": 0,
    "fixed_pieces": 8,
    "primed_length": 120, "board_pieces": 24, "cavity_area": 190, "fabric_pieces": 8, "wrapped_edge": 240,
    "journeys": 6, "standing": 1, "tip_runs": 1, "inspections": 1, "finished_length_coats": 0,
    "touched_length": 0, "seam_length": 0,
    "protect_area": 160, "boxes": 2, "fixing_screws": 60, "clouds": 0, "hung_pieces": 8,
    "casing_length": 120, "openings": 3, "hardware_pieces": 4, "nails": 180, "sealant_length": 100,
    "masked_length": 220, "painted_length_coats": 240, "job": 1,
}  # fmt: skip


def simulated(rates: LabourBook) -> Any:
    """200 000 draws of numpy's generator of the hours of the room: a beta-PERT variable a task.

    Beta on (low, high) with a = 1 + 4 (likely - low) / (high - low) and b = 6 - a:
    its mean is PERT's exactly, its spread is (high - low) / 6 only where the three points are even.
    """
    draw = np.random.default_rng(7)
    hours = np.zeros(200_000)
    for one in (t for t in rates.tasks if t.driver != STANDING):  # nobody stands before days are planned
        low, likely, high = float(one.low), float(one.likely), float(one.high)
        shape = (1 + 4 * (likely - low) / (high - low), 1 + 4 * (high - likely) / (high - low))
        hours += ROOM[one.driver] / 60 * (low + (high - low) * draw.beta(*shape, size=hours.size))
    return hours


def test_hours_and_chances_are_those_of_a_simulation() -> None:
    rates = load_labour()
    shown = {t.driver: "ea" if t.unit == "each" else t.unit for t in rates.tasks}
    labour = reckon_labour(drivers(**{k: (str(q), shown[k]) for k, q in ROOM.items()}), rates, currency="CAD")
    hours = simulated(rates)
    error = 4 * float(hours.std()) / hours.size**0.5
    assert float(hours.mean()) == pytest.approx(float(job(labour, "hours_expected")), abs=error)
    assert float(hours.std()) == pytest.approx(float(job(labour, "hours_spread")), rel=0.08)
    # The rates lean to the high side, so the chances come out a little under those stated: 78 and 93.
    assert float((hours <= float(job(labour, "hours_eighty"))).mean()) == pytest.approx(0.80, abs=0.02)
    assert float((hours <= float(job(labour, "hours_ninety_five"))).mean()) == pytest.approx(0.95, abs=0.02)


@pytest.mark.parametrize("unit", ["ft", "m"])
def test_a_spreadsheet_program_finds_every_cell_of_the_shipped_rates(
    recalculate: Recalculate, unit: str
) -> None:
    rates = load_labour()
    squares = {"ft": "ft2", "m": "m2"}[unit]
    shown = {"each": "ea", "ft": unit, "ft2": squares}
    amounts = {t.driver: (f"{n * 7 % 90}.25", shown[t.unit]) for n, t in enumerate(rates.tasks)}
    table = drivers(**amounts)
    hard = [Difficulty(factor=1.15, reason="stairs", tasks=("hang", "travel"))]
    labour = reckon_labour(table, rates, hard, currency="CAD")
    found = recalculate({"inputs": (*labour.inputs, table), "workings": labour.workings})
    for one in labour.workings:
        for field in one.fields:
            for n, value in enumerate(field.values):
                if isinstance(value, D):
                    assert found[one.key, field.key, n] == pytest.approx(float(value), abs=1e-9), field.key


def test_office_changes_a_rate_in_the_workbook(recalculate: Recalculate) -> None:
    table, rates = drivers(edge=("10", "ft")), book(task(low=3, likely=6, high=15))
    labour = reckon_labour(table, rates, currency="CAD")
    changed = reckon_labour(table, book(task(low=3, likely=9, high=15)), currency="CAD")
    edited = reckon_labour(table, rates, currency="CAD", edits={"labour_rates.likely.wrap": D(9)})
    assert edited.cost.values == changed.cost.values
    found = recalculate({"inputs": (*labour.inputs, table), "workings": labour.workings},
                        {("labour_rates", "likely", 0): D(9)})  # fmt: skip
    assert found["labour_job", "labour_cost", 0] == float(changed.cost.values[0])  # type: ignore[arg-type]
    assert changed.cost.values != labour.cost.values

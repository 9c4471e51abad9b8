"""Three-point estimates: the mean and spread of PERT, the triangular mean, and a simulation of one task.

Source: PERT, mean (O + 4 M + P) / 6 and spread (P - O) / 6; O = 4, M = 6, P = 12 gives 6.67 and 1.33 (read in
a published excerpt; own arithmetic to more digits). Triangular distribution: mean (O + M + P) / 3.
"""

from decimal import Decimal as D
from typing import Any

import numpy as np
import pytest

from estimator.calc.tables import Draft, Table
from estimator.catalogue.labour import LabourBook
from estimator.labour.tasks import reckon_labour


def form(weight: int = 4, parts: int = 6) -> Table:
    """One unit of a task of 4, 6, 12 hours, as minutes."""
    task = {"key": "t", "label": "t", "stage": "shop", "driver": "job", "unit": "each", "low": 240,
            "likely": 360, "high": 720, "wage": "w", "source": "x"}  # fmt: skip
    wage = {"key": "w", "label": "w", "wage": 30, "burden": "28 %", "billable": "85 %", "source": "x"}
    basis = {"likely_weight": weight, "parts": parts, "z_eighty": 0.841621, "z_ninety_five": 1.644854,
             "expectation_source": "x", "chance_source": "x"}  # fmt: skip
    body: dict[str, Any] = {
        "schema": 1, "name": "t", "basis": basis, "calendar": {"start_hour": 8, "source": "x"},
        "learning": {"prior_jobs": 5, "source": "x"}, "wage": [wage], "task": [task],
    }  # fmt: skip
    drivers = Draft("drivers", "Drivers")
    drivers.keys(["job"])
    drivers.label("description", "What", ["job"])
    drivers.label("unit", "Unit", ["ea"])
    drivers.input("quantity", "Quantity", "", [D(1)])
    return reckon_labour(drivers.table(), LabourBook.model_validate(body), currency="CAD").workings[2]


def value(table: Table, key: str) -> float:
    return float(table.value(key))  # type: ignore[arg-type]


def test_pert_mean_and_spread() -> None:
    assert value(form(), "hours_expected") == pytest.approx(6.666667, abs=1e-6)
    assert value(form(), "hours_spread") == pytest.approx(1.333333, abs=1e-6)


def test_weights_of_one_give_the_triangular_mean() -> None:
    assert value(form(1, 3), "hours_expected") == pytest.approx(7.333333, abs=1e-6)


def test_a_simulation_has_the_same_mean() -> None:
    # 100 000 draws of beta-PERT on 4, 6, 12: within four standard errors, 0.018 h.
    shape = (1 + 4 * (6 - 4) / 8, 1 + 4 * (12 - 6) / 8)
    hours = 4 + 8 * np.random.default_rng(1).beta(*shape, size=100_000)
    assert float(hours.mean()) == pytest.approx(value(form(), "hours_expected"), abs=0.018)


def test_burdened_rate() -> None:
    # Own arithmetic: 30.00 x 1.28 / 0.85 = 45.176; 6.6667 h x 45.18 = 301.20.
    assert value(form(), "labour_cost") == 301.20

"""The model against published reverberation-room rows: data to be near to, not to be matched.

Sources: Long, Architectural Acoustics 2e (2014), table 7.1; Vorlaender, Auralization (2008), tables as in
pyroomacoustics; Arau-Puchades (1999), table 6.1; Cox and D'Antonio 3e, appendix A. Limits were chosen after
seeing the fit: 0.30 in every octave and 0.20 RMS; an infinite sample fails them. Two rows are known not to
agree.
"""

import numpy as np
import pyroomacoustics
import pytest

from estimator.acoustics.absorber import Layer, Makeup, absorb, flow_resistivity
from estimator.acoustics.ratings import Floats

ROWS = {
    "Long, fibreglass board 48 kg/m3, 25 mm": (48, 0.0254, (0.03, 0.22, 0.69, 0.91, 0.96, 0.99)),
    "Long, fibreglass board 48 kg/m3, 51 mm": (48, 0.0508, (0.22, 0.82, 1.21, 1.10, 1.02, 1.05)),
    "Long, fibreglass board 96 kg/m3, 25 mm": (96, 0.0254, (0.08, 0.25, 0.74, 0.95, 0.97, 1.00)),
    "Vorlaender, mineral wool 80 kg/m3, 50 mm": (80, 0.050, (0.22, 0.60, 0.92, 0.90, 0.88, 0.88)),
    "Arau-Puchades, rock wool 100 kg/m3, 50 mm": (100, 0.050, (0.19, 0.74, 0.95, 0.98, 0.96, 1.04)),
}
INFINITE_FAILS = [name for name in ROWS if name.startswith("Long, fibreglass board 48")]


def errors(density: float, thickness_m: float, alpha: tuple[float, ...], *, finite: bool = True) -> Floats:
    makeup = Makeup((Layer(thickness_m, flow_resistivity(density)),))
    found = absorb(makeup) if finite else absorb(makeup, None)
    return np.asarray(np.array(found.alpha) - np.array(alpha))


def near(error: Floats) -> bool:
    return bool(np.abs(error).max() <= 0.30 and np.sqrt((error**2).mean()) <= 0.20)


@pytest.mark.parametrize("name", ROWS)
def test_finite_sample_is_near(name: str) -> None:
    density, thickness_m, alpha = ROWS[name]
    assert near(errors(density, thickness_m, alpha))


@pytest.mark.parametrize("name", INFINITE_FAILS)
def test_infinite_sample_is_not(name: str) -> None:
    density, thickness_m, alpha = ROWS[name]
    assert not near(errors(density, thickness_m, alpha, finite=False))


def test_the_library_prints_the_same_row() -> None:
    rows = pyroomacoustics.parameters.materials_absorption_table.values()
    (row,) = [r for r in rows if "50 mm" in r["description"] and "80 kg/m3" in r["description"]]
    assert tuple(row["coeffs"][:6]) == ROWS["Vorlaender, mineral wool 80 kg/m3, 50 mm"][2]


def test_known_outlier_glued_mineral_wool_40_kg_m3() -> None:
    """Cox and D'Antonio: the row dips at 500 Hz and 1 kHz as no porous layer does; the model is higher."""
    error = errors(40, 0.05, (0.15, 0.70, 0.60, 0.60, 0.85, 0.90))
    assert error[2] == pytest.approx(0.27, abs=0.03)
    assert error[3] == pytest.approx(0.34, abs=0.03)


def test_known_outlier_dense_thin_fibre_over_air() -> None:
    """Vorlaender: 20 mm of 170 kg/m3 over 50 mm; the model is higher at 4 kHz."""
    makeup = Makeup((Layer(0.02, flow_resistivity(170)),), 0.05)
    assert absorb(makeup).alpha[5] - 0.53 == pytest.approx(0.38, abs=0.03)

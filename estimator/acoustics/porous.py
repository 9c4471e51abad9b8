"""Porous material: flow resistivity from density, and the empirical models of its impedance.

Time convention exp(+j w t); impedances are relative to that of air, wave numbers to that of air.
"""

from typing import Literal, TypeAlias

import numpy as np

from estimator.acoustics.bands import AIR_DENSITY_KG_M3, SPEED_OF_SOUND_M_S, Complexes, Floats
from estimator.core.errors import refuse

Model: TypeAlias = Literal["miki", "delany-bazley", "allard-champoux"]
MODEL_NAMES: dict[Model, str] = {
    "miki": "Miki",
    "delany-bazley": "Delany and Bazley",
    "allard-champoux": "Allard and Champoux",
}

FIT_KG_M3 = (38.0, 162.0)
"""Densities to which the flow resistivity was fitted. Source: Hopkins (2007), eq. 1.165."""
VALID_F_OVER_SIGMA = (0.01, 1.0)
"""Range of f / sigma, m3/kg, to which the impedance was fitted. Source: Delany and Bazley (1970)."""


def flow_resistivity(density_kg_m3: float) -> float:
    """Return the flow resistivity through the thickness, Pa s/m2, of glass or mineral wool board.

    sigma = 780 rho^1.59 / d^2 with rho in kg/m3 and a fibre diameter d of 4.75 micrometres.

    Raises:
        InputError: a density that is not above 0.

    Source: Hopkins, Sound Insulation (2007), eq. 1.165 after Bies and Nichols; fit over 38-162 kg/m3.
    """
    if not 0 < density_kg_m3 < float("inf"):
        raise refuse("density", f"{density_kg_m3:g} kg/m3 is not a density", "Give a number above 0.")
    factor, exponent, fibre_um = 780.0, 1.59, 4.75
    return float(factor * density_kg_m3**exponent / fibre_um**2)


def _power_law(x: Floats, law: tuple[float, ...]) -> Complexes:
    return np.asarray(1 + law[0] * x ** law[1] - 1j * law[2] * x ** law[3], dtype=np.complex128)


def _allard_champoux(f_hz: Floats, sigma: Floats) -> tuple[Complexes, Complexes]:
    rho0, p0, impedance = 1.2, 101_320.0, AIR_DENSITY_KG_M3 * SPEED_OF_SOUND_M_S
    x = sigma / (rho0 * f_hz)
    density = rho0 + np.sqrt(-0.0364 * x**2 - 0.1144j * x)
    root = np.sqrt(2.82 * x**2 + 24.9j * x)
    modulus = p0 * (29.64j + root) / (21.17j + root)
    slowness = np.sqrt(density / modulus) * SPEED_OF_SOUND_M_S
    return np.asarray(np.sqrt(density * modulus) / impedance), np.asarray(slowness)


def characteristic(f_hz: Floats, sigma: Floats, model: Model = "miki") -> tuple[Complexes, Complexes]:
    """Return the characteristic impedance over rho c and the wave number over w/c; shapes broadcast.

    Args:
        f_hz: frequencies, Hz.
        sigma: flow resistivity, Pa s/m2.
        model: 'miki' is used; the two others are there to compare with.

    Source: Miki, J. Acoust. Soc. Jpn. (E) 11 (1990), eq. 30-34; Delany and Bazley, Applied Acoustics 3
        (1970) with the coefficients re-fitted to rho f / sigma (Bies, Engineering Noise Control 5e, App. D;
        Hopkins, eq. 1.171); Allard and Champoux, J. Acoust. Soc. Am. 91 (1992) 3346 (from memory).
    """
    if model == "miki":
        x = f_hz / sigma
        return _power_law(x, (0.070, -0.632, 0.107, -0.632)), _power_law(x, (0.109, -0.618, 0.160, -0.618))
    if model == "delany-bazley":
        x = AIR_DENSITY_KG_M3 * f_hz / sigma
        return _power_law(x, (0.0571, -0.754, 0.0870, -0.732)), _power_law(x, (0.0978, -0.700, 0.189, -0.595))
    return _allard_champoux(f_hz, sigma)


def lowest_valid_hz(sigma: float) -> float:
    """Return the frequency below which the impedance is outside its fit, Hz: 0.01 sigma."""
    return VALID_F_OVER_SIGMA[0] * sigma


def highest_valid_hz(sigma: float) -> float:
    """Return the frequency above which the impedance is outside its fit, Hz: 1.0 sigma."""
    return VALID_F_OVER_SIGMA[1] * sigma

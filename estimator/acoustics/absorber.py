"""Porous material: flow resistivity from density, and the empirical models of its impedance.

Time convention exp(+j w t); impedances are relative to that of air, wave numbers to that of air.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from estimator.acoustics.radiation import directions, quadrature, thirds_radiation
from estimator.acoustics.ratings import (
    AIR_DENSITY_KG_M3,
    OCTAVES_HZ,
    SPEED_OF_SOUND_M_S,
    Complexes,
    Floats,
    Six,
    octave_means,
    six,
    third_centres,
)
from estimator.core.errors import Problem, refuse, refuse_all

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


def valid_hz(sigma: float) -> tuple[float, float]:
    """Return the frequencies between which the impedance was fitted, Hz: 0.01 sigma to 1.0 sigma."""
    low, high = VALID_F_OVER_SIGMA
    return low * sigma, high * sigma


Sample: TypeAlias = tuple[float, float]
Reaction: TypeAlias = Literal["bulk", "local"]

SAMPLE_M: Sample = (3.6, 3.0)
"""Size of the sample the diffuse value is for: about the 10-12 m2 of a laboratory's (ISO 354, 6.2.1)."""
SIGMA_BAND = (0.7, 0.85, 1.0, 1.15, 1.3)
"""Factors on the flow resistivity over which the band low..high is taken: +-30 %, with points between."""
PUBLISHED_RMS = 0.12
"""RMS error of an octave against published rows, see docs/validation/acoustics.md; the band is narrower."""
PARIS_NODES = 64
ROWS_AT_ONCE = 64
THICKEST_M = 1.0
RESISTIVITY_RANGE = (100.0, 1e6)
SAMPLE_RANGE_M = (0.3, 30.0)


@dataclass(frozen=True, slots=True)
class Layer:
    """A porous layer: thickness in m, flow resistivity in Pa s/m2."""

    thickness_m: float
    resistivity: float


@dataclass(frozen=True, slots=True)
class Makeup:
    """A panel from the room to the wall: cloth, layers (the room's side first), air gap, rigid wall.

    Attributes:
        cloth: flow resistance of the facing cloth, Pa s/m; its mass is taken as at rest, as for cloth
            stretched over a frame and lying on board.
    """

    layers: tuple[Layer, ...]
    gap_m: float = 0.0
    cloth: float = 0.0


@dataclass(frozen=True, slots=True)
class Absorption:
    """Estimated absorption per octave 125..4000 Hz, with how far it can be trusted.

    Attributes:
        alpha: diffuse-field coefficient per octave, the mean of its thirds; may pass 1 for a finite
            sample, as measured values do.
        thirds: the same per third octave 100..5000 Hz; empty for a measured row of octaves.
        normal: coefficient at normal incidence at the octaves' centres; None for a measured row.
        low, high: least and greatest of `alpha` for flow resistivities within +-30 %.
        valid: per octave, whether every third of it lies where the impedance model was fitted.
        valid_from_hz: lowest frequency of that range; 0 for a measured row.
        origin: how it was found, in words to be printed with it.
        problems: the warnings that travel with it.
    """

    alpha: Six
    thirds: tuple[float, ...]
    normal: Six | None
    low: Six
    high: Six
    valid: tuple[bool, ...]
    valid_from_hz: float
    origin: str
    problems: tuple[Problem, ...] = ()


def _padded(makeups: Sequence[Makeup]) -> tuple[Floats, Floats, Floats, Floats]:
    """Thickness and resistivity (N, L), gap and cloth (N,); a layer of no thickness changes nothing."""
    depth = max(len(m.layers) for m in makeups)
    rows = [[*m.layers, *[Layer(0.0, 1e4)] * (depth - len(m.layers))] for m in makeups]
    thickness = np.array([[layer.thickness_m for layer in row] for row in rows], dtype=np.float64)
    sigma = np.array([[layer.resistivity for layer in row] for row in rows], dtype=np.float64)
    gap = np.array([m.gap_m for m in makeups], dtype=np.float64)
    cloth = np.array([m.cloth for m in makeups], dtype=np.float64)
    return thickness, sigma, gap, cloth


def _behind(admittance: Complexes, impedance: Complexes, phase: Floats | Complexes) -> Complexes:
    """Admittance at the front of a layer from that at its back; `phase` is k d in the layer."""
    back = impedance * admittance
    echo = (1 - back) / (1 + back) * np.exp(-2j * phase)
    return np.asarray((1 - echo) / (1 + echo) / impedance)


def surface_impedance(
    makeups: Sequence[Makeup],
    f_hz: Floats,
    theta: Floats,
    model: Model = "miki",
    reaction: Reaction = "bulk",
) -> Complexes:
    """Return the impedance over rho c at each make-up's face.

    Args:
        makeups: N make-ups.
        f_hz: F frequencies, Hz.
        theta: T angles of incidence from the normal, rad, below 90 degrees.
        model: model of the porous material.
        reaction: 'bulk' lets sound travel sideways within (Snell's law), 'local' does not.

    Returns:
        Complex array of shape (N, F, T).

    Source: layer impedance by transfer along each layer, Cox and D'Antonio, Acoustic Absorbers and
        Diffusers 3e, ch. 2; cloth as a resistive screen, ibid. ch. 6.
    """
    thickness, sigma, gap, cloth = _padded(makeups)
    f = f_hz[None, :, None]
    k0 = 2 * np.pi * f / SPEED_OF_SOUND_M_S
    sine = np.sin(theta) if reaction == "bulk" else np.zeros_like(theta)
    cosine = np.sqrt(1 - sine**2)
    shape = (len(makeups), f_hz.size, theta.size)
    admittance = np.zeros(shape, dtype=np.complex128)
    air = np.broadcast_to(np.asarray(1 / cosine, dtype=np.complex128), shape)
    admittance = _behind(admittance, air, k0 * cosine * gap[:, None, None])
    for j in reversed(range(thickness.shape[1])):
        z, k = characteristic(f, sigma[:, j, None, None], model)
        inward = np.asarray(np.sqrt(k**2 - sine**2))
        admittance = _behind(admittance, z * k / inward, k0 * inward * thickness[:, j, None, None])
    with np.errstate(divide="ignore", invalid="ignore"):
        face = 1 / admittance
    return face + cloth[:, None, None] / (AIR_DENSITY_KG_M3 * SPEED_OF_SOUND_M_S)


def plane_wave_alpha(impedance: Complexes, cosine: Floats | float = 1.0) -> Floats:
    """Return 1 - |R|^2 of a plane wave on a surface: 4 Re(z) cos / |z cos + 1|^2."""
    return np.asarray(4 * impedance.real * cosine / np.abs(impedance * cosine + 1) ** 2)


def normal_alpha(makeups: Sequence[Makeup], f_hz: Floats, model: Model = "miki") -> Floats:
    """Return the absorption at normal incidence, shape (N, F)."""
    return plane_wave_alpha(surface_impedance(makeups, f_hz, np.zeros(1), model))[..., 0]


def _paris(makeups: Sequence[Makeup], model: Model, reaction: Reaction) -> Floats:
    theta, weight = quadrature(0.0, np.pi / 2, PARIS_NODES)
    z = surface_impedance(makeups, third_centres(), theta, model, reaction)
    return np.asarray(plane_wave_alpha(z, np.cos(theta)) @ (weight * np.sin(2 * theta)))


def _thomasson(makeups: Sequence[Makeup], sample: Sample, model: Model, reaction: Reaction) -> Floats:
    theta, w_theta, _, w_phi = directions()
    z = surface_impedance(makeups, third_centres(), theta, model, reaction)
    sent = thirds_radiation(sample)
    per_angle = z.real * ((1 / np.abs(z[..., None] + sent) ** 2) @ w_phi)
    return np.asarray(per_angle @ (8 * np.sin(theta) * w_theta))


def thirds_alpha(
    makeups: Sequence[Makeup],
    sample: Sample | None = SAMPLE_M,
    model: Model = "miki",
    reaction: Reaction = "bulk",
) -> Floats:
    """Return the diffuse absorption of many make-ups per third octave, shape (N, 18).

    A finite sample by Thomasson, alpha = 8 x integral of Re(z) / |z + z_r|^2 sin(theta); an infinite one
    by Paris, alpha = integral of alpha(theta) sin(2 theta). No angle is left out.

    Args:
        makeups: the make-ups; not checked, see `check`.
        sample: its sides in m, None for an infinite one.
        model: model of the porous material.
        reaction: 'bulk' or 'local', see `surface_impedance`.

    Source: Paris, Phil. Mag. 5 (1928); Kuttruff, Room Acoustics; Thomasson, Acustica 44 (1980).
    """
    parts = [makeups[i : i + ROWS_AT_ONCE] for i in range(0, len(makeups), ROWS_AT_ONCE)]
    if sample is None:
        return np.concatenate([_paris(part, model, reaction) for part in parts])
    return np.concatenate([_thomasson(part, sample, model, reaction) for part in parts])


def _within(where: str, value: float, low: float, high: float, unit: str) -> list[Problem]:
    if low <= value <= high:
        return []
    return [Problem(where, f"{value:g} {unit} is out of range", f"Give {low:g} to {high:g} {unit}.")]


def check(makeup: Makeup, sample: Sample | None = SAMPLE_M) -> None:
    """Refuse a make-up or a sample that cannot be.

    Raises:
        InputError: with every value that is out of range.
    """
    problems = [] if makeup.layers else [Problem("layers", "there is no porous layer", "Give at least one.")]
    for i, layer in enumerate(makeup.layers):
        at = f"layer[{i}]"
        problems += _within(f"{at}.thickness", layer.thickness_m, 1e-3, THICKEST_M, "m")
        problems += _within(f"{at}.resistivity", layer.resistivity, *RESISTIVITY_RANGE, "Pa s/m2")
    problems += _within("gap", makeup.gap_m, 0.0, THICKEST_M, "m")
    problems += _within("cloth", makeup.cloth, 0.0, 1e4, "Pa s/m")
    for side in sample or ():
        problems += _within("sample", side, *SAMPLE_RANGE_M, "m")
    refuse_all(problems)


def _validity(makeup: Makeup) -> tuple[tuple[bool, ...], float, tuple[Problem, ...]]:
    lows, highs = zip(*(valid_hz(layer.resistivity) for layer in makeup.layers), strict=True)
    lowest, highest = max(lows), min(highs)
    edges = third_centres().reshape(6, 3)
    valid = tuple(bool(e[0] >= lowest and e[2] <= highest) for e in edges)
    outside = [f"{hz} Hz" for hz, good in zip(OCTAVES_HZ, valid, strict=True) if not good]
    if not outside:
        return valid, lowest, ()
    what = (
        f"outside what the porous model was fitted for, {lowest:.0f} to {highest:.0f} Hz at this flow "
        f"resistivity: {', '.join(outside)}"
    )
    problem = Problem("alpha", what, "Prefer a measured row for these octaves.", severity="warning")
    return valid, lowest, (problem,)


def _resistivity_times(makeup: Makeup, by: float) -> Makeup:
    layers = tuple(Layer(x.thickness_m, x.resistivity * by) for x in makeup.layers)
    return Makeup(layers, makeup.gap_m, makeup.cloth)


def absorb(makeup: Makeup, sample: Sample | None = SAMPLE_M, model: Model = "miki") -> Absorption:
    """Return the estimated absorption of a make-up, with its band for a flow resistivity of +-30 %.

    Args:
        makeup: cloth, layers and gap.
        sample: sides in m of the sample it is for, None for an infinite one.
        model: model of the porous material.

    Raises:
        InputError: a make-up or sample that cannot be.
    """
    check(makeup, sample)
    around = [_resistivity_times(makeup, by) for by in SIGMA_BAND]
    thirds = thirds_alpha(around, sample, model)
    octaves, middle = octave_means(thirds), SIGMA_BAND.index(1.0)
    valid, lowest, problems = _validity(makeup)
    over = f"sample {sample[0]:g} x {sample[1]:g} m" if sample else "infinite sample"
    return Absorption(
        alpha=six(octaves[middle]),
        thirds=tuple(float(v) for v in thirds[middle]),
        normal=six(normal_alpha([makeup], np.asarray(OCTAVES_HZ, dtype=np.float64), model)[0]),
        low=six(octaves.min(axis=0)),
        high=six(octaves.max(axis=0)),
        valid=valid,
        valid_from_hz=lowest,
        origin=f"estimated, not guaranteed: model of {MODEL_NAMES[model]}, diffuse field, {over}",
        problems=problems,
    )


def measured(alpha: Six, mounting: str, report: str) -> Absorption:
    """Return a measured row as an `Absorption`; it takes the place of the model.

    Args:
        alpha: measured coefficients per octave 125..4000 Hz, as reported (may pass 1).
        mounting: mounting of the test, such as ``A`` or ``E-400`` (ASTM E795) or ``Type A`` (ISO 354).
        report: the report's name or number.
    """
    everywhere = (True,) * len(OCTAVES_HZ)
    origin = f"measured, mounting {mounting}, report {report}; what it does in the room is an estimate"
    return Absorption(alpha, (), None, alpha, alpha, everywhere, 0.0, origin)

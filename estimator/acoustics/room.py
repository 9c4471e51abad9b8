"""Air: its speed of sound and what it absorbs."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import product

from estimator.acoustics.ratings import OCTAVES_HZ, SPEED_OF_SOUND_M_S, Six, six
from estimator.core.errors import Problem, refuse, refuse_all

KELVIN = 273.15
REFERENCE_K = 293.15
TRIPLE_POINT_K = 273.16
REFERENCE_KPA = 101.325


def speed_of_sound(temperature_c: float = 20.0) -> float:
    """Return the speed of sound in m/s: 343 at 20 degrees C, growing as the root of the temperature in K.

    Source: ISO 9613-1:1993, eq. A.5, from 343 in place of its 343.2 at 20 degrees C.
    """
    return SPEED_OF_SOUND_M_S * math.sqrt((KELVIN + temperature_c) / REFERENCE_K)


def exact_midband(nominal_hz: float) -> float:
    """Return the exact midband of a nominal third or octave: 1000 x 10^(k/10). Source: ISO 266."""
    return float(1000 * 10 ** (round(10 * math.log10(nominal_hz / 1000)) / 10))


def air_absorption_db_per_m(
    f_hz: float, temperature_c: float = 20.0, humidity_pct: float = 50.0, pressure_kpa: float = REFERENCE_KPA
) -> float:
    """Return the attenuation of a pure tone by air, dB/m.

    Source: ISO 9613-1:1993, eq. 3 to 5 and B.1 to B.3.
    """
    kelvin, p = KELVIN + temperature_c, pressure_kpa / REFERENCE_KPA
    t = kelvin / REFERENCE_K
    saturation = 10 ** (-6.8346 * (TRIPLE_POINT_K / kelvin) ** 1.261 + 4.6151)
    h = humidity_pct * saturation / p
    oxygen = p * (24 + 4.04e4 * h * (0.02 + h) / (0.391 + h))
    nitrogen = p * t**-0.5 * (9 + 280 * h * math.exp(-4.170 * (t ** (-1 / 3) - 1)))
    classical = 1.84e-11 / p * t**0.5
    by_oxygen = 0.01275 * math.exp(-2239.1 / kelvin) / (oxygen + f_hz**2 / oxygen)
    by_nitrogen = 0.1068 * math.exp(-3352.0 / kelvin) / (nitrogen + f_hz**2 / nitrogen)
    return float(8.686 * f_hz**2 * (classical + t**-2.5 * (by_oxygen + by_nitrogen)))


def energy_attenuation(f_hz: float, temperature_c: float = 20.0, humidity_pct: float = 50.0) -> float:
    """Return the energy attenuation m in 1/m: the dB/m over 10 lg e.

    Source: ISO 354:2003, 8.1.2 (from memory).
    """
    return air_absorption_db_per_m(f_hz, temperature_c, humidity_pct) / (10 * math.log10(math.e))


def octave_attenuation(temperature_c: float = 20.0, humidity_pct: float = 50.0) -> Six:
    """Return m in 1/m at the exact midbands of the octaves 125..4000 Hz."""
    return six([energy_attenuation(exact_midband(f), temperature_c, humidity_pct) for f in OCTAVES_HZ])


Shares = tuple[float, float, float]

AXES: dict[str, Shares] = {"x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0), "z": (0.0, 0.0, 1.0)}
NO_AIR: Six = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
LARGEST_ALPHA = 1.5
AREA_SLACK_M2 = 1e-6


@dataclass(frozen=True, slots=True)
class Surface:
    """A plane part of the room's boundary.

    Attributes:
        area_m2: its net area, m2: openings are surfaces of their own.
        alpha: absorption per octave 125..4000 Hz; may pass 1 as measured values do.
        shares: squared components of its normal along x, y, z; they add up to 1 (`facing`).
        source: where `alpha` comes from, to be printed with it.
    """

    name: str
    area_m2: float
    alpha: Six
    shares: Shares
    source: str = ""


@dataclass(frozen=True, slots=True)
class Body:
    """Something in the room that is no part of its boundary: absorption area in m2 per octave.

    People, seats, screens and clouds; `both_faces` makes one of a screen or cloud.
    """

    name: str
    absorption_m2: Six
    source: str = ""


@dataclass(frozen=True, slots=True)
class Patch:
    """Treatment on a surface: it takes `area_m2` of the surface `on` and puts `alpha` in its place."""

    name: str
    on: str
    area_m2: float
    alpha: Six
    source: str = ""


@dataclass(frozen=True, slots=True)
class RoomModel:
    """A room as the reverberation formulas see it.

    Attributes:
        volume_m3: volume of air, m3.
        surfaces: the whole boundary.
        bodies: what stands or hangs in it.
        temperature_c, humidity_pct: state of the air.
        air: whether air absorbs (left out only to compare with textbook examples).
    """

    volume_m3: float
    surfaces: tuple[Surface, ...]
    bodies: tuple[Body, ...] = ()
    temperature_c: float = 20.0
    humidity_pct: float = 50.0
    air: bool = True

    @property
    def speed_m_s(self) -> float:
        """Return the speed of sound in the room's air."""
        return speed_of_sound(self.temperature_c)

    @property
    def attenuation(self) -> Six:
        """Return the energy attenuation m of its air per octave, 1/m."""
        return octave_attenuation(self.temperature_c, self.humidity_pct) if self.air else NO_AIR

    @property
    def area_m2(self) -> float:
        """Return the whole boundary's area."""
        return sum(s.area_m2 for s in self.surfaces)


def facing(normal: Sequence[float]) -> Shares:
    """Return the shares of a surface with this normal (any length): its squared components.

    Raises:
        ValueError: a normal of no length.
    """
    x, y, z = (float(v) ** 2 for v in normal)
    total = x + y + z
    if not total > 0:
        raise ValueError("a normal of no length faces nowhere")
    return (x / total, y / total, z / total)


def both_faces(name: str, area_m2: float, alpha: Six, reduction: float, source: str = "") -> Body:
    """Return a screen or cloud that absorbs on both faces, less a stated reduction.

    Absorption area per octave: 2 x area x alpha x (1 - reduction). Flush data never stand in for a hung
    panel without it.

    Args:
        name: its name.
        area_m2: area of one face, m2.
        alpha: coefficient of one face.
        reduction: part of the absorption lost, 0 to 1, as both faces share the sound around the panel.
        source: where `alpha` and `reduction` come from.

    Raises:
        InputError: a reduction outside 0..1 or a negative area.
    """
    if not 0 <= reduction <= 1:
        raise refuse(f"{name}.reduction", f"{reduction:g} is not from 0 to 1", "Give 0.25 for a quarter.")
    if not area_m2 >= 0:
        raise refuse(f"{name}.area", f"{area_m2:g} m2 is not an area", "Give 0 or more.")
    said = f"{source}; both faces less {reduction:.0%}".removeprefix("; ")
    return Body(name, six([2 * area_m2 * a * (1 - reduction) for a in alpha]), said)


def _surface_problems(surface: Surface) -> list[Problem]:
    at, problems = f"surface {surface.name}", []
    if not 0 <= surface.area_m2 < float("inf"):
        problems.append(Problem(at, f"{surface.area_m2:g} m2 is not an area", "Give 0 or more."))
    if not all(0 <= a <= LARGEST_ALPHA for a in surface.alpha):
        problems.append(Problem(at, "a coefficient is out of range", f"Give 0 to {LARGEST_ALPHA}."))
    if abs(sum(surface.shares) - 1) > AREA_SLACK_M2 or min(surface.shares) < 0:
        problems.append(Problem(at, "its shares do not add up to 1", "Make them with `facing`."))
    return problems


def check_room(room: RoomModel) -> None:
    """Refuse a room that cannot be estimated.

    Raises:
        InputError: with everything that is wrong.
    """
    problems = [p for s in room.surfaces for p in _surface_problems(s)]
    if not 0 < room.volume_m3 < float("inf"):
        problems.append(Problem("room.volume", f"{room.volume_m3:g} m3 is not a volume", "Give more than 0."))
    if not room.area_m2 > 0:
        problems.append(Problem("room.surfaces", "no boundary", "Give floor, ceiling and walls."))
    names = [s.name for s in room.surfaces]
    twice = sorted({n for n in names if names.count(n) > 1})
    problems += [Problem(f"surface {n}", "two surfaces have this name", "Give each its own.") for n in twice]
    refuse_all(problems)


def _taken(surface: Surface, patches: Iterable[Patch]) -> float:
    return sum(p.area_m2 for p in patches if p.on == surface.name)


def treat(room: RoomModel, patches: Sequence[Patch], bodies: Sequence[Body] = ()) -> RoomModel:
    """Return the room with what each patch covers taken away and the patch put in its place.

    Args:
        room: the room before.
        patches: treatment on its surfaces.
        bodies: screens and clouds that are added.

    Raises:
        InputError: a patch on a surface that is not there, of negative area, or patches larger than
            their surface.
    """
    by_name = {s.name: s for s in room.surfaces}
    problems = [
        Problem(f"patch {p.name}", f"no surface {p.on!r}", f"Surfaces: {', '.join(sorted(by_name))}.")
        for p in patches
        if p.on not in by_name
    ]
    problems += [
        Problem(f"patch {p.name}", f"{p.area_m2:g} m2 is not an area", "Give 0 or more.")
        for p in patches
        if not p.area_m2 >= 0
    ]
    problems += [
        Problem(
            f"surface {s.name}",
            f"the treatment on it, {_taken(s, patches):.2f} m2, is more than the {s.area_m2:.2f} m2 it has",
            "Check the frames and the openings.",
        )
        for s in room.surfaces
        if _taken(s, patches) > s.area_m2 + AREA_SLACK_M2
    ]
    refuse_all(problems)
    left = [replace(s, area_m2=max(s.area_m2 - _taken(s, patches), 0.0)) for s in room.surfaces]
    new = [Surface(f"frame {p.name}", p.area_m2, p.alpha, by_name[p.on].shares, p.source) for p in patches]
    return replace(room, surfaces=(*left, *new), bodies=(*room.bodies, *bodies))


KINDS = {1: "axial", 2: "tangential", 3: "oblique"}


@dataclass(frozen=True, slots=True, order=True)
class Mode:
    """One mode: its frequency in Hz, and half-waves along x, y, z."""

    f_hz: float
    order: tuple[int, int, int]

    @property
    def kind(self) -> str:
        """Return 'axial', 'tangential' or 'oblique'."""
        return KINDS[sum(n > 0 for n in self.order)]


def mode_hz(
    size_m: tuple[float, float, float], order: tuple[int, int, int], c: float = SPEED_OF_SOUND_M_S
) -> float:
    """Return c/2 x sqrt(sum (n/L)^2), Hz. Source: Rayleigh; Kuttruff, Room Acoustics."""
    return c / 2 * math.hypot(*(n / length for n, length in zip(order, size_m, strict=True)))


def modes(
    size_m: tuple[float, float, float], to_hz: float, c: float = SPEED_OF_SOUND_M_S
) -> tuple[Mode, ...]:
    """Return every mode of a box up to a frequency, lowest first."""
    counts = [range(int(2 * to_hz * length / c) + 1) for length in size_m]
    found = [Mode(mode_hz(size_m, (i, j, k), c), (i, j, k)) for i, j, k in product(*counts) if i + j + k]
    return tuple(sorted(m for m in found if m.f_hz <= to_hz))


def lowest(
    size_m: tuple[float, float, float], number: int, c: float = SPEED_OF_SOUND_M_S
) -> tuple[Mode, ...]:
    """Return the lowest modes of a box, as many as are asked for, lowest first.

    Args:
        size_m: length, width and height, m.
        number: how many.
        c: speed of sound, m/s.
    """
    to_hz = c / 2 * sum(1 / length for length in size_m)
    while len(found := modes(size_m, to_hz, c)) < number:
        to_hz *= 2
    return found[:number]

"""Air: its speed of sound and what it absorbs."""

import math

from estimator.acoustics.bands import OCTAVES_HZ, SPEED_OF_SOUND_M_S, Six, six

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

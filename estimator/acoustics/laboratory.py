"""How far two laboratories may disagree on one absorber: what no estimate can be better than."""

from estimator.acoustics.bands import Six, six

_SLOPE = (0.180, 0.090, 0.050, 0.040, 0.035, 0.030)
_FLOOR = (0.015, 0.015, 0.015, 0.015, 0.021, 0.040)
COVERAGE = 2.0


def reproducibility(alpha: Six) -> Six:
    """Return the expanded uncertainty (k = 2) of a measured coefficient per band 125..4000 Hz.

    U = 2 (m alpha + n), with m and n of the third octaves at the octaves' centres.

    Source: ISO 12999-2:2020, eq. 1, table 1 and 3 (read in a published copy).
    """
    return six([COVERAGE * (m * a + n) for m, a, n in zip(_SLOPE, alpha, _FLOOR, strict=True)])

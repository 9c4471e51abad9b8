"""Which costs a plan can have at all: sums of the stocks' prices. It lifts a bound to the next such sum."""

from collections.abc import Callable

from estimator.cutting.sticks.case import Case
from estimator.cutting.sticks.knapsack import copies

_LARGEST = 4_000_000


def _payable(case: Case, most: int) -> int:
    """Return a whole number whose bit n says whether n can be paid by some sticks, n up to `most`."""
    mask = (1 << (most + 1)) - 1
    bits = 1
    for cost, limit in zip(case.costs, case.limits, strict=True):
        if 0 < cost <= most:
            sticks = most // cost if limit is None else min(limit, most // cost)
            for multiple in copies(sticks):
                bits |= (bits << (cost * multiple)) & mask
    return bits


def lift_to(case: Case, most: int) -> Callable[[int], int]:
    """Return the function that lifts a whole bound to the least cost that sticks can add up to.

    Args:
        case: the job.
        most: the cost of a plan already known; no bound is lifted above it.
    """
    if most > _LARGEST:
        return lambda bound: min(bound, most)
    bits = _payable(case, most)

    def lift(bound: int) -> int:
        if bound >= most:
            return most
        above = bits >> max(0, bound)
        return max(0, bound) + (above & -above).bit_length() - 1

    return lift

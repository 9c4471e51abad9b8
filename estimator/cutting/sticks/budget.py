"""Work counted rather than timed, so that a plan stops at the same place on every machine."""

from dataclasses import dataclass

import highspy
from highspy.highs import HighsCallbackEvent

CHECK = 2_500_000
"""About how many nanoseconds HiGHS spends on an integer program between two looks at its limits."""
_SEARCHES_WITHIN = ("rens", "rins", "root_reduced_cost")


@dataclass(slots=True)
class Work:
    """Work done, about a nanosecond each."""

    done: int = 0


def run_within(highs: highspy.Highs, checks: int, *, deep: bool) -> int:
    """Run an integer program until it has looked at its limits `checks` times; return the work done.

    It looks at every node, every round of cuts and most steps of its heuristics, in the same order each time.

    Args:
        highs: the program.
        checks: the most looks.
        deep: let it search smaller integer programs within this one, which it does without a look.
    """
    seen = 0

    def look(event: HighsCallbackEvent) -> None:
        nonlocal seen
        seen += 1
        if seen >= checks:
            event.interrupt()

    for name in _SEARCHES_WITHIN:
        highs.setOptionValue(f"mip_heuristic_run_{name}", deep)
    highs.cbMipInterrupt += look
    highs.run()
    return seen * CHECK

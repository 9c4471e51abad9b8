"""Run the published strip packing cases and write what was reached into docs/validation/rolls.md.

Run: python -m tests.benchmarks.strip_instances
"""

import time
from pathlib import Path

from estimator.core.units import MM
from estimator.cutting.rolls.plan import plan_roll
from estimator.cutting.verify.rolls import verify_roll
from tests.published.strip_data import StripCase, strip_cases

REPORT = Path(__file__).parents[2] / "docs" / "validation" / "rolls.md"

HEAD = """# Rolls: what the planner reaches

Published cases of E. Hopper and B. C. H. Turton, *An empirical investigation of meta-heuristic and heuristic
algorithms for a 2D packing problem*, European Journal of Operational Research 128 (2001) 34-57, classes C1 to
C7. Their pieces fill a rectangle without waste, so the least length is known: area over width. A plan by
straight cuts from edge to edge may need more than a free layout, and one without turning more than one with.

Written by `python -m tests.benchmarks.strip_instances`; every plan was checked by `verify_roll`, which shares
no code with the planner. Seconds are those of the machine that wrote the table.

| case | pieces | turning | least | reached | over | bound | seconds |
| --- | ---: | --- | ---: | ---: | ---: | ---: | ---: |
"""


def row(case: StripCase, *, may_turn: bool) -> str:
    pieces, width = case.pieces(may_turn=may_turn), case.width * MM
    began = time.perf_counter()
    plan = plan_roll(pieces, width)
    seconds = time.perf_counter() - began
    faults = verify_roll(plan, pieces, width)
    if faults:
        raise SystemExit(f"{case.name}: {faults[0]}")
    reached, bound = plan.length / MM, plan.bound / MM
    over = reached / case.least_length - 1
    cells = (
        case.name,
        len(pieces),
        "yes" if may_turn else "no",
        case.least_length,
        f"{reached:g}",
        f"{over:.1%}",
        f"{bound:g}",
        f"{seconds:.1f}",
    )
    return "| " + " | ".join(map(str, cells)) + " |"


def main() -> None:
    rows = [row(case, may_turn=may_turn) for may_turn in (True, False) for case in strip_cases()]
    REPORT.parent.mkdir(parents=True, exist_ok=True)
    REPORT.write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

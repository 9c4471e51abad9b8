"""How large a job may be: what no shop builds in one job is refused before minutes are spent on it."""

from collections.abc import Sequence

from estimator.core.errors import Problem
from estimator.core.units import METRE
from estimator.job.description import Job
from estimator.job.description_pieces import Treatment
from estimator.layout.sites import Site

MOST_FRAMES = 240
"""In one layout: a workbook of as many is still read back within its limits."""
MOST_LAID_OUT = 1_000
"""With those of every option."""
MOST_RUN_M, MOST_AREA_M2 = 500, 1_000
SECONDS_A_FRAME = 0.15
"""Processor time of an estimate, measured on walls of 100 m and 300 m and on 100 and 200 screens."""
_SPLIT = "Split it into several jobs."


def refusals(job: Job, places: Sequence[Site]) -> list[Problem]:
    """Return why a job is too large, as far as it shows before anything is laid out."""
    run = sum(site.whole.width for site in places) / METRE
    area = sum(site.whole.area for site in places) / METRE**2
    found = frames(job, 0)
    if run > MOST_RUN_M:
        found.append(Problem("job", f"treats {run:,.0f} m of wall; at most {MOST_RUN_M} m", _SPLIT))
    if area > MOST_AREA_M2:
        found.append(Problem("job", f"treats {area:,.0f} m² of wall; at most {MOST_AREA_M2:,} m²", _SPLIT))
    return found


def frames(job: Job, on_walls: int) -> list[Problem]:
    """Return why a job of so many frames on walls is too large, with its options or without."""
    count = on_walls + sum(len(p.frame_names) for _, _, p in job.pieces() if not isinstance(p, Treatment))
    if count > MOST_FRAMES:
        return [Problem("job", f"has at least {count:,} frames; at most {MOST_FRAMES} are laid out", _SPLIT)]
    if (laid_out := count * (1 + len(job.options))) > MOST_LAID_OUT:
        what = (
            f"has at least {laid_out:,} frames with its {len(job.options)} options; at most {MOST_LAID_OUT:,}"
        )
        return [Problem("job", what, "Leave options out, or split it into several jobs.")]
    return []


def seconds(count: int, options: int) -> float:
    """Return about how long an estimate of `count` frames and that many options takes."""
    return SECONDS_A_FRAME * count * (1 + options)

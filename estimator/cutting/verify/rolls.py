"""Checks a plan of a roll from nothing but the plan, the wish and the roll; shares no code with planners."""

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import pairwise

from estimator.core.errors import Problem
from estimator.core.units import Nm
from estimator.cutting.plans import PlacedCloth, RollPiece, RollPlan, Seam
from estimator.cutting.verify.faults import fault
from estimator.cutting.verify.geometry import box, cuttable, outside, overlaps

_Wanted = tuple[str, Nm, Nm, bool]


def _seam_faults(seam: Seam, piece: RollPiece) -> Iterator[Problem]:
    where = f"piece {seam.piece!r}"
    if not set(seam.at) <= set(piece.seam_at):
        yield fault(where, "is seamed where no seam may fall")
    if list(seam.at) != sorted(set(seam.at)) or not all(0 < at < piece.width for at in seam.at):
        yield fault(where, "has seams out of order or outside it")
    if len(seam.parts) != len(seam.at) + 1 or len(seam.parts) < 2:  # noqa: PLR2004 - a seam joins two
        yield fault(where, "has not one part more than seams")


def _wanted(plan: RollPlan, pieces: Sequence[RollPiece]) -> tuple[list[_Wanted], list[Problem]]:
    """Return what must lie on the roll, seamed pieces in their parts, and what is wrong with the seams."""
    seams = {seam.piece: seam for seam in plan.seams}
    faults: list[Problem] = []
    if len(seams) != len(plan.seams):
        faults.append(fault("seams", "a piece is seamed twice"))
    wanted: list[_Wanted] = []
    for piece in pieces:
        seam = seams.get(piece.name)
        if seam is None:
            wanted.append((piece.name, piece.width, piece.length, piece.may_turn))
            continue
        faults += _seam_faults(seam, piece)
        edges = (0, *seam.at, piece.width)
        turned_in = [0, *(piece.seam_allowance for _ in seam.at), 0]
        widths = [
            after - before + turned_in[n] + turned_in[n + 1]
            for n, (before, after) in enumerate(pairwise(edges))
        ]
        wanted += [
            (name, width, piece.length, piece.may_turn)
            for name, width in zip(seam.parts, widths, strict=False)
        ]
    unknown = sorted(set(seams) - {piece.name for piece in pieces})
    return wanted, faults + [fault(f"piece {name!r}", "is seamed and not wanted") for name in unknown]


def _piece_faults(wanted: Sequence[_Wanted], placed: Sequence[PlacedCloth]) -> Iterator[Problem]:
    """Return pieces that are missing, too many, of another size, or turned against their direction."""
    straight = Counter((name, width, length) for name, width, length, _ in wanted)
    may_turn = Counter((name, width, length) for name, width, length, turn in wanted if turn)
    got, turned = Counter[tuple[str, Nm, Nm]](), Counter[tuple[str, Nm, Nm]]()
    for spot in placed:
        size = (spot.length, spot.width) if spot.turned else (spot.width, spot.length)
        got[spot.name, *size] += 1
        turned[spot.name, *size] += spot.turned
    for rest, what in ((straight - got, "not cut at their size"), (got - straight, "cut and not wanted")):
        yield from (fault(f"piece {name!r}", f"{count} are {what}") for (name, _, _), count in rest.items())
    for name, _, _ in turned - may_turn:
        yield fault(f"piece {name!r}", "is turned against its direction")


def _place_faults(plan: RollPlan, step: Nm) -> Iterator[Problem]:
    grown = [
        box(spot.name, spot.x, spot.y, spot.width, -(-spot.length // step) * step) for spot in plan.placed
    ]
    for out in outside(grown, plan.roll_width, plan.length):
        yield fault("roll", f"{out.name!r} reaches beyond the roll or the length used, or has no size")
    for one, other in overlaps(grown):
        yield fault("roll", f"{one!r} and {other!r} overlap")
    for spot in plan.placed:
        if spot.y % step:
            yield fault("roll", f"{spot.name!r} does not begin at a whole repeat")
    if not cuttable(grown):
        yield fault("roll", "cannot be cut by cuts from edge to edge")
    used = max((b.top for b in grown), default=0)
    if used != plan.length:
        yield fault("length", f"said to be {plan.length} nm and is {used} nm")


def verify_roll(
    plan: RollPlan, pieces: Sequence[RollPiece], roll_width: Nm, step: Nm = 1
) -> tuple[Problem, ...]:
    """Return everything wrong with `plan`; empty where it is sound.

    Every piece lies on the roll once, whole or in parts seamed where a seam may fall, in an allowed
    direction, beginning at a whole repeat; none overlaps another; cuts from edge to edge part them.
    """
    faults = [] if plan.roll_width == roll_width else [fault("roll", "is not as wide as the one asked for")]
    wanted, seam_faults = _wanted(plan, pieces)
    faults += [*seam_faults, *_piece_faults(wanted, plan.placed), *_place_faults(plan, step)]
    if plan.bound > plan.length or (plan.proven and plan.bound != plan.length):
        faults.append(fault("bound", f"{plan.bound} nm does not agree with the length {plan.length} nm"))
    return tuple(faults)

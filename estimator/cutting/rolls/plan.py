"""Pieces of cloth laid on one roll, of one dye lot, to use the least length of it.

Nap and pattern fix a piece's direction; a pattern also fixes where along the roll a piece may begin, so
lengths grow to whole repeats. Pieces wider than the roll are seamed where a stud backs the seam.

The bound: seen along the roll, every line across it meets pieces whose widths add up to no more than the
roll's: a bar. Cutting the roll's width as one-dimensional stock, with the pieces' lengths as demand,
therefore never takes more than a real plan. The linear programme of that problem, with a turn left to its
choice, is the bar bound; it is at least the area over the width, and the sum of the lengths of pieces wider
than half the roll.
"""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import gcd
from typing import Literal, TypeAlias

import numpy as np

from estimator.core.errors import InputError, Problem, refuse
from estimator.core.units import Nm, format_length
from estimator.cutting.guillotine import Laid, Option
from estimator.cutting.knapsack import fill
from estimator.cutting.plans import PlacedCloth, RollPiece, RollPlan, Seam
from estimator.cutting.programme import INFINITY, Programme, SolverError
from estimator.cutting.rolls.search import Progress, Wanted, search, used_length

_MOST_WIDTHS = 400
"""Different widths up to which the bar bound is worked out: a row of the programme each."""
_MOST_CELLS = 6000
"""Cells that the roll's width is divided into: a third of a millimetre or less."""
_ROUNDS = 200
"""Bars added; what is proven after so many still holds."""
_GRAIN = 1_000_000
"""Whole numbers that the worth of a bar is told in."""
_MOST_BITS, _MOST_BIT_WORK = 2_000_000, 4_000_000_000
"""Lengths up to which sums of lengths are told apart, and the work in that: a second or so."""


def _area_bound(ways: Sequence[Sequence[Option]], counts: Sequence[int], width: Nm) -> Nm:
    area = sum(n * min(o.width * o.height for o in way) for way, n in zip(ways, counts, strict=True))
    return -(-area // width)


def _wide_bound(ways: Sequence[Sequence[Option]], counts: Sequence[int], width: Nm) -> Nm:
    """Return the sum of the lengths of pieces that no other of them can lie beside."""
    total = 0
    for way, number in zip(ways, counts, strict=True):
        if all(2 * option.width > width for option in way):
            total += number * min(option.height for option in way)
    return total


def _programme(ways: Sequence[Sequence[Option]], counts: Sequence[int], row: dict[Nm, int]) -> Programme:
    """Return the linear programme: a row a width; a column a kind that may turn, and the bars to come."""
    needs, turns, highest = np.zeros(len(row)), [], max(option.height for way in ways for option in way)
    for (first, *turned), number in zip(ways, counts, strict=True):
        needs[row[first.width]] += number * first.height / highest
        for second in turned:
            turns.append(np.zeros(len(row)))
            turns[-1][row[first.width]] += number * first.height / highest
            turns[-1][row[second.width]] -= number * second.height / highest
    model = Programme(needs.tolist(), [INFINITY] * len(row))
    if turns:
        model.add(np.zeros(len(turns)), np.array(turns))
        model.bound_columns(np.ones(len(turns)))
    return model


def _by_worth(
    ways: Sequence[Sequence[Option]], counts: Sequence[int], worth: Sequence[int], row: dict[Nm, int]
) -> int:
    """Return what all pieces are worth, each turned as it is worth least, whatever the solver's rounding."""
    return sum(
        number * min(worth[row[option.width]] * option.height for option in way)
        for way, number in zip(ways, counts, strict=True)
    )


def _bar_bound(ways: Sequence[Sequence[Option]], counts: Sequence[int], width: Nm) -> Nm:
    often: Counter[Nm] = Counter()
    for way, number in zip(ways, counts, strict=True):
        often.update({option.width: number for option in way})
    widths = sorted(often, reverse=True)
    row = {w: at for at, w in enumerate(widths)}
    # Cells rounded down: what fits in truth fits the cells, so a bar is worth no more than is said.
    cell = max(gcd(width, *widths), -(-width // _MOST_CELLS))
    cells, most = [w // cell for w in widths], [min(often[w], width // w) for w in widths]
    model, best = _programme(ways, counts, row), 0
    model.add(np.ones(len(widths)), np.diag(most))
    for _ in range(_ROUNDS):
        try:
            duals = model.solve().duals
        except SolverError:
            break
        worth = np.floor(np.clip(duals, 0, None) * _GRAIN).astype(np.int64)
        table = fill(cells, most, worth, width // cell)
        bar = int(table.best[-1])
        best = max(best, -(-_by_worth(ways, counts, worth.tolist(), row) // bar) if bar else 0)
        if bar <= _GRAIN * (1 + 1e-6):
            break
        model.add([1.0], table.counts(width // cell)[None, :])
    return best


def roll_bound(ways: Sequence[Sequence[Option]], counts: Sequence[int], width: Nm) -> Nm:
    """Return a length that no plan goes below.

    Args:
        ways: for each kind of piece the one or two positions in which it fits across the roll.
        counts: how many of each kind.
        width: width of the roll.
    """
    if not ways:
        return 0
    bound = max(_area_bound(ways, counts, width), _wide_bound(ways, counts, width))
    if len({option.width for way in ways for option in way}) <= _MOST_WIDTHS:
        bound = max(bound, _bar_bound(ways, counts, width))
    return _next_stack(ways, counts, bound)


def _next_stack(ways: Sequence[Sequence[Option]], counts: Sequence[int], bound: Nm) -> Nm:
    """Return the bound raised to the next sum of the lengths of some pieces.

    Let every piece slide towards the beginning of the roll until it meets another: the one that reaches
    farthest then ends a chain of pieces, each beginning where the one before it ends.
    """
    end = bound + max(option.height for way in ways for option in way)
    if end > _MOST_BITS or sum(counts) * end > _MOST_BIT_WORK:
        return bound
    sums, mask = 1, (1 << (end + 1)) - 1
    for way, number in zip(ways, counts, strict=True):
        for _ in range(number):
            more = 0
            for option in way:
                more |= sums << option.height
            sums |= more & mask
    above = sums >> bound
    return bound + (above & -above).bit_length() - 1 if above else bound


Preference: TypeAlias = Literal["full widths", "even parts"]
PREFERENCES: tuple[Preference, ...] = ("full widths", "even parts")


def fits(piece: RollPiece, roll_width: Nm) -> bool:
    """Return whether the piece lies on the roll in one part, turned if it may."""
    return piece.width <= roll_width or (piece.may_turn and piece.length <= roll_width)


def _places(piece: RollPiece) -> list[Nm]:
    return [0, *sorted({x for x in piece.seam_at if 0 < x < piece.width}), piece.width]


def _part(piece: RollPiece, start: Nm, end: Nm) -> Nm:
    """Return the cut width of the part from `start` to `end`: turned in wherever it is seamed."""
    return end - start + piece.seam_allowance * ((start > 0) + (end < piece.width))


def seam_places(piece: RollPiece, roll_width: Nm, preference: Preference = "full widths") -> tuple[Nm, ...]:
    """Return where the piece is seamed: the fewest places with no part wider than the roll.

    Args:
        piece: a piece wider than the roll.
        roll_width: width of the roll.
        preference: 'full widths' makes parts as wide as the roll allows from the left on, 'even parts'
            makes the widest part as narrow as can be.

    Raises:
        InputError: the places where a seam may fall leave a part wider than the roll.
    """
    places = _places(piece)
    least: dict[Nm, tuple[int, Nm, tuple[Nm, ...]]] = {0: (0, 0, ())}
    for place in places[1:]:
        ways = []
        for before in places:
            part = _part(piece, before, place)
            if before < place and part <= roll_width and before in least:
                seams, worst, path = least[before]
                badness = (
                    max(worst, part) if preference == "even parts" else worst + (place == piece.width) * part
                )
                ways.append((seams + 1, badness, (*path, place)))
        if ways:
            least[place] = min(ways)
    if piece.width not in least:
        raise _no_seam(piece, places, roll_width)
    return least[piece.width][2][:-1]


def _no_seam(piece: RollPiece, places: Sequence[Nm], roll_width: Nm) -> Exception:
    wide = max(_part(piece, a, b) for a, b in pairwise(places))
    what = (
        f"{format_length(piece.width)} wide, more than the roll's {format_length(roll_width)}, and the "
        f"places for a seam leave a part of {format_length(wide)}"
    )
    return refuse(
        f"piece {piece.name}", what, "Use a wider roll, allow a turn, or put a stud where a seam can fall."
    )


def split(
    pieces: Sequence[RollPiece], roll_width: Nm, preference: Preference = "full widths"
) -> tuple[list[RollPiece], tuple[Seam, ...]]:
    """Return the pieces to cut, wide ones in parts ``name.1``, ``name.2``, and the seams.

    Raises:
        InputError: a piece that fits in no way.
    """
    parts: list[RollPiece] = []
    seams: list[Seam] = []
    for piece in pieces:
        if fits(piece, roll_width):
            parts.append(piece)
            continue
        at = seam_places(piece, roll_width, preference)
        widths = [_part(piece, a, b) for a, b in pairwise((0, *at, piece.width))]
        names = tuple(f"{piece.name}.{number}" for number in range(1, len(widths) + 1))
        parts += [replace(piece, name=n, width=w, seam_at=()) for n, w in zip(names, widths, strict=True)]
        seams.append(Seam(piece.name, names, at))
    return parts, tuple(seams)


_WORK, _MOST_TRIES, _TRIES_A_PIECE = 5_000_000, 8_000, 120
"""Pieces tried in all, layings, and layings a piece: more found little (own judgement)."""
_WALL = 60
"""Pieces that a wall has at most; longer lists may take longer."""

Kind: TypeAlias = tuple[Nm, Nm, bool]
_Cut: TypeAlias = tuple[Sequence[RollPiece], tuple[Seam, ...]]


@dataclass(frozen=True, slots=True)
class _Task:
    """Kinds of pieces; `ways` are the positions that fit, grown to the repeat and in units."""

    kinds: tuple[Kind, ...]
    counts: tuple[int, ...]
    ways: tuple[tuple[Option, ...], ...]
    width: int
    unit: Nm


def _kind(piece: RollPiece) -> Kind:
    return piece.width, piece.length, piece.may_turn


def _checked(pieces: Sequence[RollPiece], roll_width: Nm, step: Nm) -> None:
    problems = []
    if roll_width <= 0:
        problems.append(Problem("roll width", "no width", "Give a roll width greater than 0."))
    if step <= 0:
        problems.append(Problem("repeat", "not greater than 0", "Give the pattern repeat, or leave it out."))
    seen: set[tuple[Nm, Nm]] = set()
    for piece in pieces:
        if min(piece.width, piece.length) <= 0 and (piece.width, piece.length) not in seen:
            seen.add((piece.width, piece.length))
            size = f"{format_length(piece.width)} x {format_length(piece.length)}"
            fix = "Give a width and a length greater than 0."
            problems.append(Problem(f"piece {piece.name}", f"{size} is nothing to cut", fix))
    if problems:
        raise InputError(problems)


def _ways(kind: Kind, roll_width: Nm, step: Nm) -> list[tuple[Nm, Nm]]:
    """Return the positions of a piece across and along the roll that fit, lengths grown to the repeat."""
    width, length, may_turn = kind
    both = [(width, length), (length, width)] if may_turn and width != length else [(width, length)]
    return [(across, -(-along // step) * step) for across, along in both if across <= roll_width]


def _task(parts: Sequence[RollPiece], roll_width: Nm, step: Nm) -> _Task:
    counts: dict[Kind, int] = defaultdict(int)
    for part in parts:
        counts[_kind(part)] += 1
    kinds = tuple(sorted(counts, reverse=True))
    sizes = [_ways(kind, roll_width, step) for kind in kinds]
    unit = gcd(roll_width, *(side for way in sizes for size in way for side in size))
    ways = tuple(
        tuple(Option(across // unit, along // unit, number) for across, along in way)
        for number, way in enumerate(sizes)
    )
    return _Task(kinds, tuple(counts[k] for k in kinds), ways, roll_width // unit, unit)


def _tries(wanted: Wanted) -> int:
    pieces = sum(wanted.counts)
    work = _WORK if pieces <= _WALL else 3 * _WORK
    return max(1, min(_MOST_TRIES, _TRIES_A_PIECE * pieces, work // (pieces * len(wanted.options))))


def _placed(task: _Task, laid: Sequence[Laid], parts: Sequence[RollPiece]) -> tuple[PlacedCloth, ...]:
    """Return the pieces by name where they lie, in the order they come off the roll."""
    waiting: dict[Kind, list[RollPiece]] = defaultdict(list)
    for part in reversed(parts):
        waiting[_kind(part)].append(part)
    placed = []
    for spot in sorted(laid, key=lambda spot: (spot.y, spot.x)):
        kind = task.kinds[spot.kind]
        part = waiting[kind].pop()
        turned = spot.width * task.unit != kind[0]
        size = (part.length, part.width) if turned else (part.width, part.length)
        placed.append(PlacedCloth(part.name, spot.x * task.unit, spot.y * task.unit, *size, turned))
    return tuple(placed)


def _plan(cut: _Cut, roll_width: Nm, step: Nm, progress: Progress | None, bought_by: Nm) -> RollPlan:
    parts, seams = cut
    task = _task(parts, roll_width, step)
    bound = roll_bound(task.ways, task.counts, task.width)
    options = tuple(option for way in task.ways for option in way)
    buys = -(-bound * task.unit // bought_by) * bought_by
    wanted = Wanted(options, task.counts, task.width, max(bound, buys // task.unit))
    laid = search(wanted, _tries(wanted), progress)
    length = used_length(laid)
    return RollPlan(
        roll_width,
        _placed(task, laid, parts),
        seams,
        length * task.unit,
        bound * task.unit,
        proven=length <= bound,
        method="straight cuts, many starts",
    )


def plan_roll(
    pieces: Sequence[RollPiece],
    roll_width: Nm,
    step: Nm = 1,
    progress: Progress | None = None,
    *,
    bought_by: Nm = 1,
) -> RollPlan:
    """Return every piece on the roll, the least length found.

    Args:
        pieces: the cloth wanted, all of one colour and dye lot.
        roll_width: usable width of the roll.
        step: the pattern repeat along the roll: every piece begins at a whole number of repeats. 1 for none.
        progress: told the share of the work done, from 0 to 1.
        bought_by: the step cloth is bought by; the search ends where a shorter plan would buy no less.

    Raises:
        InputError: a size that is none, or a piece wider than the roll with no place for a seam.
    """
    _checked(pieces, roll_width, step)
    if not pieces:
        return RollPlan(roll_width, (), (), 0, 0, proven=True, method="nothing to cut")
    plans = []
    for preference in PREFERENCES:
        parts, seams = split(pieces, roll_width, preference)
        cut = (parts, seams)
        plans.append(_plan(cut, roll_width, step, progress, bought_by))
        if not seams:
            break
    return min(plans, key=lambda plan: plan.length)

"""Cloth wider than its roll: split at the places where a seam may fall, in as few parts as can be."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Literal, TypeAlias

from estimator.core.errors import refuse
from estimator.core.units import Nm, format_length
from estimator.cutting.plans import RollPiece, Seam

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

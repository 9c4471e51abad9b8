"""Everything the room needs cut, from common pools: one plan a product, across all walls and pieces."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import TypeVar

from estimator.catalogue.records import Catalogue
from estimator.core.units import Nm
from estimator.cutting.boards import plan_boards
from estimator.cutting.plans import (
    BoardPlan,
    Hole,
    RollPiece,
    RollPlan,
    SheetStock,
    StickPiece,
    StickPlan,
    StickStock,
)
from estimator.cutting.rolls import plan_roll
from estimator.cutting.sticks import plan_sticks
from estimator.layout.records import Face, Frame, Layout, Strip


@dataclass(frozen=True, slots=True)
class RoomPlans:
    """Cutting plans by product; cloth by (product, colour), for one dye lot is one roll."""

    sticks: Mapping[str, StickPlan]
    boards: Mapping[str, BoardPlan]
    rolls: Mapping[tuple[str, str], RollPlan]


def cut_room(layout: Layout, catalogue: Catalogue) -> RoomPlans:
    """Return the plans for every stick, board and roll of a layout.

    Raises:
        InputError: a piece that fits no stock.
    """
    return RoomPlans(
        MappingProxyType(
            {p: _sticks(p, pieces, catalogue) for p, pieces in _stick_pieces(layout, catalogue)}
        ),
        MappingProxyType({p: _boards(p, holes, catalogue) for p, holes in _holes(layout)}),
        MappingProxyType({k: _roll(k[0], faces, catalogue) for k, faces in _faces(layout)}),
    )


K = TypeVar("K")
V = TypeVar("V")


def _grouped(pairs: list[tuple[K, V]]) -> list[tuple[K, list[V]]]:
    groups: dict[K, list[V]] = {}
    for key, value in pairs:
        groups.setdefault(key, []).append(value)
    return list(groups.items())


def _stick_pieces(layout: Layout, catalogue: Catalogue) -> list[tuple[str, list[StickPiece]]]:
    members = [(m.product, StickPiece(m.name, m.length)) for f in layout.frames for m in f.members]
    strips = [(s.product, piece) for s in layout.strips for piece in strip_pieces(s, catalogue)]
    return _grouped(members + strips)


def strip_pieces(strip: Strip, catalogue: Catalogue) -> tuple[StickPiece, ...]:
    """Return a strip as cut: whole, or in equal parts where it is longer than any stick."""
    longest = max(item.length or 0 for item in catalogue.sizes(strip.product))
    parts = -(-strip.length // longest) if longest else 1
    if parts <= 1:
        return (StickPiece(strip.name, strip.length),)
    part, odd = divmod(strip.length, parts)
    return tuple(StickPiece(f"{strip.name}/{i + 1}", part + (odd if i == 0 else 0)) for i in range(parts))


def _sticks(product: str, pieces: list[StickPiece], catalogue: Catalogue) -> StickPlan:
    stocks = [StickStock(i.key, i.length or 0, i.price) for i in catalogue.sizes(product)]
    practice = catalogue.practice
    return plan_sticks(pieces, stocks, practice.length("saw_kerf"), practice.length("stick_end_trim"))


def _holes(layout: Layout) -> list[tuple[str, list[Hole]]]:
    return _grouped(
        [
            (c.board, Hole(c.name, c.width, c.height, c.layers))
            for frame in layout.frames
            for c in frame.cavities
            if c.layers
        ]
    )


def _boards(product: str, holes: list[Hole], catalogue: Catalogue) -> BoardPlan:
    stocks = [
        SheetStock(i.key, i.width or 0, i.length or 0, i.price / i.content) for i in catalogue.sizes(product)
    ]
    practice = catalogue.practice
    return plan_boards(holes, stocks, practice.length("board_minimum"), 0, practice.length("board_stagger"))


def _faces(layout: Layout) -> list[tuple[tuple[str, str], list[Face]]]:
    return _grouped([((face.fabric, face.colour), face) for frame in layout.frames for face in frame.faces])


def _to_repeat(length: Nm, repeat: Nm) -> Nm:
    return -(-length // repeat) * repeat if repeat else length


def cloth_piece(face: Face, repeat: Nm) -> RollPiece:
    """Return a face as a piece of cloth: wrapped on every side, its length grown to the pattern repeat.

    Source: cut length = ceil(length / repeat) x repeat, common practice in drapery.
    """
    width, height = face.width + 2 * face.wrap, face.height + 2 * face.wrap
    seams = tuple(x + face.wrap for x in face.seams)
    return RollPiece(face.name, width, _to_repeat(height, repeat), face.turn_allowed, seams)


def _roll(product: str, faces: list[Face], catalogue: Catalogue) -> RollPlan:
    item = catalogue.sizes(product)[0]
    return plan_roll([cloth_piece(f, item.repeat) for f in faces], item.width or 0)


def board_pieces(plans: RoomPlans, frames: tuple[Frame, ...]) -> dict[str, int]:
    """Return the number of board pieces in each frame, by frame name."""
    owner = {cavity.name: frame.name for frame in frames for cavity in frame.cavities}
    counts = dict.fromkeys((f.name for f in frames), 0)
    for plan in plans.boards.values():
        for tile in plan.tiles:
            counts[owner[tile.hole]] += 1
    return counts


def roll_steps(plan: RollPlan, step: Nm) -> Decimal:
    """Return the steps bought of a roll: its length in whole steps, such as quarters of a yard."""
    return Decimal(-(-plan.length // step))

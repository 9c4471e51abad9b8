"""Everything the room needs cut, from common pools: one plan a product, across all walls and pieces."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from types import MappingProxyType
from typing import TypeAlias, TypeVar

from estimator.catalogue.records import Catalogue
from estimator.core.errors import OutputError, Problem, refuse
from estimator.core.units import INCH, MM, Nm, format_length
from estimator.cutting.boards.costs import Outlay
from estimator.cutting.boards.plan import plan_boards
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
from estimator.cutting.rolls.plan import plan_roll
from estimator.cutting.sticks.plan import plan_sticks
from estimator.cutting.verify.rolls import verify_roll
from estimator.cutting.verify.sheets import verify_boards
from estimator.cutting.verify.sticks import verify_sticks
from estimator.layout.records import Face, Frame, Layout, Strip

WORK_IS_FREE = Decimal(0)


@dataclass(frozen=True, slots=True)
class RoomPlans:
    """Cutting plans by product; cloth by (product, colour), for one dye lot is one roll."""

    sticks: Mapping[str, StickPlan]
    boards: Mapping[str, BoardPlan]
    rolls: Mapping[tuple[str, str], RollPlan]


def cut_room(layout: Layout, catalogue: Catalogue, board_piece: Decimal = WORK_IS_FREE) -> RoomPlans:
    """Return the plans for every stick, board and roll of a layout, each verified.

    Args:
        layout: the pieces.
        catalogue: prices and practice.
        board_piece: what one more piece of board costs in labour.

    Raises:
        InputError: a piece that fits no stock.
        OutputError: a plan that does not verify; it is a fault of the program, and nothing is made of it.
    """
    return RoomPlans(
        MappingProxyType(
            {p: _sticks(p, pieces, catalogue) for p, pieces in _stick_pieces(layout, catalogue)}
        ),
        MappingProxyType({p: _boards(p, holes, catalogue, board_piece) for p, holes in board_holes(layout)}),
        MappingProxyType({k: _roll(k[0], faces, catalogue) for k, faces in _faces(layout)}),
    )


KEPT = 64
"""Plans remembered within a run: options share every plan whose pieces are the same."""
Pieces: TypeAlias = tuple[StickPiece, ...]
K = TypeVar("K")
V = TypeVar("V")


def _sound(faults: tuple[Problem, ...]) -> None:
    if faults:
        raise OutputError(faults)


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
    """Return a strip as cut: whole, or in equal parts where it is longer than any stick.

    Raises:
        InputError: the parts would be shorter than the shop splices.
    """
    practice = catalogue.practice
    longest = max(item.length or 0 for item in catalogue.sizes(strip.product))
    longest -= practice.length("stick_end_trim")
    parts = -(-strip.length // longest) if longest > 0 else 1
    if parts <= 1:
        return (StickPiece(strip.name, strip.length),)
    part, odd = divmod(strip.length, parts)
    if part < (least := practice.length("casing_min_splice")):
        what = f"its parts would be {format_length(part)} long, and the shop splices none under "
        raise refuse(strip.name, what + format_length(least), "Add a longer stick to the prices.")
    return tuple(StickPiece(f"{strip.name}/{i + 1}", part + (odd if i == 0 else 0)) for i in range(parts))


def on_the_tape(length: Nm, stock: Nm) -> Nm:
    """Return a length as the saw is set: up to the next 1/64 in, or 1/2 mm where the stock is metric.

    Mitres and angled corners come out at lengths that no tape shows; a plan is made of lengths that it does.
    """
    step = MM // 2 if stock % MM == 0 else INCH // 64
    return -(-length // step) * step


def _sticks(product: str, wanted: list[StickPiece], catalogue: Catalogue) -> StickPlan:
    stocks = [StickStock(i.key, i.length or 0, i.price / i.content) for i in catalogue.sizes(product)]
    pieces = [StickPiece(p.name, on_the_tape(p.length, stocks[0].length)) for p in wanted]
    kerf, trim = catalogue.practice.length("saw_kerf"), catalogue.practice.length("stick_end_trim")
    return _stick_plan(tuple(pieces), tuple(stocks), kerf, trim)


@lru_cache(maxsize=KEPT)
def _stick_plan(pieces: Pieces, stocks: tuple[StickStock, ...], kerf: Nm, trim: Nm) -> StickPlan:
    plan = plan_sticks(pieces, stocks, kerf, trim)
    _sound(verify_sticks(plan, pieces, stocks, kerf, trim))
    return plan


def board_holes(layout: Layout) -> list[tuple[str, list[Hole]]]:
    """Return every board product with the cavities it fills."""
    return _grouped(
        [
            (c.board, Hole(c.name, c.width, c.height, c.layers))
            for frame in layout.frames
            for c in frame.cavities
            if c.layers
        ]
    )


def _boards(product: str, holes: list[Hole], catalogue: Catalogue, piece: Decimal) -> BoardPlan:
    """Return the plan for boards of one product; a knife takes no kerf. Packs are chosen by the takeoff."""
    sizes, practice = catalogue.sizes(product), catalogue.practice
    smallest = min(sizes, key=lambda i: i.content)
    price = smallest.price / smallest.content
    stock = SheetStock(smallest.key, smallest.width or 0, smallest.length or 0, price)
    packs = tuple((int(item.content), item.price) for item in sizes)
    rules = (practice.length("board_minimum"), practice.length("board_stagger"))
    return _board_plan(tuple(holes), stock, *rules, Outlay(piece, packs))


@lru_cache(maxsize=KEPT)
def _board_plan(
    holes: tuple[Hole, ...], stock: SheetStock, minimum: Nm, stagger: Nm, outlay: Outlay
) -> BoardPlan:
    plan = plan_boards(holes, stock, minimum, 0, stagger, outlay)
    _sound(verify_boards(plan, holes, (stock,), minimum, 0))
    return plan


def _faces(layout: Layout) -> list[tuple[tuple[str, str], list[Face]]]:
    return _grouped([((face.fabric, face.colour), face) for frame in layout.frames for face in frame.faces])


def cloth_piece(face: Face, seam_allowance: Nm) -> RollPiece:
    """Return a face as a piece of cloth, wrapped on every side, turned in at each seam by the allowance."""
    width, height = face.width + 2 * face.wrap, face.height + 2 * face.wrap
    seams = tuple(x + face.wrap for x in face.seams)
    return RollPiece(face.name, width, height, face.turn_allowed, seams, seam_allowance)


def _roll(product: str, faces: list[Face], catalogue: Catalogue) -> RollPlan:
    """Return the plan of one dye lot; lengths grow to the pattern's repeat.

    Source: cut length = ceil(length / repeat) x repeat, common practice in drapery.
    """
    item = catalogue.sizes(product)[0]
    bought_by = catalogue.practice.length("fabric_step")
    turned_in = catalogue.practice.length("seam_allowance")
    pieces = tuple(cloth_piece(f, turned_in) for f in faces)
    return _roll_plan(pieces, item.width or 0, item.repeat or 1, bought_by)


@lru_cache(maxsize=KEPT)
def _roll_plan(pieces: tuple[RollPiece, ...], width: Nm, step: Nm, bought_by: Nm) -> RollPlan:
    plan = plan_roll(pieces, width, step, bought_by=bought_by)
    _sound(verify_roll(plan, pieces, width, step))
    return plan


def seams(plans: RoomPlans, frames: tuple[Frame, ...]) -> dict[str, int]:
    """Return the number of seams in the cloth of each frame that has some, by frame name."""
    owner = {face.name: frame.name for frame in frames for face in frame.faces}
    sewn = [
        (owner[s.piece], len(s.at)) for plan in plans.rolls.values() for s in plan.seams if s.piece in owner
    ]
    return {name: sum(n for frame, n in sewn if frame == name) for name, _ in sewn}


def board_pieces(plans: RoomPlans, frames: tuple[Frame, ...]) -> dict[str, int]:
    """Return the number of board pieces in each frame, by frame name."""
    owner = {cavity.name: frame.name for frame in frames for cavity in frame.cavities}
    counts = dict.fromkeys((f.name for f in frames), 0)
    for plan in plans.boards.values():
        for tile in plan.tiles:
            counts[owner[tile.hole]] += 1
    return counts

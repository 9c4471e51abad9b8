"""Checks plans of sheets and boards from nothing but the plan, the wish and the stock.

Shares no code with the planners.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence

from estimator.core.errors import Problem
from estimator.core.units import Nm
from estimator.cutting.plans import BoardPlan, CutSheet, Hole, SheetPiece, SheetPlan, SheetStock, Tile
from estimator.cutting.verify.faults import fault, miscounted, miscut
from estimator.cutting.verify.geometry import Box, box, cuttable, outside, overlaps


def _boxes(sheet: CutSheet) -> list[Box]:
    pieces = [box(spot.piece.name, spot.x, spot.y, spot.width, spot.height) for spot in sheet.placed]
    return pieces + [box("offcut", o.x, o.y, o.width, o.height) for o in sheet.offcuts]


def _sheet_faults(where: str, sheet: CutSheet, kerf: Nm) -> Iterator[Problem]:
    if not sheet.placed:
        yield fault(where, "nothing is cut from it")
    boxes, stock = _boxes(sheet), sheet.stock
    for out in outside(boxes, stock.width, stock.height):
        yield fault(where, f"{out.name!r} reaches beyond the sheet or has no size")
    for one, other in overlaps(boxes, kerf):
        yield fault(where, f"{one!r} and {other!r} overlap or leave no room for the saw")
    if not cuttable(boxes, kerf):
        yield fault(where, "cannot be cut by cuts from edge to edge")
    grown = sum((b.right - b.left + kerf) * (b.top - b.bottom + kerf) for b in boxes)
    whole = (stock.width + kerf) * (stock.height + kerf)
    if grown > whole or (not kerf and grown != whole):
        yield fault(where, "pieces and offcuts do not add up to the sheet")
    for spot in sheet.placed:
        straight = (spot.width, spot.height) == (spot.piece.width, spot.piece.height)
        turned = (spot.height, spot.width) == (spot.piece.width, spot.piece.height)
        if not straight and not (turned and spot.piece.may_turn):
            yield fault(where, f"{spot.piece.name!r} is not cut to its size, or turned against its direction")


def verify_sheets(
    plan: SheetPlan, pieces: Sequence[SheetPiece], stocks: Sequence[SheetStock], kerf: Nm
) -> tuple[Problem, ...]:
    """Return everything wrong with `plan`; empty where it is sound.

    Every piece wanted is cut once, at its size and in an allowed direction; pieces and offcuts lie within
    their sheet, a kerf apart, and come out by cuts from edge to edge; sheets are on the list and within their
    limits.
    """
    faults: list[Problem] = []
    if plan.kerf != kerf:
        faults.append(fault("kerf", "is not the one asked for"))
    for at, sheet in enumerate(plan.sheets):
        faults += _sheet_faults(f"sheets[{at}]", sheet, kerf)
    cut = (spot.piece for sheet in plan.sheets for spot in sheet.placed)
    used = Counter(sheet.stock for sheet in plan.sheets)
    faults += miscut(pieces, cut, lambda piece: repr(piece.name))
    faults += [fault(f"sheet {stock.key!r}", "is not on the list") for stock in used if stock not in stocks]
    return (*faults, *miscounted(plan, used, Counter(stocks), "sheet"))


def _layer_faults(where: str, hole: Hole, tiles: Sequence[Tile], minimum: Nm) -> Iterator[Problem]:
    boxes = [box(tile.name, tile.x, tile.y, tile.width, tile.height) for tile in tiles]
    for out in outside(boxes, hole.width, hole.height):
        yield fault(where, f"{out.name!r} reaches beyond the cavity or has no size")
    for one, other in overlaps(boxes):
        yield fault(where, f"{one!r} and {other!r} overlap")
    if sum(tile.width * tile.height for tile in tiles) != hole.width * hole.height:
        yield fault(where, "the pieces do not fill the cavity")
    for tile in tiles:
        thin = tile.width < min(minimum, hole.width) or tile.height < min(minimum, hole.height)
        if thin:
            yield fault(where, f"{tile.name!r} is a sliver under the smallest piece")


def _hole_faults(hole: Hole, tiles: Sequence[Tile], minimum: Nm) -> Iterator[Problem]:
    where = f"cavity {hole.name!r}"
    by_layer: dict[int, list[Tile]] = defaultdict(list)
    for tile in tiles:
        by_layer[tile.layer].append(tile)
        if not tile.name.startswith(f"{hole.name}."):
            yield fault(where, f"{tile.name!r} is not named by its cavity")
    if set(by_layer) != set(range(1, hole.layers + 1)):
        yield fault(where, f"layers {sorted(by_layer)} instead of 1 to {hole.layers}")
    for layer, some in sorted(by_layer.items()):
        yield from _layer_faults(f"{where} layer {layer}", hole, some, minimum)


def verify_boards(
    plan: BoardPlan, holes: Sequence[Hole], stocks: Sequence[SheetStock], minimum: Nm, kerf: Nm
) -> tuple[Problem, ...]:
    """Return everything wrong with `plan`; empty where it is sound.

    Every layer of every cavity is filled exactly by tiles of which none is a sliver; tiles have their own
    names and are cut, each once, from the plan's sheets (see `verify_sheets`).
    """
    faults: list[Problem] = []
    by_hole: dict[str, list[Tile]] = defaultdict(list)
    for tile in plan.tiles:
        by_hole[tile.hole].append(tile)
    for hole in holes:
        faults += _hole_faults(hole, by_hole.pop(hole.name, []), minimum)
    faults += [fault(f"cavity {name!r}", "is not wanted") for name in by_hole]
    names = Counter(tile.name for tile in plan.tiles)
    faults += [fault(f"tile {name!r}", "has a name given twice") for name, n in names.items() if n > 1]
    if plan.boards != len(plan.sheets.sheets):
        faults.append(fault("boards", f"said to be {plan.boards} and are {len(plan.sheets.sheets)}"))
    if plan.bound > plan.boards or (plan.proven and plan.bound != plan.boards):
        faults.append(fault("bound", f"{plan.bound} does not agree with {plan.boards} boards"))
    wanted = [SheetPiece(tile.name, tile.width, tile.height) for tile in plan.tiles]
    return (*faults, *verify_sheets(plan.sheets, wanted, stocks, kerf))

"""The shop's paper: what is cut from which stick, board and roll, what each frame is built of, and labels."""

from collections.abc import Iterator, Sequence
from typing import Any

from estimator.catalogue.records import Item
from estimator.core.units import Display, format_length, mass_text, size_text
from estimator.cutting.plans import BoardPlan, RollPlan, StickPlan
from estimator.cutting.room import cloth_piece
from estimator.documents.cutting_drawings import roll_drawing, sheet_drawing
from estimator.documents.frame_drawings import FrameFill, fill_of, frame_drawing, numbered
from estimator.documents.quote import at_hand, heading, practice_texts
from estimator.documents.sections import make_up_sections
from estimator.documents.sticks import NO_SAW, Saw, saws, stick_groups
from estimator.layout.records import CutOut, Face, Frame, Member
from estimator.pipeline import Estimate

Row = dict[str, Any]


def shop(estimate: Estimate) -> Row:
    """Return everything the shop's paper shows."""
    scope, display = estimate.scope, estimate.units.display
    settings = saws(scope.layout, estimate.catalogue, display)
    return {
        **heading(estimate),
        "practice": practice_texts(estimate),
        "at_hand": at_hand(estimate, "shop"),
        "sections": make_up_sections(estimate),
        "sticks": [_product(p, plan, settings, estimate) for p, plan in scope.plans.sticks.items()],
        "boards": [_boards(p, plan, estimate) for p, plan in scope.plans.boards.items()],
        "rolls": [_roll(key, plan, estimate) for key, plan in scope.plans.rolls.items()],
        "frames": assembly(estimate),
        "labels": list(_labels(estimate, settings)),
    }


def _product(product: str, plan: StickPlan, settings: dict[str, Saw], estimate: Estimate) -> Row:
    display, item = estimate.units.display, estimate.catalogue.sizes(product)[0]
    groups = stick_groups(plan, settings, display)
    return {
        "product": product,
        "description": _described(estimate.catalogue.sizes(product)),
        "size": size_text(item.thickness or 0, item.width or 0, display),
        "kerf": format_length(plan.kerf, display),
        "trim": format_length(plan.end_trim, display) if plan.end_trim else "",
        "count": len(plan.sticks),
        "groups": [(g, g.drawing) for g in groups],
        "plain": all(group.plain for group in groups),
    }


def _described(sizes: Sequence[Item]) -> str:
    """Return what the sizes of a product have in common, their lengths left out."""
    heads = {item.description.rpartition(",")[0] for item in sizes}
    return heads.pop() if len(sizes) > 1 and len(heads) == 1 else sizes[0].description


def _boards(product: str, plan: BoardPlan, estimate: Estimate) -> Row:
    display = estimate.units.display
    sheets = []
    for number, sheet in enumerate(plan.sheets.sheets, 1):
        which, size = f"Board {number}", size_text(sheet.stock.width, sheet.stock.height, display)
        rows = [
            {"name": p.piece.name, "size": size_text(p.piece.width, p.piece.height, display)}
            for p in sheet.placed
        ]
        drawing = sheet_drawing(sheet, display, which)
        sheets.append({"which": which, "size": size, "drawing": drawing, "rows": rows})
    description = estimate.catalogue.sizes(product)[0].description
    return {"product": product, "description": description, "count": len(sheets), "sheets": sheets}


def _roll(key: tuple[str, str], plan: RollPlan, estimate: Estimate) -> Row:
    display, (product, colour) = estimate.units.display, key
    cloth = estimate.catalogue.sizes(product)[0].description
    rows = [
        {
            "name": p.name,
            "along": format_length(p.y, display),
            "across": format_length(p.x, display),
            "size": size_text(p.width, p.length, display),
            "turned": p.turned,
        }
        for p in sorted(plan.placed, key=lambda p: (p.y, p.x))
    ]
    return {
        "product": product,
        "colour": colour,
        "description": cloth,
        "width": format_length(plan.roll_width, display),
        "length": format_length(plan.length, display),
        "drawing": roll_drawing(plan, display, f"the roll of {cloth}"),
        "rows": rows,
    }


def assembly(estimate: Estimate) -> list[Row]:
    """Return what each frame is built of: members, boards, cloth and cut-outs, each with its place."""
    layout = estimate.scope.layout
    fill = fill_of(estimate.scope.plans, layout.frames)
    return [_frame(f, fill, f.cut_outs, estimate) for f in layout.frames]


def _frame(frame: Frame, fill: FrameFill, holes: Sequence[CutOut], estimate: Estimate) -> Row:
    display, catalogue = estimate.units.display, estimate.catalogue
    make_up = estimate.job.make_ups[frame.make_up]
    return {
        "name": frame.name,
        "make_up": frame.make_up,
        "size": size_text(frame.width, frame.height, display),
        "depth": format_length(frame.depth, display),
        "mass": mass_text(frame.mass_kg, display),
        "drawing": frame_drawing(frame, fill, display, holes),
        "members": [_member(n, m, frame, display) for n, m in numbered(frame)],
        "boards": list(_tiles(frame, fill, display)),
        "board": catalogue.sizes(make_up.board)[0].description,
        "gap": format_length(make_up.gap, display) if make_up.gap else "",
        "stacked": any(c.stacked for c in frame.cavities),
        "cloths": [_cloth(face, fill, estimate) for face in frame.faces],
        "holes": [
            {"name": h.name, "size": size_text(h.width, h.height, display),
             "left": format_length(h.x, display), "bottom": format_length(h.y, display)}
            for h in holes
        ],
    }  # fmt: skip


def _member(number: int, member: Member, frame: Frame, display: Display) -> Row:
    if member.role == "brace":
        place = f"fixed to the wall behind the {'left' if not member.x else 'right'} stile"
    elif member.upright:
        place = f"its left side {format_length(member.x, display)} from the frame's left"
    else:
        place = f"its lower side {format_length(member.y, display)} from the frame's bottom"
        place += f", starts {format_length(member.x, display)} from its left" if member.x else ""
    return {
        "number": number,
        "name": member.name.removeprefix(f"{frame.name} "),
        "role": "cleat" if member.role == "brace" else member.role,
        "length": format_length(member.length, display),
        "place": place,
    }


def _tiles(frame: Frame, fill: FrameFill, display: Display) -> Iterator[Row]:
    for cavity in frame.cavities:
        for tile in fill.tiles.get(cavity.name, ()):
            yield {
                "name": tile.name.removeprefix(f"{frame.name} cavity "),
                "layer": tile.layer if cavity.layers > 1 else "",
                "size": size_text(tile.width, tile.height, display),
                "left": format_length(cavity.x + tile.x, display),
                "bottom": format_length(cavity.y + tile.y, display),
            }


def _cloth(face: Face, fill: FrameFill, estimate: Estimate) -> Row:
    turned_in = estimate.catalogue.practice.length("seam_allowance")
    display, piece = estimate.units.display, cloth_piece(face, turned_in)
    told = f", {format_length(turned_in, display)} turned in on each side"
    seams = [format_length(at, display) + told for at in fill.seams.get(face.name, ())]
    return {
        "name": face.name,
        "cloth": estimate.catalogue.sizes(face.fabric)[0].description,
        "colour": face.colour,
        "size": size_text(piece.width, piece.length, display),
        "wrap": format_length(face.wrap, display),
        "seams": seams,
        "directed": not face.turn_allowed,
    }


def _labels(estimate: Estimate, settings: dict[str, Saw]) -> Iterator[Row]:
    """Yield a label for every piece of wood, board and cloth, in the order in which they are cut."""
    display, plans = estimate.units.display, estimate.scope.plans
    for stick_plan in plans.sticks.values():
        for stick in stick_plan.sticks:
            for piece in stick.pieces:
                saw = settings.get(piece.name, NO_SAW)
                cuts = dict.fromkeys((saw.start, saw.end, saw.along, f"rip {saw.rip}" if saw.rip else ""))
                note = "" if saw.plain else "; ".join(filter(None, cuts))
                yield {"name": piece.name, "size": format_length(piece.length, display), "note": note}
    for board_plan in plans.boards.values():
        for tile in board_plan.tiles:
            yield {"name": tile.name, "size": size_text(tile.width, tile.height, display), "note": "board"}
    for (product, colour), roll in plans.rolls.items():
        for placed in roll.placed:
            cloth = estimate.catalogue.sizes(product)[0].description.partition(",")[0]
            note = f"{cloth}, {colour}" if colour else cloth
            yield {"name": placed.name, "size": size_text(placed.width, placed.length, display), "note": note}

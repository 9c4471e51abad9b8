"""`battenbook cut-sheets` and `cut-roll`: rectangles cut from sheets, and cloth laid on a roll, drawn."""

from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Annotated, Any

import typer

from estimator.cli.cut import (
    Facts,
    Given,
    Metric,
    Out,
    Unfit,
    Unit,
    display_of,
    draw,
    length_of,
    made,
    measured,
    proof,
    sheet_of,
    shown,
)
from estimator.cli.output import Force, Result, Verbs
from estimator.core.units import Display, Nm
from estimator.cutting.piece_list import SHEET_COLUMNS
from estimator.cutting.plans import CutSheet, RollPiece, RollPlan, SheetPiece, SheetStock

Pieces = Annotated[
    Path, typer.Argument(metavar="FILE", help="CSV with the columns width, height, count, name.")
]


def _larger(stocks: list[SheetStock], *, may_turn: bool) -> Unfit:
    """Return what tells of pieces larger than every sheet; nothing where no sheets are known."""
    from estimator.cutting.sheets.plan import fits

    def unfit(sizes: tuple[Nm, ...]) -> tuple[str, str] | None:
        piece = SheetPiece("", sizes[0], sizes[1], may_turn)
        if not stocks or any(fits(piece, stock) for stock in stocks):
            return None
        return "larger than any sheet", "Add a larger sheet, or split the piece."

    return unfit


def _roll_result(plan: RollPlan, display: Display, out: Path | None) -> dict[str, Any]:
    return {
        **measured(display, length=plan.length, bound=plan.bound, roll_width=plan.roll_width),
        "count": len(plan.placed),
        "proven": plan.proven,
        "guillotine": True,
        "method": plan.method,
        "plan": [
            {
                "name": cloth.name,
                **measured(display, x=cloth.x, y=cloth.y, width=cloth.width, height=cloth.length),
                "turned": cloth.turned,
            }
            for cloth in plan.placed
        ],
        "file": str(out) if out else None,
    }


def _roll_facts(result: dict[str, Any]) -> Facts:
    return [
        ("Length", f"{result['length']} ({proof(result, 'no plan is shorter than')})"),
        ("Roll", f"{result['roll_width']} wide"),
        ("Pieces", str(result["count"])),
        ("Cuts", "straight, from edge to edge"),
        ("Found by", result["method"]),
    ]


def _size(one: dict[str, Any]) -> str:
    return f"{one['width']} x {one['height']}"


def _turned(piece: dict[str, Any]) -> str:
    return "  turned" if piece["turned"] else ""


def _roll_rows(result: dict[str, Any]) -> Iterator[str]:
    yield ""
    for p in result["plan"]:
        yield f"  {p['name']:<24} {_size(p):<26} at {p['x']} across, {p['y']} along{_turned(p)}"


def cut_roll(
    pieces: Pieces,
    roll_width: Annotated[str, typer.Option(help="Usable width of the roll, like '60 in'.")],
    repeat: Annotated[str, typer.Option(help="Pattern repeat along the roll; forbids turns.")] = "",
    unit: Unit = "",
    turn: Annotated[bool, typer.Option("--turn/--no-turn", help="No nap, no pattern: may turn.")] = True,
    metric: Metric = False,
    out: Out = None,
    force: Force = False,
) -> Result:
    """Lay cloth on a roll of one dye lot, using the least length found, with its bound."""
    from estimator.cutting.rolls.plan import plan_roll
    from estimator.cutting.verify.rolls import verify_roll
    from estimator.documents.cutting_drawings import roll_drawing

    given = Given()
    width = given.read(lambda: length_of("--roll-width", roll_width), 0)
    step = given.read(lambda: length_of("--repeat", repeat), 1) if repeat else 1
    piece = partial(RollPiece, may_turn=turn and not repeat)
    wanted, warnings = given.pieces(piece, pieces, SHEET_COLUMNS, unit)
    plan = made("laying", plan_roll, verify_roll, wanted, width, step)
    display = display_of(roll_width, metric=metric)
    result = _roll_result(plan, display, out)
    if out:
        drawing = [("Roll, from its beginning", roll_drawing(plan, display))]
        draw(out, "Laying plan of a roll", _roll_facts(result), drawing, force=force)
    return warnings, result


def _sheet(number: int, sheet: CutSheet, display: Display) -> dict[str, Any]:
    return {
        "number": number,
        "stock": sheet.stock.key,
        "price": sheet.stock.price,
        "pieces": [
            {
                "name": spot.piece.name,
                **measured(display, x=spot.x, y=spot.y, width=spot.width, height=spot.height),
                "turned": (spot.width, spot.height) != (spot.piece.width, spot.piece.height),
            }
            for spot in sheet.placed
        ],
        "offcuts": [
            measured(display, x=rest.x, y=rest.y, width=rest.width, height=rest.height)
            for rest in sheet.offcuts
        ],
    }


def _facts(result: dict[str, Any]) -> Facts:
    return [
        ("Sheets", str(result["count"])),
        ("Cost", f"{result['cost']} ({proof(result)})"),
        ("Pieces", str(sum(len(sheet["pieces"]) for sheet in result["plan"]))),
        ("Saw cut", result["kerf"]),
        ("Found by", result["method"]),
    ]


def _rows(result: dict[str, Any]) -> Iterator[str]:
    for sheet in result["plan"]:
        yield ""
        yield f"Sheet {sheet['number']}: {sheet['stock']}, {sheet['price']}"
        for p in sheet["pieces"]:
            yield f"  {p['name']:<24} {_size(p):<26} at {p['x']}, {p['y']}{_turned(p)}"
        for rest in sheet["offcuts"]:
            yield f"  {'offcut':<24} {_size(rest):<26} at {rest['x']}, {rest['y']}"


def cut_sheets(
    pieces: Pieces,
    sheet: Annotated[list[str], typer.Option(help="Size and price, like '48 in x 96 in=31.50'; repeat.")],
    kerf: Annotated[str, typer.Option(help="Width of the saw cut.")] = "0 in",
    unit: Unit = "",
    turn: Annotated[bool, typer.Option("--turn/--no-turn", help="Pieces may be turned.")] = True,
    metric: Metric = False,
    out: Out = None,
    force: Force = False,
) -> Result:
    """Cut rectangles from sheets by straight cuts, at the least cost found, with its bound."""
    from estimator.cutting.sheets.plan import plan_sheets
    from estimator.cutting.verify.sheets import verify_sheets
    from estimator.documents.cutting_drawings import sheet_drawing

    given = Given()
    stocks = given.each(sheet_of, sheet)
    width = given.read(lambda: length_of("--kerf", kerf), 0)
    known = stocks if len(stocks) == len(sheet) else []
    piece = partial(SheetPiece, may_turn=turn)
    wanted, warnings = given.pieces(piece, pieces, SHEET_COLUMNS, unit, _larger(known, may_turn=turn))
    plan = made("cutting", plan_sheets, verify_sheets, wanted, stocks, width)
    display = display_of(sheet[0].partition("=")[0], metric=metric)
    result = {
        "cost": plan.cost,
        "count": len(plan.sheets),
        "bound": plan.bound,
        "proven": plan.proven,
        "guillotine": True,
        "method": plan.method,
        **measured(display, kerf=width),
        "plan": [_sheet(number, cut, display) for number, cut in enumerate(plan.sheets, 1)],
        "file": str(out) if out else None,
    }
    if out:
        drawings = [
            (f"Sheet {number}: {one.stock.key}", sheet_drawing(one, display))
            for number, one in enumerate(plan.sheets, 1)
        ]
        draw(out, "Cutting plan of sheets", _facts(result), drawings, force=force)
    return warnings, result


VERBS: Verbs = {
    "cut-sheets": (cut_sheets, shown(_facts, _rows)),
    "cut-roll": (cut_roll, shown(_roll_facts, _roll_rows)),
}

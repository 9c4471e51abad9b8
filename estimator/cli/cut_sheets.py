"""`battenbook cut-sheets`: a list of rectangles cut from sheets by straight cuts, drawn."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeAlias

import typer

from estimator.cli.cut import (
    Given,
    Metric,
    Out,
    Unit,
    display_of,
    length_of,
    measured,
    progress_bar,
    sheet_of,
)
from estimator.cli.options import Force
from estimator.cli.output import say
from estimator.cli.verb import Result, Verbs
from estimator.core.errors import Problem
from estimator.core.units import Display, Nm

if TYPE_CHECKING:
    from estimator.cutting.plans import CutSheet, SheetPiece, SheetPlan, SheetStock

Pieces: TypeAlias = "tuple[list[SheetPiece], list[Problem]]"


def _pieces(path: Path, unit: str, stocks: "list[SheetStock]", *, may_turn: bool) -> "Pieces":
    """Return the pieces, none larger than every sheet; no sheets where those are not known."""
    from estimator.cutting.piece_list import SHEET_COLUMNS, read_list
    from estimator.cutting.plans import SheetPiece
    from estimator.cutting.sheets.plan import fits

    def unfit(sizes: tuple[Nm, ...]) -> tuple[str, str] | None:
        piece = SheetPiece("", sizes[0], sizes[1], may_turn)
        if not stocks or any(fits(piece, stock) for stock in stocks):
            return None
        return "larger than any sheet", "Add a larger sheet, or split the piece."

    listed = read_list(path, SHEET_COLUMNS, unit, unfit)
    pieces = [
        SheetPiece(row.name, row.sizes[0], row.sizes[1], may_turn)
        for row in listed.rows
        for _ in range(row.count)
    ]
    return pieces, list(listed.warnings)


def _sheet(number: int, sheet: "CutSheet", display: Display) -> dict[str, Any]:
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


def _page(plan: "SheetPlan", result: dict[str, Any], display: Display) -> str:
    from estimator.documents.cutting_drawings import cutting_page, sheet_drawing

    drawings = [
        (f"Sheet {number}: {sheet.stock.key}", sheet_drawing(sheet, display))
        for number, sheet in enumerate(plan.sheets, 1)
    ]
    return cutting_page("Cutting plan of sheets", _facts(result), drawings)


def _facts(result: dict[str, Any]) -> list[tuple[str, str]]:
    proof = "the least possible" if result["proven"] else f"no plan costs less than {result['bound']}"
    return [
        ("Sheets", str(result["count"])),
        ("Cost", f"{result['cost']} ({proof})"),
        ("Pieces", str(sum(len(sheet["pieces"]) for sheet in result["plan"]))),
        ("Saw cut", result["kerf"]),
        ("Found by", result["method"]),
    ]


def _show(result: dict[str, Any]) -> None:
    for name, value in _facts(result):
        say(f"{name + ':':<10}{value}")
    for sheet in result["plan"]:
        say("")
        say(f"Sheet {sheet['number']}: {sheet['stock']}, {sheet['price']}")
        for piece in sheet["pieces"]:
            turned = "  turned" if piece["turned"] else ""
            size = f"{piece['width']} x {piece['height']}"
            say(f"  {piece['name']:<24} {size:<26} at {piece['x']}, {piece['y']}{turned}")
        for rest in sheet["offcuts"]:
            say(f"  {'offcut':<24} {rest['width'] + ' x ' + rest['height']:<26} at {rest['x']}, {rest['y']}")
    if result["file"]:
        say("")
        say(f"Drawn in {result['file']}")


def cut_sheets(
    pieces: Annotated[
        Path, typer.Argument(metavar="FILE", help="CSV with the columns width, height, count, name.")
    ],
    sheet: Annotated[list[str], typer.Option(help="Size and price, like '48 in x 96 in=31.50'; repeat.")],
    kerf: Annotated[str, typer.Option(help="Width of the saw cut.")] = "0 in",
    unit: Unit = "",
    turn: Annotated[bool, typer.Option("--turn/--no-turn", help="Pieces may be turned.")] = True,
    metric: Metric = False,
    out: Out = None,
    force: Force = False,
) -> Result:
    """Cut rectangles from sheets by straight cuts, at the least cost found, with its bound."""
    from estimator.core.files import save
    from estimator.cutting.sheets.plan import plan_sheets
    from estimator.cutting.verify.sheets import verify_sheets

    given = Given()
    stocks = given.each(sheet_of, sheet)
    width = given.read(lambda: length_of("--kerf", kerf), 0)
    known = stocks if len(stocks) == len(sheet) else []
    nothing: Pieces = [], []
    wanted, warnings = given.read(lambda: _pieces(pieces, unit, known, may_turn=turn), nothing)
    given.refuse()
    with progress_bar("cutting") as progress:
        plan = plan_sheets(wanted, stocks, width, progress)
    faults = verify_sheets(plan, wanted, stocks, width)
    if faults:
        raise RuntimeError(f"the plan does not verify: {faults[0]}")
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
        save(out, _page(plan, result, display).encode(), force=force)
    return warnings, result


VERBS: Verbs = {"cut-sheets": (cut_sheets, _show)}

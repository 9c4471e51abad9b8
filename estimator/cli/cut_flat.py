"""`battenbook cut-sheets` and `cut-roll`: rectangles cut from sheets, and cloth laid on a roll, drawn."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

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
from estimator.cli.output import Force, Result, Verbs, say
from estimator.core.errors import Problem
from estimator.core.units import Display, Nm

if TYPE_CHECKING:
    from estimator.cutting.plans import CutSheet, RollPlan, SheetPlan, SheetStock


Shape = TypeVar("Shape")
_NONE: Any = ([], [])  # neither pieces nor warnings, of either shape
Piece = Callable[[str, Nm, Nm, bool], Shape]
Unfit = Callable[[tuple[Nm, ...]], tuple[str, str] | None]

Pieces = Annotated[
    Path, typer.Argument(metavar="FILE", help="CSV with the columns width, height, count, name.")
]


def _pieces(
    path: Path, unit: str, piece: Piece[Shape], *, may_turn: bool, unfit: Unfit = lambda _: None
) -> tuple[list[Shape], list[Problem]]:
    """Return the pieces of a list, each made by `piece`, and the warnings."""
    from estimator.cutting.piece_list import SHEET_COLUMNS, read_list

    listed = read_list(path, SHEET_COLUMNS, unit, unfit)
    pieces = [
        piece(row.name, row.sizes[0], row.sizes[1], may_turn) for row in listed.rows for _ in range(row.count)
    ]
    return pieces, list(listed.warnings)


def _larger(stocks: "list[SheetStock]", *, may_turn: bool) -> Unfit:
    """Return what tells of pieces larger than every sheet; nothing where no sheets are known."""
    from estimator.cutting.plans import SheetPiece
    from estimator.cutting.sheets.plan import fits

    def unfit(sizes: tuple[Nm, ...]) -> tuple[str, str] | None:
        piece = SheetPiece("", sizes[0], sizes[1], may_turn)
        if not stocks or any(fits(piece, stock) for stock in stocks):
            return None
        return "larger than any sheet", "Add a larger sheet, or split the piece."

    return unfit


def _roll_result(plan: "RollPlan", display: Display, out: Path | None) -> dict[str, Any]:
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


def _roll_facts(result: dict[str, Any]) -> list[tuple[str, str]]:
    proof = "the least possible" if result["proven"] else f"no plan is shorter than {result['bound']}"
    return [
        ("Length", f"{result['length']} ({proof})"),
        ("Roll", f"{result['roll_width']} wide"),
        ("Pieces", str(result["count"])),
        ("Cuts", "straight, from edge to edge"),
        ("Found by", result["method"]),
    ]


def _show_roll(result: dict[str, Any]) -> None:
    for name, value in _roll_facts(result):
        say(f"{name + ':':<10}{value}")
    say("")
    for piece in result["plan"]:
        turned = "  turned" if piece["turned"] else ""
        size = f"{piece['width']} x {piece['height']}"
        say(f"  {piece['name']:<24} {size:<26} at {piece['x']} across, {piece['y']} along{turned}")
    if result["file"]:
        say("")
        say(f"Drawn in {result['file']}")


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
    from estimator.core.files import save
    from estimator.cutting.plans import RollPiece
    from estimator.cutting.rolls.plan import plan_roll
    from estimator.cutting.verify.rolls import verify_roll
    from estimator.documents.cutting_drawings import cutting_page, roll_drawing

    given = Given()
    width = given.read(lambda: length_of("--roll-width", roll_width), 0)
    step = given.read(lambda: length_of("--repeat", repeat), 1) if repeat else 1
    wanted, warnings = given.read(
        lambda: _pieces(pieces, unit, RollPiece, may_turn=turn and not repeat), _NONE
    )
    given.refuse()
    with progress_bar("laying") as progress:
        plan = plan_roll(wanted, width, step, progress)
    faults = verify_roll(plan, wanted, width, step)
    if faults:
        raise RuntimeError(f"the plan does not verify: {faults[0]}")
    display = display_of(roll_width, metric=metric)
    result = _roll_result(plan, display, out)
    if out:
        drawing = [("Roll, from its beginning", roll_drawing(plan, display))]
        save(out, cutting_page("Laying plan of a roll", _roll_facts(result), drawing).encode(), force=force)
    return warnings, result


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
    from estimator.core.files import save
    from estimator.cutting.plans import SheetPiece
    from estimator.cutting.sheets.plan import plan_sheets
    from estimator.cutting.verify.sheets import verify_sheets

    given = Given()
    stocks = given.each(sheet_of, sheet)
    width = given.read(lambda: length_of("--kerf", kerf), 0)
    known = stocks if len(stocks) == len(sheet) else []
    unfit = _larger(known, may_turn=turn)
    wanted, warnings = given.read(
        lambda: _pieces(pieces, unit, SheetPiece, may_turn=turn, unfit=unfit), _NONE
    )
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


VERBS: Verbs = {"cut-sheets": (cut_sheets, _show), "cut-roll": (cut_roll, _show_roll)}

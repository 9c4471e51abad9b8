"""`battenbook cut-roll`: a list of pieces of cloth laid on one roll, drawn."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeAlias

import typer

from estimator.cli.cut import Given, Metric, Out, Unit, display_of, length_of, measured, progress_bar
from estimator.cli.options import Force
from estimator.cli.output import say
from estimator.cli.verb import Result, Verbs
from estimator.core.errors import Problem
from estimator.core.units import Display

if TYPE_CHECKING:
    from estimator.cutting.plans import RollPiece, RollPlan

Pieces: TypeAlias = "tuple[list[RollPiece], list[Problem]]"


def _pieces(path: Path, unit: str, *, may_turn: bool) -> "Pieces":
    from estimator.cutting.piece_list import SHEET_COLUMNS, read_list
    from estimator.cutting.plans import RollPiece

    listed = read_list(path, SHEET_COLUMNS, unit)
    pieces = [
        RollPiece(row.name, row.sizes[0], row.sizes[1], may_turn)
        for row in listed.rows
        for _ in range(row.count)
    ]
    return pieces, list(listed.warnings)


def _result(plan: "RollPlan", display: Display, out: Path | None) -> dict[str, Any]:
    return {
        **measured(display, length=plan.length, bound=plan.bound, roll_width=plan.roll_width),
        "count": len(plan.placed),
        "proven": plan.proven,
        "guillotine": plan.guillotine,
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


def _facts(result: dict[str, Any]) -> list[tuple[str, str]]:
    proof = "the least possible" if result["proven"] else f"no plan is shorter than {result['bound']}"
    return [
        ("Length", f"{result['length']} ({proof})"),
        ("Roll", f"{result['roll_width']} wide"),
        ("Pieces", str(result["count"])),
        (
            "Cuts",
            "straight, from edge to edge" if result["guillotine"] else "free: not all from edge to edge",
        ),
        ("Found by", result["method"]),
    ]


def _show(result: dict[str, Any]) -> None:
    for name, value in _facts(result):
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
    pieces: Annotated[
        Path, typer.Argument(metavar="FILE", help="CSV with the columns width, height, count, name.")
    ],
    roll_width: Annotated[str, typer.Option(help="Usable width of the roll, like '60 in'.")],
    repeat: Annotated[str, typer.Option(help="Pattern repeat along the roll; forbids turns.")] = "",
    unit: Unit = "",
    turn: Annotated[bool, typer.Option("--turn/--no-turn", help="No nap, no pattern: may turn.")] = True,
    straight: Annotated[
        bool,
        typer.Option("--straight-only", help="Cuts from edge to edge only; else free if that saves 3 %."),
    ] = False,
    metric: Metric = False,
    out: Out = None,
    force: Force = False,
) -> Result:
    """Lay cloth on a roll of one dye lot, using the least length found, with its bound."""
    from estimator.core.files import save
    from estimator.cutting.rolls.plan import plan_roll
    from estimator.cutting.verify.rolls import verify_roll
    from estimator.documents.cutting_drawings import cutting_page, roll_drawing

    given = Given()
    width = given.read(lambda: length_of("--roll-width", roll_width), 0)
    step = given.read(lambda: length_of("--repeat", repeat), 1) if repeat else 1
    nothing: Pieces = [], []
    wanted, warnings = given.read(lambda: _pieces(pieces, unit, may_turn=turn and not repeat), nothing)
    given.refuse()
    with progress_bar("laying") as progress:
        plan = plan_roll(wanted, width, step, progress, straight_only=straight)
    faults = verify_roll(plan, wanted, width, step)
    if faults:
        raise RuntimeError(f"the plan does not verify: {faults[0]}")
    display = display_of(roll_width, metric=metric)
    result = _result(plan, display, out)
    if out:
        drawing = [("Roll, from its beginning", roll_drawing(plan, display))]
        save(out, cutting_page("Laying plan of a roll", _facts(result), drawing).encode(), force=force)
    return warnings, result


VERBS: Verbs = {"cut-roll": (cut_roll, _show)}

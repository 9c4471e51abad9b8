"""Cutting plans as the workbook shows them: each stick, board and roll with its pieces and what is left."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from estimator.calc.tables import Draft, Table
from estimator.core.units import Measures, Nm, format_length
from estimator.cutting.plans import BoardPlan, RollPlan, Stick, StickPlan
from estimator.cutting.room import RoomPlans
from estimator.takeoff.contents import Line


def cutting_tables(plans: RoomPlans, lines: Sequence[Line], units: Measures) -> tuple[Table, ...]:
    """Return the tables of the cutting sheets: plans in short, sticks, boards, rolls.

    Args:
        plans: of the room.
        lines: of the takeoff, for what people call things.
        units: the job's units.
    """
    bought = {item.key: item.description for line in lines for item in line.items}
    return (
        _summary(plans, lines, units),
        _sticks(plans, bought, units),
        _boards(plans, bought, units),
        _rolls(plans, units),
    )


def _summary(plans: RoomPlans, lines: Sequence[Line], units: Measures) -> Table:
    words = {line.key.partition(":")[2]: line.description for line in lines}
    rows = [*_stick_rows(plans.sticks), *_board_rows(plans.boards), *_roll_rows(plans.rolls, units)]
    table = Draft("plans", "Plans in short", note="No plan can use less than its bound.")
    table.keys([r[0] for r in rows], "Plan")
    table.label("what", "What", [words[r[1]] for r in rows])
    table.label("used", "Used", [r[2] for r in rows])
    table.label("bound", "Bound", [r[3] for r in rows])
    table.label("proven", "Proven least", ["yes" if r[4] else "not proven" for r in rows])
    table.label("method", "Found by", [r[5] for r in rows])
    return table.table()


_Row = tuple[str, str, str, str, bool, str]


def _stick_rows(sticks: Mapping[str, StickPlan]) -> list[_Row]:
    return [
        (
            f"sticks:{product}",
            product,
            f"{len(plan.sticks)} sticks for {plan.cost}",
            f"{plan.bound:.2f}",
            plan.proven,
            plan.method,
        )
        for product, plan in sticks.items()
    ]


def _board_rows(boards: Mapping[str, BoardPlan]) -> list[_Row]:
    return [
        (f"boards:{product}", product, f"{p.boards} boards", f"{p.bound} boards", p.proven, p.sheets.method)
        for product, p in boards.items()
    ]


def _roll_rows(rolls: Mapping[tuple[str, str], RollPlan], units: Measures) -> list[_Row]:
    return [
        (
            f"roll:{product}:{colour}",
            f"{product}:{colour}",
            format_length(plan.length, units.display),
            format_length(plan.bound, units.display),
            plan.proven,
            plan.method,
        )
        for (product, colour), plan in rolls.items()
    ]


def pieces_text(stick: Stick, units: Measures) -> str:
    """Return a stick's pieces in the order they are cut: name and length."""
    return " | ".join(f"{p.name} {format_length(p.length, units.display)}" for p in stick.pieces)


def _sticks(plans: RoomPlans, bought: Mapping[str, str], units: Measures) -> Table:
    rows = [
        (f"{product}/{n}", f"Stick {n}", stick)
        for product, plan in plans.sticks.items()
        for n, stick in enumerate(plan.sticks, start=1)
    ]
    table = Draft("stick_plan", "Sticks, each with its pieces in order")
    table.keys([key for key, _, _ in rows], "Stick")
    table.label("stick", "Stick", [name for _, name, _ in rows])
    table.label("stock", "Bought as", [bought[s.stock.key] for *_, s in rows])
    table.decided("pieces", "Pieces", "ea", [Decimal(len(s.pieces)) for *_, s in rows], places=0)
    table.decided("left", "Left over", units.small, [units.length(s.offcut) for *_, s in rows], places=3)
    table.label("order", "Pieces in order", [pieces_text(s, units) for *_, s in rows])
    return table.table()


def _boards(plans: RoomPlans, bought: Mapping[str, str], units: Measures) -> Table:
    rows = [
        (f"{product}/{n}", f"Board {n}", sheet)
        for product, plan in plans.boards.items()
        for n, sheet in enumerate(plan.sheets.sheets, start=1)
    ]
    table = Draft("board_plan", "Boards, each with its pieces")
    table.keys([key for key, _, _ in rows], "Board")
    table.label("board", "Board", [name for _, name, _ in rows])
    table.label("stock", "Bought as", [bought[s.stock.key] for *_, s in rows])
    table.decided("pieces", "Pieces", "ea", [Decimal(len(s.placed)) for *_, s in rows], places=0)
    texts = [
        " | ".join(f"{p.piece.name} {_size(p.width, p.height, units)}" for p in s.placed) for *_, s in rows
    ]
    table.label("cut", "Pieces, width × height", texts)
    left = [" | ".join(_size(o.width, o.height, units) for o in s.offcuts) for *_, s in rows]
    table.label("left", "Left over", left)
    return table.table()


def _size(width: Nm, height: Nm, units: Measures) -> str:
    return f"{format_length(width, units.display)} × {format_length(height, units.display)}"


def _rolls(plans: RoomPlans, units: Measures) -> Table:
    rows = [
        (f"{product}:{colour}/{n}", placed)
        for (product, colour), plan in plans.rolls.items()
        for n, placed in enumerate(sorted(plan.placed, key=lambda p: (p.y, p.x)), start=1)
    ]
    table = Draft("roll_plan", "Cloth, piece by piece along the roll")
    table.keys([name for name, _ in rows], "Piece")
    table.label("piece", "Face", [p.name for _, p in rows])
    for key, label, values in (
        ("across", "From the edge", [p.x for _, p in rows]),
        ("along", "From the end", [p.y for _, p in rows]),
        ("width", "Across the roll", [p.width for _, p in rows]),
        ("length", "Along the roll", [p.length for _, p in rows]),
    ):
        table.decided(key, label, units.small, [units.length(v) for v in values], places=3)
    table.label("turned", "Turned", ["turned" if p.turned else "" for _, p in rows])
    return table.table()

"""Fill invented cavities and those of the examples with board, and write docs/validation/boards.md.

Run: python -m tests.benchmarks.board_cavities
"""

import random
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import product
from pathlib import Path
from statistics import median

from estimator.catalogue.load import load
from estimator.core.units import INCH, MM, Nm
from estimator.cutting.boards.costs import Outlay
from estimator.cutting.boards.plan import plan_boards
from estimator.cutting.plans import BoardPlan, Hole, SheetStock
from estimator.cutting.room import board_holes
from estimator.cutting.verify.sheets import verify_boards
from estimator.job.options import apply_option
from estimator.layout.assembly import lay_out

REPORT = Path(__file__).parents[2] / "docs" / "validation" / "boards.md"
EXAMPLES = Path(__file__).parents[2] / "examples"
SEEDS = (1, 2, 3, 4)
NUMBERS = (10, 30, 60, 200)
PIECE, LEAST, STAGGER = Decimal("2.01"), 4 * INCH, 6 * INCH

HEAD = """# Boards: what the planner reaches

No published cases are known for cavities filled with butted pieces of board, so these are invented: cavities
as walls have them, most of two or three heights and of many widths. The board is 24 x 48 in or 600 x 1200 mm
at 11.55, cut with a knife; a piece more costs 2.01 of work; no piece under 4 in; joints of two layers 6 in
apart where that can be. The bound is the area, and pieces count as well: a board over it saves several. The
grid is the plain way: every cavity by itself, whole boards from one corner and what is left cut
from further boards, those parts laid longest first, each on the first board with room.

Written by `python -m tests.benchmarks.board_cavities`; every plan was checked by `verify_boards`, which
shares no code with the planner. Processor seconds, and how many times as long as the grid the middle job
takes, measured in the same run.
"""
INVENTED = """
## Invented cavities

`over` is boards over the bound, job by job; `grid` the same of the grid, all jobs together; then pieces a
board, as planned and of the grid.

| cavities | layers | board | boards | over | in all | grid | pieces | grid | middle s | worst s | times |
| ---: | ---: | --- | ---: | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |
"""
DELIVERED = """
## The examples, and what the rules cost

Boards and pieces as planned; where pieces cost nothing; and without the rules of the smallest piece (1 in in
place of it) and of joints apart.

| example | bound | boards | pieces | pieces free | pieces | without the rules | pieces | s |
| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |
"""


@dataclass(frozen=True, slots=True)
class Run:
    """What came of a job: the plan, the grid's boards and pieces, and seconds of both."""

    plan: BoardPlan
    grid: tuple[int, int]
    seconds: float
    floor: float


INCHES = SheetStock("24 x 48", 24 * INCH, 48 * INCH, Decimal("11.55"))
METRIC = SheetStock("600 x 1200", 600 * MM, 1200 * MM, Decimal("11.55"))


def cavities(number: int, layers: int, stock: SheetStock, seed: int) -> list[Hole]:
    """Return cavities of two or three heights and as many widths as chance gives, some short ones between."""
    draw = random.Random(f"{number} {layers} {stock.key} {seed}")  # noqa: S311 - an invented list
    step = INCH // 16 if stock is INCHES else MM
    least, most = (10 * INCH, 46 * INCH) if stock is INCHES else (250 * MM, 1170 * MM)
    heights = [draw.randint(3 * least // step, 10 * least // step) * step for _ in range(draw.choice((2, 3)))]
    widths = [draw.randint(least // step, most // step) * step for _ in range(max(3, number // 3))]
    holes = []
    for at in range(number):
        low = draw.random() < 0.2
        height = draw.randint(least // 2 // step, 3 * least // step) * step if low else draw.choice(heights)
        holes.append(Hole(f"N{at}/c1", draw.choice(widths), height, layers))
    return holes


def grid(holes: Sequence[Hole], stock: SheetStock) -> tuple[int, int]:
    """Return the boards and pieces of the plain way: see the head of the report."""
    whole, parts = 0, list[tuple[Nm, Nm]]()
    for hole in holes:
        wide, high = divmod(hole.width, stock.width), divmod(hole.height, stock.height)
        whole += wide[0] * high[0] * hole.layers
        odd = [(wide[1], stock.height)] * high[0] + [(stock.width, high[1])] * wide[0] + [(wide[1], high[1])]
        parts += [part for part in odd if min(part) > 0] * hole.layers
    free: list[list[tuple[Nm, Nm]]] = []
    for width, height in sorted(parts, key=lambda part: (-part[1], -part[0])):
        board = next((b for b in free if any(w >= width and h >= height for w, h in b)), None)
        if board is None:
            board = [(stock.width, stock.height)]
            free.append(board)
        room = next(place for place in board if place[0] >= width and place[1] >= height)
        board.remove(room)
        board += [(room[0] - width, room[1]), (width, room[1] - height)]
    return whole + len(free), whole + len(parts)


def run(
    holes: Sequence[Hole], stock: SheetStock, outlay: Outlay, least: Nm = LEAST, stagger: Nm = STAGGER
) -> Run:
    """Plan the cavities and check the plan."""
    began = time.process_time()
    plain = grid(holes, stock)
    between = time.process_time()
    plan = plan_boards(holes, stock, least, 0, stagger, outlay)
    seconds = time.process_time() - between
    if faults := verify_boards(plan, holes, [stock], least, 0):
        raise SystemExit(str(faults[0]))
    return Run(plan, plain, seconds, between - began)


def row(number: int, layers: int, stock: SheetStock) -> str:
    """Return the line of one kind of job."""
    outlay = Outlay(PIECE)
    runs = [run(cavities(number, layers, stock, seed), stock, outlay) for seed in SEEDS]
    over = [r.plan.boards - r.plan.bound for r in runs]
    boards, bound = sum(r.plan.boards for r in runs), sum(r.plan.bound for r in runs)
    middle = median(r.seconds for r in runs)
    cells = (
        number,
        layers,
        stock.key,
        boards,
        ", ".join(map(str, over)),
        f"{boards / bound - 1:.1%}",
        f"{sum(r.grid[0] for r in runs) / bound - 1:.0%}",
        f"{sum(len(r.plan.tiles) for r in runs) / boards:.2f}",
        f"{sum(r.grid[1] for r in runs) / sum(r.grid[0] for r in runs):.2f}",
        f"{middle:.2f}",
        f"{max(r.seconds for r in runs):.2f}",
        f"{middle / median(r.floor for r in runs):.0f}",
    )
    return "| " + " | ".join(map(str, cells)) + " |"


def delivered() -> Iterator[tuple[str, list[Hole], SheetStock, Outlay]]:
    """Yield name, cavities, board and costs of every example and of its options."""
    for path in sorted(EXAMPLES.glob("*/job.toml")):
        job, catalogue, _ = load(path)
        for option in (None, *job.options):
            made = job if option is None else apply_option(job, option)
            name = path.parent.name + (f", option {option.name}" if option else "")
            for product_key, holes in board_holes(lay_out(made, catalogue)):
                sizes = catalogue.sizes(product_key)
                small = min(sizes, key=lambda item: item.content)
                stock = SheetStock(
                    small.key, small.width or 0, small.length or 0, small.price / small.content
                )
                packs = tuple((int(item.content), item.price) for item in sizes)
                yield name, holes, stock, Outlay(PIECE, packs)


def delivered_row(name: str, holes: list[Hole], stock: SheetStock, outlay: Outlay) -> str:
    """Return the line of one example."""
    planned = run(holes, stock, outlay)
    alone, free = run(holes, stock, replace(outlay, piece=Decimal(0))), run(holes, stock, outlay, INCH, 0)
    cells = [name, planned.plan.bound]
    for one in (planned, alone, free):
        cells += [one.plan.boards, len(one.plan.tiles)]
    return "| " + " | ".join(map(str, [*cells, f"{planned.seconds:.2f}"])) + " |"


def main() -> None:
    invented = [row(*kind) for kind in product(NUMBERS, (1, 2), (INCHES, METRIC))]
    examples = [delivered_row(*one) for one in delivered()]
    text = HEAD + INVENTED + "\n".join(invented) + "\n" + DELIVERED + "\n".join(examples) + "\n"
    REPORT.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()

"""The hand calculation beside the example, line by line: its arithmetic, and the program's figures."""

import ast
import operator
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.core.money import rounded
from estimator.pipeline import Estimate
from tests.examples import estimate_of

FOLDER = Path(__file__).parents[2] / "examples" / "one_panel"
HEADS = {"line", "task", "---"}
SIGNS = {ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul, ast.Div: operator.truediv}


def reckon(node: ast.expr) -> Decimal:
    """Work out plain arithmetic as written on paper."""
    if isinstance(node, ast.Constant) and isinstance(node.value, int | float):
        return Decimal(str(node.value))
    if isinstance(node, ast.BinOp):
        worked: Decimal = SIGNS[type(node.op)](reckon(node.left), reckon(node.right))
        return worked
    raise ValueError(ast.dump(node))


def rows(heading: str) -> Iterator[list[str]]:
    """Yield the rows of the table under a heading of the hand calculation."""
    part = (FOLDER / "hand.md").read_text(encoding="utf-8").split(f"## {heading}\n")[1].split("\n## ")[0]
    cells = ([c.strip() for c in x.strip("|").split("|")] for x in part.splitlines() if x.startswith("|"))
    yield from (row for row in cells if row[0] not in HEADS)


NET, BOUGHT, HOURS = list(rows("Net quantities")), list(rows("Bought")), list(rows("Hours"))
CLOCK = [row for row in rows("On site") if len(row) == 5]
STANDING = [row for row in rows("On site") if row[0] == "standing"]


def one_panel() -> Estimate:
    return estimate_of("one_panel")


@pytest.mark.parametrize("row", [*NET, *BOUGHT, *HOURS, *STANDING], ids=lambda r: r[0])
def test_the_arithmetic_on_paper_is_right(row: list[str]) -> None:
    places = len(row[3].partition(".")[2])
    assert rounded(reckon(ast.parse(row[2], mode="eval").body), places) == Decimal(row[3])


@pytest.mark.parametrize("row", NET, ids=lambda r: r[0])
def test_the_programs_net_is_the_papers(row: list[str]) -> None:
    lines = {q.key: q for q in one_panel().scope.takeoff.quantities()}
    line = lines[row[0]]
    places = len(row[3].partition(".")[2])
    assert (rounded(line.net, places), line.unit) == (Decimal(row[3]), row[4])


@pytest.mark.parametrize("row", BOUGHT, ids=lambda r: r[0])
def test_the_programs_cost_is_the_papers(row: list[str]) -> None:
    lines = {q.key: q for q in one_panel().scope.takeoff.quantities()}
    assert lines[row[0]].cost == Decimal(row[3])


def test_the_programs_hours_are_the_papers() -> None:
    hours = {task: spent for task, spent in one_panel().scope.labour.hours.items() if spent}
    assert {task: rounded(h, 4) for task, h in hours.items()} == {
        r[0]: Decimal(r[3]) for r in (*HOURS, *STANDING)
    }


def test_the_programs_day_on_site_is_the_papers() -> None:
    def clock(minute: int) -> str:
        return f"{minute // 60}:{minute % 60:02}"

    stints = [s for day in one_panel().scope.schedule.days for s in day.stints if s.stage == "site"]
    assert [(s.task, str(s.people), clock(s.start), clock(s.end)) for s in stints] == [
        (task, people, start, end) for task, _, people, start, end in CLOCK
    ]


def test_the_price_is_built_up_as_the_paper_says() -> None:
    totals = one_panel().totals
    direct = totals.materials + totals.labour
    overhead = rounded(direct * Decimal("0.12"))
    contingency = rounded((direct + overhead) * Decimal("0.05"))
    cost = direct + overhead + contingency
    price = rounded(cost / (1 - Decimal("0.25")))
    assert (totals.direct, totals.overhead, totals.contingency) == (direct, overhead, contingency)
    assert (totals.cost, totals.price) == (cost, price)
    assert totals.tax == rounded(price * Decimal("0.13"))
    assert sum(p.amount for p in totals.payments) == totals.total == price + totals.tax

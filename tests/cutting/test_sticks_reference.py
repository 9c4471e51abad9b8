"""Least costs of small jobs against CP-SAT of OR-Tools, which is given every pattern there is."""

import random
from collections import Counter
from collections.abc import Iterator
from decimal import Decimal

import pytest

from estimator.core.units import INCH, MM, Nm
from estimator.cutting.plans import StickPiece, StickStock
from estimator.cutting.sticks.plan import plan_sticks
from estimator.cutting.verify.sticks import verify_sticks

pytest.importorskip("ortools")

from ortools.sat.python import cp_model


def patterns(lengths: list[Nm], wanted: Counter[Nm], room: Nm, kerf: Nm) -> Iterator[Counter[Nm]]:
    """Yield every set of pieces that fits `room`, a kerf after each."""
    if not lengths:
        yield Counter()
        return
    first, rest = lengths[0], lengths[1:]
    for count in range(min(wanted[first], room // (first + kerf)) + 1):
        for others in patterns(rest, wanted, room - count * (first + kerf), kerf):
            yield others + Counter({first: count})


def least_cost(pieces: list[StickPiece], stocks: list[StickStock], kerf: Nm, trim: Nm) -> int | None:
    """Return the least cost in cents; None where the limits cannot be met."""
    wanted = Counter(piece.length for piece in pieces)
    model, costs = cp_model.CpModel(), []
    made: dict[Nm, list[cp_model.LinearExpr]] = {length: [] for length in wanted}
    for stock in stocks:
        times = []
        for pattern in patterns(sorted(wanted), wanted, stock.length - trim + kerf, kerf):
            often = model.new_int_var(0, len(pieces), "")
            times.append(often)
            costs.append(often * int(stock.price * 100))
            for length, count in pattern.items():
                made[length].append(often * count)
        if stock.limit is not None:
            model.add(sum(times) <= stock.limit)
    for length, terms in made.items():
        model.add(sum(terms) == wanted[length])
    model.minimize(sum(costs))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    assert status in {cp_model.OPTIMAL, cp_model.INFEASIBLE}
    return round(solver.objective_value) if status == cp_model.OPTIMAL else None


@pytest.mark.parametrize("step", [INCH // 16, MM])
@pytest.mark.parametrize("seed", range(12))
def test_small_jobs_cost_what_a_general_solver_finds(seed: int, step: Nm) -> None:
    draw = random.Random(seed)  # noqa: S311 - an invented list
    sizes = [draw.randint(500 * MM // step, 2000 * MM // step) * step for _ in range(7)]
    pieces = [StickPiece(f"p{at}", draw.choice(sizes)) for at in range(24)]
    stocks = [
        StickStock("8 ft", 96 * INCH, Decimal(draw.randint(400, 460)) / 100),
        StickStock("10 ft", 120 * INCH, Decimal(draw.randint(520, 580)) / 100, draw.randint(1, 6)),
        StickStock("12 ft", 144 * INCH, Decimal(draw.randint(620, 720)) / 100, draw.choice([None, 4])),
    ]
    trim = draw.choice([0, INCH // 2])
    plan = plan_sticks(pieces, stocks, INCH // 8, trim)
    assert verify_sticks(plan, pieces, stocks, INCH // 8, trim) == ()
    assert plan.proven
    assert plan.cost * 100 == least_cost(pieces, stocks, INCH // 8, trim)

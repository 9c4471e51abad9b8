"""The examples and their options take at most one board over the least there can be, and few pieces."""

from decimal import Decimal
from pathlib import Path

import pytest

from estimator.catalogue.records import Catalogue
from estimator.cli.estimate import estimated
from estimator.cutting.boards.costs import Outlay
from estimator.cutting.plans import BoardPlan
from estimator.cutting.room import board_holes, cut_room
from estimator.labour.tasks import unit_cost

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = sorted(p.parent.name for p in EXAMPLES.glob("*/job.toml"))


def cost(plan: BoardPlan, product: str, catalogue: Catalogue) -> Decimal:
    """Return what a plan's boards and pieces cost together, in the packs of the catalogue."""
    packs = tuple((int(item.content), item.price) for item in catalogue.sizes(product))
    return Outlay(packs=packs).paid(plan.boards, Decimal(0)) + len(plan.tiles) * unit_cost(
        catalogue.labour, "board_pieces"
    )


@pytest.mark.parametrize("name", NAMES)
def test_at_most_one_board_over_the_bound_and_pieces_are_saved(name: str) -> None:
    estimate, _ = estimated(EXAMPLES / name / "job.toml")
    for scope in (estimate.scope, *estimate.options.values()):
        free = cut_room(scope.layout, estimate.catalogue, Decimal(0))
        holes = dict(board_holes(scope.layout))
        for product, plan in scope.plans.boards.items():
            # No plan goes below the area, worked out here anew.
            board = plan.sheets.sheets[0].stock
            area = sum(h.width * h.height * h.layers for h in holes[product])
            assert plan.boards <= -(-area // (board.width * board.height)) + 1
            assert cost(plan, product, estimate.catalogue) <= cost(
                free.boards[product], product, estimate.catalogue
            )

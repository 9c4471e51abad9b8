"""The delivered examples take at most one board over the least there can be, and few pieces."""

from decimal import Decimal
from pathlib import Path

import pytest

from estimator.cli.estimate import estimated
from estimator.cutting.room import board_holes, cut_room

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = sorted(p.parent.name for p in EXAMPLES.glob("*/job.toml"))


@pytest.mark.parametrize("name", NAMES)
def test_at_most_one_board_over_the_bound_and_pieces_are_saved(name: str) -> None:
    estimate, _ = estimated(EXAMPLES / name / "job.toml")
    scope = estimate.scope
    free = cut_room(scope.layout, estimate.catalogue, Decimal(0))
    holes = dict(board_holes(scope.layout))
    for product, plan in scope.plans.boards.items():
        # No plan goes below the area, worked out here anew.
        board = plan.sheets.sheets[0].stock
        area = sum(h.width * h.height * h.layers for h in holes[product])
        assert plan.boards <= -(-area // (board.width * board.height)) + 1
        assert len(plan.tiles) <= len(free.boards[product].tiles)

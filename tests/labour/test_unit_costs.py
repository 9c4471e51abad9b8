"""The cost of one more piece of board, by hand from rates and wages."""

from decimal import Decimal

from estimator.catalogue.labour import load_labour
from estimator.job.description import Difficulty
from estimator.labour.tasks import unit_cost


def test_a_piece_of_board_costs_its_minutes_at_the_cost_of_an_hour() -> None:
    # (2 + 4 x 3 + 6) / 6 = 3 1/3 min of a helper at 24 x 1.28 / 0.85 = 36.1412 an hour: 2.0078.
    assert unit_cost(load_labour(), "board_pieces") == Decimal("2.0078")


def test_what_makes_the_task_harder_makes_it_dearer() -> None:
    hard = Difficulty.model_validate({"tasks": ["cut_boards"], "factor": 1.5, "reason": "dust"}, strict=False)
    other = Difficulty.model_validate({"tasks": ["hang"], "factor": 3, "reason": "height"}, strict=False)
    # 2.00784 x 1.5 = 3.01176
    assert unit_cost(load_labour(), "board_pieces", [hard, other]) == Decimal("3.0118")


def test_what_no_task_is_driven_by_costs_nothing() -> None:
    assert unit_cost(load_labour(), "nothing_of_the_kind") == 0
    assert unit_cost(load_labour(), "cavity_area") == 0  # by area, not by the piece

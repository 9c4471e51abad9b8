"""An integer programme stopped by counted work stops, and at the same place each time."""

import highspy
import numpy as np

from estimator.cutting.programme import INFINITY, Programme


def market_split() -> Programme:
    """Return an integer programme of the kind of G. Cornuejols and M. Dawande (1999): hard for its size."""
    weights = np.random.default_rng(1).integers(0, 100, (30, 4))
    halves = [float(total // 2) for total in weights.sum(axis=0)]
    programme = Programme(halves, halves)
    programme.add([0.0] * 30, weights)
    programme.bound_columns(np.ones(30))
    return programme


def test_it_stops_in_time_and_at_the_same_place() -> None:
    nodes = []
    for _ in range(2):
        programme = market_split()
        programme.solve_whole(300, 0.0)
        assert programme.model.getModelStatus() == highspy.HighsModelStatus.kInterrupt
        nodes.append(programme.model.getInfo().mip_node_count)
    assert nodes[0] == nodes[1]


def test_fractions_are_allowed_or_not() -> None:
    programme = Programme([7.0], [INFINITY])
    programme.add([3.0, 2.0], np.array([[2.0], [1.0]]))
    # 7 halves of the first column cost 10.5; in whole numbers three of it and one of the second cost 11.
    solved = programme.solve()
    assert (solved.cost, solved.duals.tolist()) == (10.5, [1.5])
    mixed = programme.solve_whole(100, 0.0)
    assert mixed.uses is not None
    assert mixed.uses.tolist() == [3, 1]


def test_what_has_no_answer_says_so() -> None:
    programme = Programme([3.0], [3.0])
    programme.add([1.0], np.array([[2.0]]))
    assert programme.solve_whole(100, 0.0) == (None, INFINITY)

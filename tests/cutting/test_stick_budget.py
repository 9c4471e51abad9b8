"""An integer program stopped by counted work stops, and at the same place each time."""

import highspy
import numpy as np

from estimator.cutting.sticks.budget import CHECK, run_within
from estimator.cutting.sticks.master import quiet_highs


def market_split() -> highspy.Highs:
    """Return an integer program of the kind of G. Cornuejols and M. Dawande (1999): hard for its size."""
    draw, highs = np.random.default_rng(1), quiet_highs()
    weights = draw.integers(0, 100, (4, 30))
    for row in weights:
        half = float(row.sum() // 2)
        highs.addRow(half, half, 0, np.array([], np.int32), np.array([]))
    for at in range(30):
        highs.addCol(0.0, 0.0, 1.0, 4, np.arange(4, dtype=np.int32), weights[:, at].astype(float))
    kinds = np.array([highspy.HighsVarType.kInteger] * 30)
    highs.changeColsIntegrality(30, np.arange(30, dtype=np.int32), kinds)
    return highs


def test_it_stops_in_time_and_at_the_same_place() -> None:
    work, nodes = [], []
    for _ in range(2):
        highs = market_split()
        work.append(run_within(highs, 300, deep=False))
        nodes.append(highs.getInfo().mip_node_count)
        assert highs.getModelStatus() == highspy.HighsModelStatus.kInterrupt
    assert work[0] == work[1]
    assert nodes[0] == nodes[1]
    assert 300 * CHECK <= work[0] < 330 * CHECK

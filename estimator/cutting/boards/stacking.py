"""Joints of one layer over those of the next, and how a laying is turned about so that they stand apart."""

from collections.abc import Sequence
from itertools import product

from estimator.core.units import Nm
from estimator.cutting.boards.layings import Laying, flipped
from estimator.cutting.plans import Hole


def clashes(before: Laying, after: Laying, stagger: Nm) -> int:
    """Return how many joints of a layer stand closer than `stagger` to a parallel one of the layer before."""
    total = 0
    for side in (0, 1):
        there = {spot[side] for spot in before} - {0}
        here = {spot[side] for spot in after} - {0}
        total += sum(any(abs(a - b) < stagger for b in there) for a in here)
    return total


class Layers:
    """Every layer of every cavity, in an order that does not depend on the cavities' names.

    Attributes:
        slots: cavity and number of each layer, from 1; layers of one cavity follow one another.
    """

    def __init__(self, holes: Sequence[Hole], stagger: Nm) -> None:
        """Take the cavities, and how far joints of two layers stand apart where they can."""
        ordered = sorted(holes, key=lambda h: (-h.height, -h.width, h.layers))
        self.slots = [(hole, layer) for hole in ordered for layer in range(1, hole.layers + 1)]
        self.stagger = stagger

    def stacked_at(self, at: int, laying: Laying, layings: Sequence[Laying]) -> int:
        """Return how many joints of one layer, and of the layers beside it, stand over one another."""
        hole, layer = self.slots[at]
        below = clashes(layings[at - 1], laying, self.stagger) if layer > 1 else 0
        return below + (clashes(laying, layings[at + 1], self.stagger) if layer < hole.layers else 0)

    def stacked(self, layings: Sequence[Laying]) -> int:
        """Return how many joints stand over one of the layer before."""
        return sum(self.stacked_at(at, laying, layings) for at, laying in enumerate(layings)) // 2

    def arranged(self, at: int, laying: Laying, layings: Sequence[Laying]) -> tuple[int, Laying]:
        """Return a laying turned about so that fewest joints stand over others, and how many do first."""
        hole, _ = self.slots[at]
        if not self.stagger or hole.layers == 1:
            return 0, laying
        ways = product((False, True), repeat=2)
        turned = [flipped(laying, hole.width, hole.height, across=across, up=up) for up, across in ways]
        return min(((self.stacked_at(at, way, layings), way) for way in turned), key=lambda way: way[0])

"""Joints of one layer over those of the next, and how a laying is turned about so that they stand apart."""

from collections.abc import Iterator, Sequence
from itertools import product

from estimator.core.units import Nm
from estimator.cutting.boards.layings import Laying, flipped
from estimator.cutting.boards.strip_supply import CLEAR
from estimator.cutting.plans import Hole


def _joints(laying: Laying) -> tuple[set[Nm], set[Nm]]:
    """Return where a laying's joints stand: places across, and places up."""
    return {spot.x for spot in laying} - {0}, {spot.y for spot in laying} - {0}


class Layers:
    """Every layer of every cavity, in an order that does not depend on the cavities' names.

    Attributes:
        slots: cavity and number of each layer, from 1.
    """

    def __init__(self, holes: Sequence[Hole], stagger: Nm) -> None:
        """Take the cavities, and how far joints of two layers stand apart where they can."""
        ordered = sorted(holes, key=lambda h: (-h.height, -h.width, h.seams, h.layers))
        self.slots = [(hole, layer) for hole in ordered for layer in range(1, hole.layers + 1)]
        self.stagger = stagger
        self._at = {(hole.name, layer): at for at, (hole, layer) in enumerate(self.slots)}

    def stacked(self, layings: Sequence[Laying]) -> int:
        """Return how many joints stand over one of the layer before."""
        return sum(
            self._near(layings[before], layings[at])
            for at, (hole, layer) in enumerate(self.slots)
            if (before := self._at.get((hole.name, layer - 1))) is not None
        )

    def stacked_at(self, at: int, laying: Laying, layings: Sequence[Laying]) -> int:
        """Return how many joints of one layer, and of the layers beside it, stand over one another."""
        if not self.stagger:
            return 0
        hole, layer = self.slots[at]
        before, after = self._at.get((hole.name, layer - 1)), self._at.get((hole.name, layer + 1))
        total = 0 if before is None else self._near(layings[before], laying)
        return total if after is None else total + self._near(laying, layings[after])

    def _near(self, before: Laying, after: Laying) -> int:
        if not self.stagger:
            return 0
        pairs = zip(_joints(before), _joints(after), strict=True)
        return sum(any(abs(a - b) < self.stagger for b in there) for there, here in pairs for a in here)

    def on_seams(self, at: int, laying: Laying) -> int:
        """Return how many pieces of a layer begin at a seam of the cloth."""
        seams = self.slots[at][0].seams
        return sum(spot.x in seams for spot in laying) if seams else 0

    def arranged(self, at: int, laying: Laying, layings: Sequence[Laying]) -> tuple[Laying, int] | None:
        """Return a laying turned about so that fewest joints stand over others, and how many do.

        None where every way would put a joint at a seam of the cloth.
        """
        best: tuple[Laying, int] | None = None
        for turned in self.turned(at, laying):
            stacked = self.stacked_at(at, turned, layings)
            if best is None or stacked < best[1]:
                best = turned, stacked
            if not stacked:
                break
        return best

    def turned(self, at: int, laying: Laying) -> Iterator[Laying]:
        """Return a laying and its mirror images, those with a joint at a seam of the cloth left out."""
        hole, _ = self.slots[at]
        if not hole.seams and not self.stagger:
            yield laying
            return
        for up, across in product((False, True), repeat=2):
            turned = flipped(laying, hole.width, hole.height, across=across, up=up)
            if all(abs(spot.x - seam) >= CLEAR for seam in hole.seams for spot in turned if spot.x):
                yield turned

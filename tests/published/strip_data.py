"""The published strip packing cases, read from the file beside.

Source: E. Hopper and B. C. H. Turton, "An empirical investigation of meta-heuristic and heuristic algorithms
for a 2D packing problem", European Journal of Operational Research 128 (2001) 34-57, classes C1 to C7. The
pieces of a case are cut from one rectangle without waste, so the least length is that rectangle's: area over
width.
"""

import csv
from dataclasses import dataclass
from pathlib import Path

from estimator.core.units import MM
from estimator.cutting.plans import RollPiece

FILE = Path(__file__).parent / "data" / "strip_instances.csv"


@dataclass(frozen=True)
class StripCase:
    name: str
    width: int
    least_length: int
    sizes: tuple[tuple[int, int], ...]

    def pieces(self, *, may_turn: bool = True) -> list[RollPiece]:
        """The pieces as cloth, one unit of the case taken as a millimetre."""
        return [
            RollPiece(f"{self.name}.{n}", width * MM, length * MM, may_turn)
            for n, (width, length) in enumerate(self.sizes, 1)
        ]


def strip_cases() -> list[StripCase]:
    lines = [line for line in FILE.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    sizes: dict[str, list[tuple[int, int]]] = {}
    whole: dict[str, tuple[int, int]] = {}
    for row in csv.DictReader(lines):
        name = row["class"]
        whole[name] = int(row["width"]), int(row["length"])
        size = int(row["piece_width"]), int(row["piece_length"])
        sizes.setdefault(name, []).extend([size] * int(row["count"]))
    return [StripCase(name, *whole[name], tuple(found)) for name, found in sizes.items()]

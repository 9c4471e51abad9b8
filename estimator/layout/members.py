"""Members and cavities of a frame: rails run the full width, stiles and studs stand between them."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from estimator.calc.evaluation import worked_out
from estimator.calc.expressions import Expr, Operand, call, lift, whole_up
from estimator.core.units import Nm
from estimator.layout.records import Cavity, Member, Role


@dataclass(frozen=True, slots=True)
class FrameStock:
    """Frame stock and how it is set: `thickness` seen from the front, `depth` of the frame.

    Attributes:
        spacing: studs are no further apart, centre to centre.
        longest: longest stick; a longer rail is spliced over a stud.
    """

    product: str
    thickness: Nm
    depth: Nm
    spacing: Nm
    longest: Nm


@dataclass(frozen=True, slots=True)
class Fill:
    """What fills a cavity: boards in layers with air behind."""

    board: str
    layers: int
    gap: Nm


def bays_between(width: Operand, thickness: Operand, spacing: Operand) -> Expr:
    """Return the bays of a frame: ceil((width - thickness) / spacing), at least 1."""
    return call("MAX", whole_up((lift(width) - thickness) / spacing), 1)


@cache
def bays(width: Nm, thickness: Nm, spacing: Nm) -> int:
    """Return how many bays a frame has, by the workbook's rule; worked out once a size."""
    return int(worked_out(bays_between, Decimal(width), Decimal(thickness), Decimal(spacing)))


def even_studs(width: Nm, thickness: Nm, count: int) -> tuple[Nm, ...]:
    """Return the stud centres that divide a frame into `count` even bays, the same from either end."""
    run, half = width - thickness, thickness // 2
    from_left = [half + k * run // count for k in range(1, (count + 1) // 2)]
    middle = [width // 2] if count % 2 == 0 else []
    return (*from_left, *middle, *(width - x for x in reversed(from_left)))


def regular_studs(width: Nm, thickness: Nm, spacing: Nm) -> tuple[Nm, ...]:
    """Return the centres of the equally spaced studs, from the frame's left; one fewer than bays."""
    return even_studs(width, thickness, bays(width, thickness, spacing))


def stud_centres(
    width: Nm,
    stock: FrameStock,
    reach: Nm | None,
    boxes: Sequence[tuple[Nm, Nm]],
    near: Nm,
    least: Nm = 0,
) -> tuple[Nm, ...]:
    """Return the centres of all studs: the regular ones, those under seams, and those beside boxes.

    Where the regular studs do not serve the cloth's seams, the bays are made smaller until they do.

    Args:
        width: of the frame.
        stock: frame stock.
        reach: how far apart seams of the cloth may be at most (its usable width); None where the cloth
            covers the face in one piece.
        boxes: left and right side of each electrical box behind the frame with its clearance, from the
            frame's left.
        near: a stud serves a box when its edge is no further than this from the box.
        least: a stud is set beside a box where it leaves no narrower cavity, if there is such a place.
    """
    count = bays(width, stock.thickness, stock.spacing)
    studs = even_studs(width, stock.thickness, count)
    while reach is not None and splice_points(width, studs, reach) is None and _open(width, stock, count):
        count += 1
        studs = even_studs(width, stock.thickness, count)
    for box in sorted(boxes):
        studs = _beside_box(studs, box, width, stock, max(near, stock.thickness), least)
    return studs


def _open(width: Nm, stock: FrameStock, count: int) -> bool:
    """Return whether one bay more still leaves a cavity as wide as a member."""
    return (width - stock.thickness) // (count + 1) >= 2 * stock.thickness


def _beside_box(
    studs: Sequence[Nm], box: tuple[Nm, Nm], width: Nm, stock: FrameStock, near: Nm, least: Nm
) -> tuple[Nm, ...]:
    """Return the studs with none in the way of a box, one that serves it, and none too far from the next.

    A stud moves up to the box if its neighbours are then near enough to each other; else there is one more.
    """
    half = stock.thickness // 2
    ends = (half, width - half)
    row = _StudRow(ends, half, least, stock.spacing)
    kept = [s for s in studs if s + half <= box[0] or s - half >= box[1]]
    left, right = box[0] - half, box[1] + half
    places = (right, left) if right <= width - left else (left, right)
    if not any(_serves(s, half, box, near) for s in (*ends, *kept)):
        kept = row.best([*row.moved(kept, places), *row.added(kept, places)], kept)
    for _ in range(max(1, len(studs) - len(kept))):
        if row.widest(kept) > stock.spacing:
            kept = row.best(row.added(kept, places), kept)
    return tuple(kept)


def _serves(stud: Nm, half: Nm, box: tuple[Nm, Nm], near: Nm) -> bool:
    """Return whether a member's edge is near enough to a box, or the box reaches under it."""
    return max(box[0] - stud - half, stud - half - box[1]) <= near


@dataclass(frozen=True, slots=True)
class _StudRow:
    """Judges rows of studs between a frame's stiles: `ends` are the stiles' centres."""

    ends: tuple[Nm, Nm]
    half: Nm
    least: Nm
    spacing: Nm

    def added(self, kept: Sequence[Nm], places: Sequence[Nm]) -> list[list[Nm]]:
        """Return the rows with one stud more."""
        free = [p for p in places if all(abs(p - s) >= 2 * self.half for s in (*self.ends, *kept))]
        return [sorted((*kept, p)) for p in free]

    def moved(self, kept: Sequence[Nm], places: Sequence[Nm]) -> list[list[Nm]]:
        """Return the rows with one stud moved that leave none too far from the next."""
        rows = (row for s in kept for row in self.added([k for k in kept if k != s], places))
        return [row for row in rows if self.widest(row) <= self.spacing]

    def widest(self, studs: Sequence[Nm]) -> Nm:
        """Return how far two members are apart at most, centre to centre."""
        return max(b - a for a, b in itertools.pairwise(sorted((*self.ends, *studs))))

    def best(self, rows: Sequence[list[Nm]], otherwise: list[Nm]) -> list[Nm]:
        """Return the row with the fewest cavities that are too narrow, then the fewest studs."""
        return min(rows, key=lambda row: (self._narrow(row), len(row)), default=otherwise)

    def _narrow(self, studs: Sequence[Nm]) -> int:
        """Return the cavities narrower than the least; members that touch leave none."""
        line = sorted((*self.ends, *studs))
        return sum(0 < b - a - 2 * self.half < self.least for a, b in itertools.pairwise(line))


def splice_points(width: Nm, studs: Sequence[Nm], longest: Nm) -> tuple[Nm, ...] | None:
    """Return the stud centres over which a rail is spliced, the fewest; None where no stud is in reach."""
    points: list[Nm] = []
    at = 0
    while width - at > longest:
        reachable = [s for s in studs if at < s <= at + longest]
        if not reachable:
            return None
        at = max(reachable)
        points.append(at)
    return tuple(points)


def build(name: str, width: Nm, height: Nm, stock: FrameStock, studs: Sequence[Nm]) -> tuple[Member, ...]:
    """Return a frame's rails (spliced over studs where longer than a stick), stiles and studs.

    The bottom rail's splices are reckoned from the left and the top rail's from the right, so that they do
    not lie over each other where the studs allow it.
    """
    points = splice_points(width, studs, stock.longest) or ()
    back = splice_points(width, [width - s for s in studs], stock.longest) or ()
    spliced = {"bottom": (0, *points, width), "top": (0, *(width - x for x in reversed(back)), width)}
    members = []
    for end, z in (("bottom", 0), ("top", height - stock.thickness)):
        cuts = spliced[end]
        for k, (left, right) in enumerate(itertools.pairwise(cuts), 1):
            part = f" {k}" if points else ""
            members.append(_member(f"{name} {end} rail{part}", "rail", right - left, stock, (left, z)))
    tall, half = height - 2 * stock.thickness, stock.thickness // 2
    for label, x in (("left", 0), ("right", width - stock.thickness)):
        members.append(_member(f"{name} {label} stile", "stile", tall, stock, (x, stock.thickness)))
    for k, centre in enumerate(studs, 1):
        members.append(_member(f"{name} stud {k}", "stud", tall, stock, (centre - half, stock.thickness)))
    return tuple(members)


def _member(name: str, role: Role, length: Nm, stock: FrameStock, corner: tuple[Nm, Nm]) -> Member:
    return Member(
        name, role, stock.product, length, stock.thickness, stock.depth, corner[0], corner[1],
        upright=role != "rail",
    )  # fmt: skip


def cavities(
    name: str, size: tuple[Nm, Nm], stock: FrameStock, studs: Sequence[Nm], fill: Fill
) -> tuple[Cavity, ...]:
    """Return the spaces between the members, left to right; two studs side by side leave none between."""
    width, height = size
    half, t = stock.thickness // 2, stock.thickness
    lefts = [t, *(centre - half + t for centre in studs)]
    rights = [*(centre - half for centre in studs), width - t]
    spaces = [(left, right) for left, right in zip(lefts, rights, strict=True) if right > left]
    return tuple(
        Cavity(f"{name} cavity {k}", left, t, right - left, height - 2 * t, fill.board, fill.layers, fill.gap)
        for k, (left, right) in enumerate(spaces, 1)
    )

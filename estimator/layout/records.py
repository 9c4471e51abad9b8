"""Frames, their edges and what they weigh, and what came of pieces: records that all downstream reads.

All lengths are whole nanometres. Every kind of piece yields the same records. Coordinates inside a frame
start at its lower-left corner as seen from its front; `Placement` says where that corner is in the room.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal, TypeAlias

from estimator.catalogue.records import Catalogue
from estimator.core.errors import Problem
from estimator.core.units import METRE, Nm, metres
from estimator.layout.plan import PlanOpening, RoomPlan
from estimator.layout.shapes import Side

Meets = Literal[
    "wall", "ceiling", "bulkhead", "sill", "casing", "baseboard", "floor", "angled", "frame", "free"
]  # fmt: skip
Role = Literal["rail", "stile", "stud", "block", "foot", "brace"]


Hold: TypeAlias = Literal["stud", "board", "masonry", "hanger", "frame"]
"""What a fixing holds in; `board` holds nothing for certain."""


@dataclass(frozen=True, slots=True)
class End:
    """How one end of a strip is cut: square, mitre (`angle_deg` off square) or scribe (`extra` left on)."""

    cut: Literal["square", "mitre", "scribe"]
    angle_deg: float = 0.0
    extra: Nm = 0


@dataclass(frozen=True, slots=True)
class Member:
    """A piece of frame stock: `length` along it, long point to long point; `x`, `y` its lower-left corner.

    Attributes:
        bevel_deg: bevel along an end stile's length, at an outside corner that is mitred.
        ends: the cuts of its start (left or bottom) and end.
    """

    name: str
    role: Role
    product: str
    length: Nm
    thickness: Nm
    depth: Nm
    x: Nm
    y: Nm
    upright: bool
    bevel_deg: float = 0.0
    ends: tuple[End, End] = (End("square"), End("square"))


@dataclass(frozen=True, slots=True)
class Cavity:
    """The space between members, filled with `layers` of `board` with `gap` of air behind.

    Attributes:
        stacked: the filling of a solid trap: triangles lying flat behind the frame, two from a piece; the
            front shows their edges.
    """

    name: str
    x: Nm
    y: Nm
    width: Nm
    height: Nm
    board: str
    layers: int
    gap: Nm
    stacked: bool = False


@dataclass(frozen=True, slots=True)
class Face:
    """A side of a frame that is covered in cloth.

    Attributes:
        fabric: product in the price list; `colour` is the dye lot's name ('' where there is one colour).
        wrap: how far the cloth goes round each edge, pull included; the cut piece is
            (width + 2 wrap) x (height + 2 wrap).
        seams: x positions on the face over which a seam may fall (stud centres).
        turn_allowed: the cloth may be railroaded.
    """

    name: str
    width: Nm
    height: Nm
    fabric: str
    colour: str
    wrap: Nm
    seams: tuple[Nm, ...]
    turn_allowed: bool


@dataclass(frozen=True, slots=True)
class Edge:
    """One side of a frame and what it meets. `cased` edges carry a casing strip.

    Attributes:
        length: of this part of the side; a side that meets several things has an edge for each.
        neighbour: the frame it joins, where it meets 'frame' or an 'angled' frame.
        turn_deg: turn of the plan at that side (0 = straight on), positive at inside corners.
        start: where this part begins, from the frame's bottom or left.
        tight: the building is so near that no nail can be driven through a casing here.
    """

    side: Side
    length: Nm
    meets: Meets
    cased: bool
    neighbour: str = ""
    turn_deg: float = 0.0
    start: Nm = 0
    tight: bool = False


@dataclass(frozen=True, slots=True)
class Strip:
    """A casing or cover strip as it is cut.

    Attributes:
        frame, side: where it goes.
        start: where it starts along its frame's side, from the left or bottom; below 0 where it runs past.
        length: cut length, long point to long point, scribe extra included.
        allowance: the part of `length` beyond the frame's own edge (laps, mitres, scribe).
        width: finished width (rip width when `ripped`).
        girth: exposed girth that is painted, per running length.
        ends: the cuts at its start (left or bottom) and end.
        bevel_deg: bevel along its length, 0 for square.
        sealed: lines of sealant along it.
        glued: it stands in a slot beside the building where no nail can be driven, and is held by adhesive.
    """

    name: str
    kind: Literal["casing", "cover"]
    frame: str
    side: Side
    product: str
    finish: str
    start: Nm
    length: Nm
    allowance: Nm
    width: Nm
    thickness: Nm
    ripped: bool
    girth: Nm
    ends: tuple[End, End]
    bevel_deg: float
    sealed: int
    primer: str = ""
    glued: bool = False


@dataclass(frozen=True, slots=True)
class Fixing:
    """A screw through a member into what is behind it.

    Attributes:
        screw: key of the price list (the first row of that length).
        holds_in: 'stud', 'board' (gypsum only), 'masonry', 'hanger' or 'frame'.
        bite: length of thread in what holds (0 for gypsum only).
        past_face: how far the point passes the face of the stud.
    """

    frame: str
    x: Nm
    y: Nm
    screw: str
    holds_in: Hold
    bite: Nm
    past_face: Nm


@dataclass(frozen=True, slots=True)
class Spread:
    """How the fixings of a frame are spread along members, by which another size of it is counted.

    Attributes:
        pitch: of the studs, centre to centre; 0 where the fixings are set evenly along two members.
        first: the first stud centre that a screw may go into, from the frame's left, or from its bottom where
            the studs lie level; None where no stud's place is known.
        edge: no fixing nearer than this to the frame's end.
        upward: along the frame's height and not its width: through the uprights where studs lie level.
    """

    pitch: Nm
    first: Nm | None
    edge: Nm
    upward: bool

    @property
    def lead(self) -> Nm:
        """Return what is added to a length so that whole pitches in it are the studs that cross it."""
        return 0 if self.first is None else self.pitch - self.edge - self.first


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a frame's lower-left corner is: along plan wall `wall` from its start, and above the floor.

    For pieces that stand on no wall `wall` is '' and `x`, `z` are 0; a cloud's `z` is its underside.

    Attributes:
        covers: the surface of the room that it covers: a wall, or the window it fills; '' for what hangs or
            stands in the room.
    """

    wall: str
    x: Nm
    z: Nm
    covers: str = ""


NOWHERE = Placement("", 0, 0)


@dataclass(frozen=True, slots=True)
class CutOut:
    """Where a frame or its casing stands over an electrical box: the box with its clearance.

    Attributes:
        name: of the box.
        x, y: lower-left corner from the frame's; outside the frame where only its casing is over the box.
        counted: whether this frame is the one at which the box is brought forward.
    """

    name: str
    x: Nm
    y: Nm
    width: Nm
    height: Nm
    counted: bool


@dataclass(frozen=True, slots=True)
class Frame:
    """A frame: what is made in the shop and fixed on the site.

    Attributes:
        name: unique in the job, such as ``N1``.
        host: the treatment or piece it belongs to.
        kind: a key of `PIECES`.
        spread: how its fixings are spread; None for a piece that is fixed in a way of its own.
        boxes: electrical boxes behind it or its casing.
        extra_studs: studs beyond those that the spacing asks for (under seams, beside boxes).
        mass_kg: of members, boards and cloth; casings, nailed on site, are not in it.
    """

    name: str
    host: str
    kind: str
    make_up: str
    width: Nm
    height: Nm
    depth: Nm
    placement: Placement
    members: tuple[Member, ...]
    cavities: tuple[Cavity, ...]
    faces: tuple[Face, ...]
    edges: tuple[Edge, ...]
    fixings: tuple[Fixing, ...] = ()
    spread: Spread | None = None
    boxes: tuple[CutOut, ...] = ()
    extra_studs: int = 0
    mass_kg: float = 0.0

    @property
    def covered_m2(self) -> Decimal:
        """Return the surface covered in cloth, m2: each face of it."""
        return Decimal(self.width * self.height * max(len(self.faces), 1)) / METRE**2

    @property
    def cut_outs(self) -> tuple[CutOut, ...]:
        """Return the boxes that are behind the frame itself."""
        across = (b for b in self.boxes if b.x < self.width and b.x + b.width > 0)
        return tuple(b for b in across if b.y < self.height and b.y + b.height > 0)

    @property
    def boxes_counted(self) -> int:
        """Return the electrical boxes that are brought forward at it."""
        return sum(box.counted for box in self.boxes)

    @property
    def overhead(self) -> bool:
        """Return whether it hangs over people."""
        return any(fixing.holds_in == "hanger" for fixing in self.fixings)


@dataclass(frozen=True, slots=True)
class Hardware:
    """Hangers, hooks or feet of a frame.

    Attributes:
        number: the value of the shop's practice that says how many; '' for as many as its size and weight
            ask for.
    """

    product: str
    count: int
    frame: str
    number: str = ""


@dataclass(frozen=True, slots=True)
class Layout:
    """Everything laid out: frames, strips and where they go.

    Attributes:
        level_line: height of the laser line above the floor.
        reasons: why each band was cut as it was, one plain sentence each.
        worked_round: names of the openings that frames and strips go round.
        problems: warnings and cautions found while laying out.
    """

    room: RoomPlan
    frames: tuple[Frame, ...]
    strips: tuple[Strip, ...]
    openings: tuple[PlanOpening, ...]
    level_line: Nm
    hardware: tuple[Hardware, ...]
    reasons: tuple[str, ...]
    problems: tuple[Problem, ...]
    worked_round: frozenset[str] = frozenset()

    @property
    def covered_m2(self) -> Decimal:
        """Return the surface covered in cloth, m2, of all frames."""
        return sum((frame.covered_m2 for frame in self.frames), Decimal(0))

    @property
    def hosts(self) -> dict[str, tuple[Frame, ...]]:
        """Return the frames of each treatment or piece by its name, in the order they were laid out."""
        names = dict.fromkeys(frame.host for frame in self.frames)
        return {name: tuple(f for f in self.frames if f.host == name) for name in names}


def volume_m3(*sides: Nm) -> float:
    """Return the volume of a box, m3."""
    product = 1.0
    for side in sides:
        product *= metres(side)
    return product


def parts_kg(
    members: Iterable[Member], cavities: Iterable[Cavity], faces: Iterable[Face], catalogue: Catalogue
) -> float:
    """Return the mass of members, boards and cloth, kg; a product without density counts as nothing."""

    def density(product: str) -> float:
        return catalogue.sizes(product)[0].density_kg_m3 or 0.0

    total = sum(volume_m3(m.length, m.thickness, m.depth) * density(m.product) for m in members)
    for c in cavities:
        thickness = catalogue.sizes(c.board)[0].thickness or 0
        total += volume_m3(c.width, c.height, thickness) * c.layers * density(c.board)
    for f in faces:
        cut = metres(f.width + 2 * f.wrap) * metres(f.height + 2 * f.wrap)
        total += cut * (catalogue.sizes(f.fabric)[0].mass_kg_m2 or 0.0)
    return total


def strip_kg(strip: Strip, catalogue: Catalogue) -> float:
    """Return the mass of a strip, kg."""
    density = catalogue.sizes(strip.product)[0].density_kg_m3 or 0.0
    return volume_m3(strip.length, strip.width, strip.thickness) * density


def hung_kg(frame: Frame, strips: Iterable[Strip], catalogue: Catalogue) -> float:
    """Return the mass of a frame with its strips on, kg."""
    return frame.mass_kg + sum(strip_kg(s, catalogue) for s in strips if s.frame == frame.name)


@dataclass(frozen=True, slots=True)
class Made:
    """What came of some pieces."""

    frames: tuple[Frame, ...] = ()
    strips: tuple[Strip, ...] = ()
    hardware: tuple[Hardware, ...] = ()
    reasons: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    worked_round: frozenset[str] = frozenset()


def together(parts: Iterable[Made]) -> Made:
    """Return everything made, in order."""
    everything = tuple(parts)
    return Made(
        tuple(f for m in everything for f in m.frames), tuple(s for m in everything for s in m.strips),
        tuple(h for m in everything for h in m.hardware), tuple(r for m in everything for r in m.reasons),
        tuple(p for m in everything for p in m.problems),
        frozenset().union(*(m.worked_round for m in everything)),
    )  # fmt: skip


def copies(parts: Iterable[tuple[str, Made]]) -> Made:
    """Return the copies of one piece together; what reads alike of several of them is said once.

    Args:
        parts: the name of each copy and what came of it.
    """
    named = tuple(parts)
    said = dict[Problem, list[str]]()
    for name, made in named:
        for problem in made.problems:
            said.setdefault(_renamed(problem, name, _COPY, _COPY), []).append(name)
    problems = (_renamed(p, _COPY, _each(owners), owners[0]) for p, owners in said.items())
    return replace(together(made for _, made in named), problems=tuple(problems))


_COPY = "\N{SECTION SIGN}"
"""Stands for a copy's name while problems are compared: no name and no sentence holds it."""


def _each(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"each of {', '.join(names)}"


def _renamed(problem: Problem, old: str, new: str, where: str) -> Problem:
    whole = re.compile(rf"(?<!\w){re.escape(old)}(?!\w)")

    def renamed(text: str) -> str:
        return whole.sub(lambda _: new, text)

    place = where if problem.where == old else problem.where
    return replace(problem, where=place, what=renamed(problem.what), fix=renamed(problem.fix))

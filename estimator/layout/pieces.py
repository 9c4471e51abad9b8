"""What every piece that is no wall treatment is made of: frames, strips, hardware and what was found."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from estimator.catalogue.records import Catalogue
from estimator.core.errors import Problem
from estimator.core.units import Nm
from estimator.layout.bounds import Piece
from estimator.layout.frames import Plan, frame
from estimator.layout.materials import Cloth, Material
from estimator.layout.records import SIDES, Edge, Fixing, Frame, Kind, Meets, Placement, Side, Strip
from estimator.layout.rects import Rect
from estimator.layout.strips import casings
from estimator.layout.weights import parts_kg

Hardware = tuple[str, int, str]
"""Product, count, and the frame it belongs to."""
NOWHERE = Placement("", 0, 0)


@dataclass(frozen=True, slots=True)
class Made:
    """What came of the pieces of one kind."""

    frames: tuple[Frame, ...] = ()
    strips: tuple[Strip, ...] = ()
    hardware: tuple[Hardware, ...] = ()
    reasons: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()


def together(parts: Iterable[Made]) -> Made:
    """Return everything made, in order."""
    everything = tuple(parts)
    return Made(
        tuple(f for m in everything for f in m.frames), tuple(s for m in everything for s in m.strips),
        tuple(h for m in everything for h in m.hardware), tuple(r for m in everything for r in m.reasons),
        tuple(p for m in everything for p in m.problems),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Body:
    """A piece's frame before it is built.

    Attributes:
        meets: what each side meets.
        cased: the sides that carry a casing.
        faces: names of the faces covered in cloth.
    """

    name: str
    host: str
    kind: Kind
    material: Material
    size: tuple[Nm, Nm]
    cloth: Cloth
    meets: tuple[tuple[Side, Meets], ...]
    cased: frozenset[Side]
    placement: Placement = NOWHERE
    faces: tuple[str, ...] = ("front",)


def all_free() -> tuple[tuple[Side, Meets], ...]:
    """Return four free sides."""
    return tuple((side, "free") for side in SIDES)


def names(name: str, count: int) -> list[str]:
    """Return the frames' names: the piece's own where there is one, else numbered."""
    return [name] if count == 1 else [f"{name}{k}" for k in range(1, count + 1)]


def built(body: Body, catalogue: Catalogue) -> Frame:
    """Return the frame of a piece, with its mass, without fixings."""
    width, height = body.size
    lengths = {"left": height, "right": height, "bottom": width, "top": width}
    casing = bool(body.material.trim.casing)
    edges = [
        Edge(side, lengths[side], what, cased=casing and side in body.cased) for side, what in body.meets
    ]
    plan = Plan(
        body.name, body.host, body.kind, body.material, width, height, body.placement, body.cloth,
        faces=body.faces,
    )  # fmt: skip
    made = frame(plan, edges)
    return weighed(made, catalogue)


def weighed(made: Frame, catalogue: Catalogue) -> Frame:
    """Return a frame with its mass."""
    return replace(made, mass_kg=parts_kg(made.members, made.cavities, made.faces, catalogue))


def piece_strips(made: Frame, material: Material) -> tuple[Strip, ...]:
    """Return the casings of a frame that stands alone."""
    piece = Piece(made.name, made.host, Rect(0, 0, made.width, made.height))
    return casings([piece], {made.name: made.edges}, {made.host: material.trim})


def fixed(made: Frame, places: Sequence[tuple[Nm, Nm]], like: Fixing) -> Frame:
    """Return a frame with one fixing like the one given at each place."""
    return replace(made, fixings=tuple(replace(like, frame=made.name, x=x, y=y) for x, y in places))

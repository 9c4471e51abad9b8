"""What every piece that is no wall treatment is made of: frames, strips, hardware and what was found."""

import re
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


_COPY = "\N{NULL}"
"""Stands for a copy's name while problems are compared: no name holds it."""


def _each(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"each of {', '.join(names)}"


def _renamed(problem: Problem, old: str, new: str, where: str) -> Problem:
    whole = re.compile(rf"(?<!\w){re.escape(old)}(?!\w)")

    def renamed(text: str) -> str:
        return whole.sub(lambda _: new, text)

    place = where if problem.where == old else problem.where
    return replace(problem, where=place, what=renamed(problem.what), fix=renamed(problem.fix))


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

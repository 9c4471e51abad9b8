"""Frames: members, cavities and faces built to a size; the same for a wall and for every other piece."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from estimator.catalogue.records import Catalogue
from estimator.core.units import Nm
from estimator.layout.materials import Cloth, Material, face, seam_reach
from estimator.layout.members import build, cavities, regular_studs, stud_centres
from estimator.layout.records import Edge, Frame, Placement, parts_kg
from estimator.layout.shapes import Rect


@dataclass(frozen=True, slots=True)
class Plan:
    """What a frame is to be, before its parts are known.

    Attributes:
        boxes: electrical boxes behind it, in its own coordinates.
        near: a stud serves a box when its edge is no further than this from it.
        faces: names of the faces covered in cloth.
    """

    name: str
    host: str
    kind: str
    material: Material
    width: Nm
    height: Nm
    placement: Placement
    cloth: Cloth
    boxes: tuple[Rect, ...] = ()
    near: Nm = 0
    faces: tuple[str, ...] = ("front",)
    count: int = 1


def studs_of(plan: Plan) -> tuple[Nm, ...]:
    """Return the stud centres of a frame."""
    reach = seam_reach(plan.cloth, plan.width, plan.height)
    spans = [(b.left, b.right) for b in plan.boxes]
    return stud_centres(plan.width, plan.material.stock, reach, spans, plan.near)


def frame(plan: Plan, edges: Sequence[Edge]) -> Frame:
    """Return a frame with its members, cavities and faces, built to the size of the plan."""
    material, studs = plan.material, studs_of(plan)
    regular = regular_studs(plan.width, material.stock.thickness, material.stock.spacing)
    return Frame(
        plan.name, plan.host, plan.kind, material.name, plan.width, plan.height, material.depth,
        plan.placement,
        members=build(plan.name, plan.width, plan.height, material.stock, studs),
        cavities=cavities(plan.name, (plan.width, plan.height), material.stock, studs, material.fill),
        faces=tuple(face(f"{plan.name} {f}", plan.width, plan.height, plan.cloth, studs) for f in plan.faces),
        edges=tuple(edges), boxes=len(plan.boxes), extra_studs=len(studs) - len(regular),
    )  # fmt: skip


def resized(edges: Sequence[Edge], old: tuple[Nm, Nm], new: tuple[Nm, Nm]) -> tuple[Edge, ...]:
    """Return the edges of a frame whose size was changed by hand: a side's last part takes the change."""
    found = []
    for edge in edges:
        upright = edge.side in {"left", "right"}
        before, after = (old[1], new[1]) if upright else (old[0], new[0])
        last = edge.start + edge.length == before
        length = after - edge.start if last else min(edge.length, after - edge.start)
        if length > 0:
            found.append(replace(edge, length=length))
    return tuple(found)


def frame_mass_kg(material: Material, width: Nm, height: Nm, catalogue: Catalogue) -> float:
    """Return the mass of a frame with its regular studs and one face, casings left out, kg."""
    stock, size = material.stock, (width, height)
    studs = regular_studs(width, stock.thickness, stock.spacing)
    filling = cavities("", size, stock, studs, material.fill)
    faces = [face("", *size, material.cloth, studs)]
    return parts_kg(build("", *size, stock, studs), filling, faces, catalogue)

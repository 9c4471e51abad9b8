"""Frames built to a size, and what their make-up is made of: members, cavities, faces, trim and cloth."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from estimator.catalogue.records import Catalogue
from estimator.core.errors import Problem, Severity
from estimator.core.units import Nm
from estimator.job.description import Job
from estimator.job.description_pieces import MakeUp
from estimator.layout.members import Fill, FrameStock, build, cavities, regular_studs, stud_centres
from estimator.layout.records import CutOut, Edge, Face, Frame, Placement, parts_kg
from estimator.layout.strips import CornerRule, Trim


@dataclass(frozen=True, slots=True)
class Cloth:
    """The cloth of a make-up.

    Attributes:
        wrap: round each edge: frame depth and pull.
        width: of the roll.
        turn_allowed: it may be railroaded.
    """

    fabric: str
    colour: str
    wrap: Nm
    width: Nm
    turn_allowed: bool


@dataclass(frozen=True, slots=True)
class Material:
    """A make-up with its measures.

    Attributes:
        gravity: specific gravity of the member's wood, for screw holding.
    """

    name: str
    stock: FrameStock
    fill: Fill
    trim: Trim
    cloth: Cloth
    board_thickness: Nm
    gravity: float

    @property
    def depth(self) -> Nm:
        """Return the frame's depth."""
        return self.stock.depth

    @property
    def casing(self) -> Nm:
        """Return how far frames stop short for a casing and its gap, 0 where there is none."""
        return self.trim.reach


def materials(job: Job, catalogue: Catalogue) -> dict[str, Material]:
    """Return every make-up of the job by name; that each fits together `catalogue.agreement` has found."""
    return {name: _material(name, make_up, catalogue) for name, make_up in job.make_ups.items()}


def _material(name: str, make_up: MakeUp, catalogue: Catalogue) -> Material:
    sizes, fabric = catalogue.sizes(make_up.member), catalogue.sizes(make_up.fabric)[0]
    member, board, practice = sizes[0], catalogue.sizes(make_up.board)[0], catalogue.practice
    depth, longest = member.width or 0, max(item.length or 0 for item in sizes)
    stock = FrameStock(make_up.member, member.thickness or 0, depth, practice.length("stud_spacing"), longest)
    cloth = Cloth(
        make_up.fabric, make_up.colour or "", depth + practice.length("wrap_pull"), fabric.width or 0,
        fabric.railroad and not fabric.nap,
    )  # fmt: skip
    return Material(
        name, stock, Fill(make_up.board, make_up.layers, make_up.gap), _trim(make_up, catalogue, depth),
        cloth, board.thickness or 0, member.specific_gravity or 0.0,
    )  # fmt: skip


def _trim(make_up: MakeUp, catalogue: Catalogue, depth: Nm) -> Trim:
    practice = catalogue.practice
    rule: CornerRule = "mitre" if practice.choice("casing_corner") == "mitre" else "butt"
    return Trim(
        make_up.casing or "", *_section(make_up.casing, catalogue),
        make_up.cover or "", *_section(make_up.cover, catalogue),
        make_up.finish or "", depth, rule, practice.length("scribe_extra"),
        practice.length("casing_gap") if make_up.casing else 0, make_up.primer or "",
    )  # fmt: skip


def _section(product: str | None, catalogue: Catalogue) -> tuple[Nm, Nm]:
    """Return the thickness and width of a strip; nothing where there is none."""
    item = catalogue.sizes(product)[0] if product else None
    return (item.thickness or 0, item.width or 0) if item else (0, 0)


def seam_reach(cloth: Cloth, width: Nm, height: Nm) -> Nm | None:
    """Return how far apart seams may be on a face; None where the cloth covers it in one piece.

    The cloth covers it in one piece upright where the face and its wraps are no wider than the roll, or
    railroaded where they are no higher than it.
    """
    if width + 2 * cloth.wrap <= cloth.width:
        return None
    if cloth.turn_allowed and height + 2 * cloth.wrap <= cloth.width:
        return None
    return cloth.width - 2 * cloth.wrap


def face(name: str, width: Nm, height: Nm, cloth: Cloth, studs: Sequence[Nm]) -> Face:
    """Return a face covered in the cloth; seams may fall over any stud."""
    return Face(name, width, height, cloth.fabric, cloth.colour, cloth.wrap, tuple(studs), cloth.turn_allowed)


def cloths(job: Job, catalogue: Catalogue) -> Callable[[str, str, Cloth], Cloth]:
    """Return the function that gives a frame's cloth from its name, its host and its make-up's cloth.

    A colour for a frame goes before one for its treatment; of two for the same, the later one stands.
    """
    by_host = {c.wall: c for c in job.colours if c.wall is not None}
    by_frame = {name: c for c in job.colours for name in c.frames}

    def cloth_of(frame: str, host: str, cloth: Cloth) -> Cloth:
        for chosen in (by_host.get(host), by_frame.get(frame)):
            if chosen is None:
                continue
            if chosen.fabric is not None and chosen.fabric != cloth.fabric:
                cloth = _other(cloth, chosen.fabric, catalogue)
            if chosen.colour is not None:
                cloth = replace(cloth, colour=chosen.colour)
        return cloth

    return cloth_of


def _other(cloth: Cloth, fabric: str, catalogue: Catalogue) -> Cloth:
    item = catalogue.sizes(fabric)[0]
    turns = item.railroad and not item.nap
    return replace(cloth, fabric=fabric, colour="", width=item.width or 0, turn_allowed=turns)


def strangers(job: Job, frames: set[str], severity: Severity) -> Iterator[Problem]:
    """Yield a problem for each colour of a frame that is not there; an option may leave fewer frames."""
    for at, colour in enumerate(job.colours):
        for name in colour.frames:
            if name not in frames:
                fix = f"There are {', '.join(sorted(frames))}."
                yield Problem(f"colour[{at}].frames", f"there is no frame {name!r}", fix, severity=severity)


@dataclass(frozen=True, slots=True)
class Plan:
    """What a frame is to be, before its parts are known.

    Attributes:
        boxes: electrical boxes behind it or its casing, in its own coordinates.
        near: a stud serves a box when its edge is no further than this from it.
        least: no stud is set beside a box where it leaves a narrower cavity, if another place serves.
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
    boxes: tuple[CutOut, ...] = ()
    near: Nm = 0
    least: Nm = 0
    faces: tuple[str, ...] = ("front",)
    count: int = 1


def studs_of(plan: Plan) -> tuple[Nm, ...]:
    """Return the stud centres of a frame."""
    reach = seam_reach(plan.cloth, plan.width, plan.height)
    spans = [(b.x, b.x + b.width) for b in plan.boxes if b.x < plan.width and b.x + b.width > 0]
    return stud_centres(plan.width, plan.material.stock, reach, spans, plan.near, plan.least)


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
        edges=tuple(edges), boxes=plan.boxes, extra_studs=len(studs) - len(regular),
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

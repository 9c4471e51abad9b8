"""Traps: across an inside corner, flat or with triangles behind; or as a box in a window's recess."""

from collections.abc import Iterator
from dataclasses import replace

from estimator.catalogue.records import Catalogue
from estimator.core.errors import Problem
from estimator.core.units import Nm, format_length
from estimator.job.description import Job
from estimator.job.description_pieces import Corner, Recess
from estimator.layout.corner_places import ceiling_over, chord, triangle_sheet
from estimator.layout.fixings import choose_screw, even, weight_n
from estimator.layout.pieces import FrameWanted, weighed
from estimator.layout.records import Cavity, Fixing, Frame, Made, Meets, Member, Placement, Spread
from estimator.layout.shapes import SIDES, Side
from estimator.layout.sites import Found, found


def corner(trap: Corner, wanted: FrameWanted) -> Made:
    """Return a corner trap."""
    plan, material, display = wanted.plan, wanted.material, wanted.display
    wall = next(w for w in plan.walls if w.name == trap.between[0])
    turn, casing, over = wall.turn_deg, material.casing, ceiling_over(trap, plan)
    height, across = trap.height or over - trap.bottom, chord(trap.leg, turn)
    meets: dict[Side, Meets] = {
        "left": "wall", "right": "wall", "bottom": "free" if trap.bottom else "floor",
        "top": _overhead(trap.bottom + height, over, plan.height),
    }  # fmt: skip
    size = (across - 2 * casing, height - 2 * casing)
    made = wanted.frame(size, meets, Placement("", 0, trap.bottom + casing, wall.name))
    reason = ""
    if trap.kind == "solid":
        made, reason = _solid(made, trap, turn, wanted), "a stack of triangles behind it; "
    made = _cleated(made, wanted.catalogue)
    strips = tuple(
        replace(s, bevel_deg=90.0 - turn / 2, girth=s.thickness + s.width)
        if s.side in {"left", "right"}
        else s
        for s in wanted.strips(made)
    )
    reason = (
        f"{trap.name}: across a corner of {turn:g} degrees, legs {format_length(trap.leg, display)}: "
        f"{reason}{format_length(across, display)} from wall to wall."
    )
    return Made((made,), strips, (), (reason,))


def _overhead(top: Nm, over: Nm, ceiling: Nm) -> Meets:
    if top < over:
        return "free"
    return "ceiling" if over == ceiling else "bulkhead"


def _solid(made: Frame, trap: Corner, turn_deg: float, wanted: FrameWanted) -> Frame:
    """Return the face frame with its boards as a stack of triangles, two cut from one rectangle."""
    layers = made.height // wanted.material.board_thickness
    width, height = triangle_sheet(trap.leg, turn_deg)
    stack = Cavity(
        f"{made.name} triangles, two a piece", 0, 0, width, height, wanted.material.fill.board,
        layers=-(-layers // 2), gap=0, stacked=True,
    )  # fmt: skip
    return weighed(replace(made, cavities=(stack,)), wanted.catalogue)


def _cleated(made: Frame, catalogue: Catalogue) -> Frame:
    """Return the frame with a cleat on either wall that it is screwed to; the cleats hold in gypsum only."""
    practice, stile = catalogue.practice, next(m for m in made.members if m.role == "stile")
    cleats = tuple(
        Member(
            f"{made.name} {side} cleat", "brace", stile.product, stile.length, stile.thickness, stile.depth,
            x, stile.thickness, upright=True,
        )
        for side, x in (("left", 0), ("right", made.width - stile.thickness))
    )  # fmt: skip
    screws = catalogue.sizes(practice.choice("product_fixing_screw"))
    gypsum = practice.length("backing_gypsum_thickness")
    into_wall = choose_screw(screws, stile.thickness + gypsum, 0)
    into_cleat = choose_screw(screws, made.depth, practice.length("fixing_bite_min"))
    spots = even(stile.length, practice.length("fixing_spacing"), stile.thickness)
    found = []
    for x in (stile.thickness // 2, made.width - stile.thickness // 2):
        for y in spots:
            z = y + stile.thickness
            found.append(Fixing(made.name, x, z, into_wall.item.key, "board", 0, into_wall.past_face))
            found.append(Fixing(made.name, x, z, into_cleat.item.key, "frame", into_cleat.bite, 0))
    along = Spread(0, None, 2 * stile.thickness, upward=True)
    both = replace(made, members=(*made.members, *cleats), fixings=tuple(found), spread=along)
    return weighed(both, catalogue)


def _place(box: Recess, job: Job) -> Found:
    """Return the window that a box fills, with its wall."""
    hosts = {t.name: t.on for t in job.walls}
    wall = hosts.get(box.wall, box.wall)
    return next(f for f in found(job) if f.wall == wall and f.opening.name == box.opening)


def blocked_ways(job: Job) -> Iterator[Problem]:
    """Yield why boxes cannot be where the job says: in a way out."""
    for (kind, at), box in job.each(Recess):
        if _place(box, job).opening.egress:
            what = f"{box.opening} is a way out, and {box.name} would fill it"
            fix = "Leave it open, or settle it with the local authority."
            yield Problem(f"{kind}[{at}].opening", what, fix)


def recess(box: Recess, wanted: FrameWanted) -> Made:
    """Return the box of a recess."""
    place = _place(box, wanted.job)
    opening, clear = place.opening, wanted.catalogue.practice.length("recess_clearance")
    made = wanted.frame(
        (opening.width - 2 * clear, opening.height - 2 * clear), dict.fromkeys(SIDES, "casing"),
        Placement(place.wall, opening.left + clear, opening.bottom + clear, place.called), bare=True,
    )  # fmt: skip
    depth, room = (format_length(deep, wanted.display) for deep in (made.depth, box.depth))
    reason = f"{box.name}: a box {depth} deep in a recess {room} deep."
    return Made((made,), (), (wanted.held(),), (reason,), tuple(_watch(box, made, wanted)))


def _watch(box: Recess, made: Frame, wanted: FrameWanted) -> Iterator[Problem]:
    if made.depth > box.depth:
        what = f"{box.name} is deeper than its recess and stands out into the room"
        yield Problem(box.name, what, "Choose a thinner make-up.", severity="warning")
    rated, hooks = wanted.holder.rated_load_n, wanted.held().count
    needed = weight_n(made.mass_kg) * wanted.catalogue.practice.number("hanger_safety_factor")
    if rated is not None and hooks * rated < needed:
        what = f"{hooks} hooks of {rated:.0f} N do not hold {box.name} with the shop's safety factor"
        yield Problem(box.name, what, f"It needs {needed:.0f} N in all.", severity="warning")

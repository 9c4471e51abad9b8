"""Traps across a vertical inside corner: a flat frame, or one with a stack of triangles behind it."""

from dataclasses import replace

from estimator.catalogue.records import Catalogue
from estimator.core.units import Nm, format_length
from estimator.job.description import Job
from estimator.job.description_pieces import Corner
from estimator.layout.corner_geometry import chord, triangle_sheet
from estimator.layout.corner_places import ceiling_over
from estimator.layout.fixings import choose_screw, even
from estimator.layout.materials import Material
from estimator.layout.pieces import Body, Made, built, piece_strips, together, weighed
from estimator.layout.records import Cavity, Fixing, Frame, Meets, Member, Placement, Side, Spread
from estimator.layout.surveyed import RoomPlan
from estimator.layout.wall_frames import Choices

STACK = "triangles, two a piece"
"""How the name of a solid trap's filling ends."""


def is_stack(cavity: Cavity) -> bool:
    """Return whether a filling is a solid trap's: boards lying flat, of which the front shows the edges."""
    return cavity.name.endswith(STACK)


def corners(
    job: Job, plan: RoomPlan, materials: dict[str, Material], catalogue: Catalogue, choices: Choices
) -> Made:
    """Return the corner traps of the job."""
    return together(
        _corner(c, job, plan, materials[c.make_up], catalogue, choices=choices) for c in job.corners
    )


def _corner(
    corner: Corner, job: Job, plan: RoomPlan, material: Material, catalogue: Catalogue, *, choices: Choices
) -> Made:
    wall = next(w for w in plan.walls if w.name == corner.between[0])
    turn, casing = wall.turn_deg, material.casing
    over = ceiling_over(corner, plan)
    height = corner.height or over - corner.bottom
    width = chord(corner.leg, turn) - 2 * casing
    ends: list[tuple[Side, Meets]] = [
        ("left", "wall"), ("right", "wall"), ("bottom", "free" if corner.bottom else "floor"),
        ("top", _overhead(corner.bottom + height, over, plan.height)),
    ]  # fmt: skip
    size = choices.sizes.get(corner.name, (width, height - 2 * casing))
    body = Body(
        corner.name, corner.name, "corner", material, size,
        choices.cloth_of(corner.name, corner.name, material.cloth), tuple(ends),
        frozenset({"left", "right", "bottom", "top"}), Placement("", 0, corner.bottom + casing),
    )  # fmt: skip
    made = built(body, catalogue)
    display, reason = job.header.display, ""
    if corner.kind == "solid":
        made, reason = _solid(made, corner, turn, material, catalogue), "a stack of triangles behind it; "
    made = _cleated(made, catalogue)
    strips = tuple(
        replace(s, bevel_deg=90.0 - turn / 2, girth=s.thickness + s.width)
        if s.side in {"left", "right"}
        else s
        for s in piece_strips(made, material)
    )
    reason = (
        f"{corner.name}: across a corner of {turn:g} degrees, legs {format_length(corner.leg, display)}: "
        f"{reason}{format_length(chord(corner.leg, turn), display)} from wall to wall."
    )
    return Made((made,), strips, (), (reason,))


def _overhead(top: Nm, over: Nm, ceiling: Nm) -> Meets:
    if top < over:
        return "free"
    return "ceiling" if over == ceiling else "bulkhead"


def _solid(made: Frame, corner: Corner, turn_deg: float, material: Material, catalogue: Catalogue) -> Frame:
    """Return the face frame with its boards as a stack of triangles, two cut from one rectangle."""
    layers = made.height // material.board_thickness
    width, height = triangle_sheet(corner.leg, turn_deg)
    stack = Cavity(f"{made.name} {STACK}", 0, 0, width, height, material.fill.board, -(-layers // 2), 0)
    return weighed(replace(made, cavities=(stack,)), catalogue)


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

"""Traps across a vertical inside corner: a flat frame, or one with a stack of triangles behind it."""

from dataclasses import replace

from estimator.catalogue.records import Catalogue
from estimator.core.units import Nm, format_length
from estimator.job.description_pieces import Corner
from estimator.layout.corner_places import ceiling_over, chord, triangle_sheet
from estimator.layout.fixings import choose_screw, even
from estimator.layout.made import Made
from estimator.layout.pieces import FrameWanted, weighed
from estimator.layout.records import Cavity, Fixing, Frame, Meets, Member, Placement, Spread
from estimator.layout.shapes import Side


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

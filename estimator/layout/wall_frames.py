"""The frames and strips of every treated wall: band by band, then all frames of one plan wall together.

Parts of a band in which no frame fits: they stay bare, and the frames go round them.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

from estimator.catalogue.records import Catalogue, Practice
from estimator.core.errors import InputError, Problem, refuse_all
from estimator.core.units import INCH, MM, Display, Nm, format_length
from estimator.job.description import Job
from estimator.job.description_pieces import PIECES, Corner
from estimator.layout.corner_places import kept_clear
from estimator.layout.cuttings import Cutting, FrameLimits, choose, columns_of, reason, score
from estimator.layout.edges import (
    BandHole,
    Piece,
    Standing,
    TreatmentBand,
    edges,
    mitred,
    seat,
    with_neighbours,
)
from estimator.layout.frames import Cloth, Material, Plan, frame, frame_mass_kg, resized, seam_reach
from estimator.layout.plan import RoomPlan
from estimator.layout.records import CutOut, Edge, Frame, Made, Placement, Strip
from estimator.layout.shapes import SIDES, Rect, Side, contact
from estimator.layout.sites import BOX_KINDS, UPRIGHT, CornerRule, Site, bounds, boxes, holes
from estimator.layout.strips import BevelRule, casings, corner_covers, covers, joints


def without(band: TreatmentBand, bare: Sequence[Rect]) -> TreatmentBand:
    """Return the band with its bare parts as holes, or as more of the opening beside them.

    Beside an opening of the same height (or width) a bare part makes that opening larger, so that one
    casing runs past both. Elsewhere it is a hole of its own; its rectangle is turned inside out where it
    is smaller than two casings, and is the bare part itself once the casing is added.
    """
    for rect in bare:
        beside = _beside(band, rect)
        own = rect if beside is None else _hull(band.grown(beside), rect)
        kept = tuple(h for h in band.holes if h is not beside)
        shrunk = own.grown(*(-band.casing,) * 4)
        made = BandHole("bare", "vent", shrunk) if beside is None else replace(beside, rect=shrunk)
        band = replace(band, holes=(*kept, made))
    return band


def bare_problem(site: Site, band: TreatmentBand, rect: Rect, display: Display) -> Problem:
    """Return the warning that a part of a band stays bare, with the opening beside it."""
    beside = next((h for h in band.holes if h.name != "bare" and _touches(band, h, rect)), None)
    size = f"{format_length(rect.width, display)} x {format_length(rect.height, display)}"
    near = f" beside {beside.kind} {beside.name}" if beside else ""
    what = f"{site.name}: a part of the band{near}, {size}, is too narrow for a frame and stays bare"
    fix = "Widen the band, move its end, or close it with a strip."
    return Problem(site.where, what, fix, severity="warning")


def _beside(band: TreatmentBand, rect: Rect) -> BandHole | None:
    """Return the hole that has a whole side in common with a bare part."""
    for hole in band.holes:
        seen = band.grown(hole).common(band.net)
        if any(_whole_side(rect, side, seen) for side in SIDES):
            return hole
    return None


def _whole_side(rect: Rect, side: Side, other: Rect) -> bool:
    return _meet(rect, side, other) and rect.span(side) == other.span(side)


def _touches(band: TreatmentBand, hole: BandHole, rect: Rect) -> bool:
    seen = band.grown(hole).common(band.net)
    return any(_meet(rect, side, seen) for side in SIDES)


def _meet(rect: Rect, side: Side, other: Rect) -> bool:
    return other.area > 0 and contact(rect, side, other) is not None


def _hull(a: Rect, b: Rect) -> Rect:
    return Rect(
        min(a.left, b.left), min(a.bottom, b.bottom), max(a.right, b.right), max(a.top, b.top)
    )  # fmt: skip


Sizes = Mapping[str, tuple[Nm, Nm]]
ClothOf = Callable[[str, str, Cloth], Cloth]
"""The cloth of a frame, given its name, its host and the make-up's cloth."""
_MOST_BARE = 12


@dataclass(frozen=True, slots=True)
class CutBand:
    """A treatment's band and the pieces it was cut into."""

    site: Site
    band: TreatmentBand
    pieces: tuple[Piece, ...]
    reason: str
    problems: tuple[Problem, ...]


def limits(material: Material, catalogue: Catalogue, display: Display) -> FrameLimits:
    """Return what a frame of a make-up may be, by the shop's practice."""
    practice = catalogue.practice
    return FrameLimits(
        practice.length("minimum_piece"), practice.length("frame_width_max"),
        min(practice.length("frame_height_max"), material.stock.longest + 2 * material.stock.thickness),
        practice.number("frame_weight_max"), material.stock.longest,
        buildable=2 * material.stock.thickness + (INCH if display == "imperial" else 25 * MM),
        step=INCH // 16 if display == "imperial" else MM,
        mass_kg=cache(lambda width, height: frame_mass_kg(material, width, height, catalogue)),
        seam_reach=lambda width, height: seam_reach(material.cloth, width, height),
    )  # fmt: skip


def cut_bands(
    job: Job, plan: RoomPlan, sites: Sequence[Site], made: Mapping[str, Material], catalogue: Catalogue
) -> list[CutBand]:
    """Return every treatment's band, cut into pieces.

    Raises:
        InputError: frame widths that do not fit, or a band in which no frame fits; all of them.
    """
    rule: CornerRule = "butt" if catalogue.practice.choice("corner_rule") == "butt" else "mitre"
    found, problems = list[CutBand](), list[Problem]()
    for site in sites:
        around = holes(site, job, plan, catalogue.practice)
        clear = kept_clear(site, job.of(Corner), plan, made)
        band = TreatmentBand(site.whole, bounds(site, sites, plan, rule, clear), around, site.material.casing)
        try:
            found.append(cut_band(site, band, limits(site.material, catalogue, job.header.display), job))
        except InputError as error:
            problems += error.problems
    refuse_all(problems)
    return found


def cut_band(site: Site, band: TreatmentBand, limit: FrameLimits, job: Job) -> CutBand:
    """Return one band cut into pieces, named left to right and bottom to top.

    Raises:
        InputError: frame widths that do not fit, or a band in which no frame fits.
    """
    if site.treatment.frames:
        cutting, problems = _own_columns(site, band, limit, job.header.display), list[Problem]()
    else:
        band, cutting, problems = _best(site, band, limit, job.header.display)
    if not cutting.pieces:
        what = f"no frame fits in the band of {site.name}"
        raise InputError([Problem(f"{site.where}.band", what, "Make the band larger, or leave it out.")])
    pieces = tuple(Piece(f"{site.name}{k}", site.name, rect) for k, rect in enumerate(cutting.pieces, 1))
    problems += _small(pieces, limit, job.header.display)
    problems += _gaps(site, band, job.header.display)
    return CutBand(site, band, pieces, reason(site.name, cutting, job.header.display), tuple(problems))


def _best(
    site: Site, band: TreatmentBand, limit: FrameLimits, display: Display
) -> tuple[TreatmentBand, Cutting, list[Problem]]:
    """Return the best cutting; a strip too narrow to build is left bare and the rest cut again."""
    problems = list[Problem]()
    for _ in range(_MOST_BARE):
        cutting = choose(band.net, band.grown_holes, limit)
        bare = [p for p in cutting.pieces if min(p.width, p.height) < limit.buildable]
        if not bare:
            break
        problems += [bare_problem(site, band, rect, display) for rect in bare]
        band = without(band, bare)
    return band, cutting, problems


def _own_columns(site: Site, band: TreatmentBand, limit: FrameLimits, display: Display) -> Cutting:
    widths, net = site.treatment.frames, band.net
    off = sum(widths) - net.width
    if abs(off) <= limit.step:
        widths = (*widths[:-1], widths[-1] - off)
    else:
        have, room = format_length(sum(widths), display), format_length(net.width, display)
        what = f"the frames of {site.name} add up to {have}; between its casings there is room for {room}"
        fix = f"Make them {format_length(abs(off), display)} {'narrower' if off > 0 else 'wider'} in all."
        raise InputError([Problem(f"{site.where}.frames", what, fix)])
    pieces = columns_of(net, band.grown_holes, widths)
    if isinstance(pieces, int):
        what = f"frame {pieces} of {site.name} would stand partly over an opening"
        fix = "End a frame at each side of the opening, its casing and the strip added."
        raise InputError([Problem(f"{site.where}.frames[{pieces - 1}]", what, fix)])
    small = [p for p in pieces if min(p.width, p.height) < limit.buildable]
    if small:
        what = f"a frame of {site.name} is too small to build: its members leave nothing between them"
        raise InputError([Problem(f"{site.where}.frames", what, "Make the frame wider.")])
    return Cutting(pieces, score(pieces, net, limit), 0)


def _gaps(site: Site, band: TreatmentBand, display: Display) -> Iterator[Problem]:
    """Yield a warning for each end that leaves a gap at its face to a wall not square to it."""
    for side in UPRIGHT:
        bound = band.bounds[side]
        if bound.meets != "wall" or not bound.cased or bound.turn_deg <= 0:
            continue
        gap = seat(site.material.depth, bound.turn_deg, site.material.casing).gap
        if gap:
            where = f"a gap of {format_length(gap, display)} at its face on the {side}"
            what = f"{site.name} leaves {where}: the wall there is not square to it"
            yield Problem(site.where, what, "Close it with a scribed filler.", severity="warning")


def _small(pieces: Sequence[Piece], limit: FrameLimits, display: Display) -> Iterator[Problem]:
    for piece in pieces:
        side = min(piece.rect.width, piece.rect.height)
        if side < limit.narrowest:
            what = f"{piece.name} is {format_length(side, display)} at its smaller side"
            least = format_length(limit.narrowest, display)
            fix = f"The shop's least is {least}; move the band's end if you can."
            yield Problem(piece.name, what, fix, severity="warning")


@dataclass(frozen=True, slots=True)
class Choices:
    """What is chosen frame by frame.

    Attributes:
        cloth_of: the cloth of a frame.
        sizes: frames whose width and height were changed by hand.
        practice: the shop's.
        bevel: strips at a turn are bevelled by half on both, or by the whole on one.
    """

    cloth_of: ClothOf
    sizes: Sizes
    practice: Practice
    bevel: BevelRule


def wall_frames(job: Job, cuts: Sequence[CutBand], choices: Choices) -> Made:
    """Return frames and strips of every treated wall, treatments in the job file's order."""
    frames, strips = list[Frame](), list[Strip]()
    standing = {c.site.name: Standing(c.site.wall.name, c.band, c.pieces) for c in cuts}
    around = tuple(standing.values())
    problems = [p for cut in cuts for p in cut.problems]
    for cut in cuts:
        on_wall = [c for c in cuts if c.site.wall.name == cut.site.wall.name]
        everything = [p for c in on_wall for p in c.pieces]
        bands = {c.site.name: c.band for c in on_wall}
        found = {p.name: edges(p, everything, bands[p.host]) for p in everything}
        found |= {p.name: with_neighbours(p, found[p.name], standing[p.host], around) for p in everything}
        trims = {c.site.name: c.site.material.trim for c in on_wall}
        ours = {p.name: p.rect for p in cut.pieces}
        made = [
            *casings(everything, found, trims), *covers(joints(everything, found), trims),
            *corner_covers(everything, found, trims, choices.bevel),
        ]  # fmt: skip
        kept = [s for s in made if s.frame in ours]
        strips += [t for s in kept for t in _fitted(s, found[s.frame], ours[s.frame], choices.sizes)]
        boxed = boxes(cut.site, job, choices.practice)
        problems += _awkward_boxes(cut, boxed)
        behind = _boxes_behind(cut, boxed)
        frames += [_frame(piece, cut, found[piece.name], behind[piece.name], choices) for piece in cut.pieces]
    reasons = tuple(c.reason for c in cuts)
    return Made(
        tuple(frames), tuple(strips), reasons=reasons, problems=tuple(problems),
        worked_round=frozenset(name for cut in cuts for name in _worked_round(cut)),
    )  # fmt: skip


def _worked_round(cut: CutBand) -> Iterator[str]:
    """Yield the names of windows, doors, vents and heaters that a frame or its casing reaches."""
    openings = [h for h in cut.band.holes if h.kind not in {*BOX_KINDS, "bulkhead"}]
    for hole in openings:
        beside = cut.band.grown(hole).grown(*(MM,) * 4)
        if any(piece.rect.overlaps(beside) for piece in cut.pieces):
            yield hole.name


def _boxes_behind(cut: CutBand, boxed: Mapping[str, Rect]) -> dict[str, tuple[CutOut, ...]]:
    """Return by frame the boxes that it or its casing is over, by however little; each is counted once."""
    around = cut.site.material.casing
    found: dict[str, list[CutOut]] = {piece.name: [] for piece in cut.pieces}
    for name, box in boxed.items():
        over = [p for p in cut.pieces if p.rect.overlaps(box)]
        cased = [p for p in cut.pieces if p.rect.grown(*(around,) * 4).overlaps(box)]
        most = max(over or cased, key=lambda p: p.rect.common(box).area, default=None)
        for piece in over or cased[:1]:
            at = box.moved(-piece.rect.left, -piece.rect.bottom)
            own = CutOut(name, at.left, at.bottom, at.width, at.height, counted=piece is most)
            found[piece.name].append(own)
    return {name: tuple(sorted(own, key=lambda b: (b.x, b.y))) for name, own in found.items()}


def _frame(
    piece: Piece, cut: CutBand, found: Sequence[Edge], boxed: tuple[CutOut, ...], choices: Choices
) -> Frame:
    rect, material = piece.rect, cut.site.material
    size = choices.sizes.get(piece.name, (rect.width, rect.height))
    plan = Plan(
        piece.name, piece.host, cut.site.kind, material, *size,
        placement=Placement(cut.site.wall.name, rect.left, rect.bottom, cut.site.wall.name),
        cloth=choices.cloth_of(piece.name, piece.host, material.cloth),
        boxes=boxed, near=choices.practice.length("box_stud_near"),
        least=choices.practice.length("board_minimum"), faces=PIECES[cut.site.kind].faces,
    )  # fmt: skip
    return mitred(frame(plan, resized(found, (rect.width, rect.height), size)))


def _awkward_boxes(cut: CutBand, boxed: Mapping[str, Rect]) -> Iterator[Problem]:
    """Yield a warning for each electrical box that lies under a rail, stile, casing or joint of frames."""
    t = cut.site.material.stock.thickness
    around = cut.site.material.casing
    for name, box in boxed.items():
        for piece in cut.pieces:
            within = piece.rect.grown(-t, -t, -t, -t).common(box) == box
            if piece.rect.grown(*(around,) * 4).overlaps(box) and not within:
                what = f"box {name} lies under the outer members or the casing of {piece.name}"
                fix = "Give frame widths or a band that keep them off it, or keep it clear."
                yield Problem(piece.name, what, fix, severity="warning")


def _fitted(strip: Strip, found: Sequence[Edge], rect: Rect, sizes: Sizes) -> list[Strip]:
    """Return a strip as its frame's size was changed by hand; none where its edge is gone."""
    if strip.frame not in sizes:
        return [strip]
    own = strip.length - strip.allowance
    edge = next(e for e in found if e.side == strip.side and e.length == own)
    after = resized([edge], (rect.width, rect.height), sizes[strip.frame])
    return [replace(strip, length=e.length + strip.allowance) for e in after]

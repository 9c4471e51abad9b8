"""The site's paper: what is marked, hung, fixed, sealed and painted, in which order, and what to watch."""

from collections.abc import Iterator, Sequence
from decimal import ROUND_CEILING
from typing import Any

from estimator.catalogue.kinds import KINDS
from estimator.core.units import Nm, format_length
from estimator.documents.days import day_rows, finishing_steps
from estimator.documents.elevations import Elevation, elevation, treated_walls
from estimator.documents.fixing_rows import fixing_rows
from estimator.documents.frame_drawings import frame_drawing
from estimator.documents.frame_marks import HOLDS, Fill, fill_of
from estimator.documents.piece_sketches import piece_sketch
from estimator.documents.placing import placing
from estimator.documents.quote import heading, practice_texts, visits
from estimator.documents.room_drawing import room_drawing
from estimator.documents.saws import along, strip_end
from estimator.documents.sections import make_up_sections
from estimator.documents.strip_places import StripPlace, strip_places
from estimator.documents.wording import mass_text, size_text
from estimator.job.piece_kinds import PIECES
from estimator.layout.plan import PlanWall
from estimator.layout.records import Edge, Frame
from estimator.pipeline import Estimate

Row = dict[str, Any]
_MEETS = {
    "frame": "joint to {}",
    "angled": "corner of the plan, to {}",
    "wall": "the wall",
    "casing": "an opening's trim",
    "sill": "a sill",
    "free": "ends free",
}


def site(estimate: Estimate) -> Row:
    """Return everything the site's paper shows."""
    scope, display = estimate.scope, estimate.units.display
    fill = fill_of(scope.plans, scope.layout.frames)
    what = Elevation(scope.job, scope.layout, fill, display, detail=True)
    usual = estimate.catalogue.practice.length("backing_gypsum_thickness")
    treated = {t.name for t in scope.job.walls}
    return {
        **heading(estimate),
        "plan": room_drawing(scope, display),
        "walls": [_wall(w, what, estimate) for w in treated_walls(scope.layout)],
        "pieces": [_piece(f, fill, estimate) for f in scope.layout.frames if f.host not in treated],
        "sections": make_up_sections(scope, usual, display),
        "marks_of": [(sign, words) for sign, words in HOLDS.values()],
        "days": day_rows(estimate),
        "steps": finishing_steps(estimate),
        "take": _take(estimate),
        "cautions": [p for p in estimate.problems if p.severity == "caution"],
        "warnings": [p for p in scope.layout.problems if p.severity == "warning"],
        "days_on_site": scope.schedule.days_on_site,
        "visits": visits(estimate),
        "practice": practice_texts(estimate),
    }


def _wall(wall: PlanWall, what: Elevation, estimate: Estimate) -> Row:
    frames = what.frames(wall.name)
    line = what.line(frames)
    return {
        "name": wall.name,
        "line": format_length(line, what.display),
        "drawing": elevation(what, wall),
        "marks": [_mark(f, line, estimate) for f in frames],
        "fixings": [row for f in frames for row in fixing_rows(f, line, estimate)],
        "casings": [row for f in frames for row in _casings(f, line, estimate)],
        "notes": list(_wall_notes(frames, estimate)),
    }


def _mark(frame: Frame, line: Nm, estimate: Estimate) -> Row:
    display, at = estimate.units.display, frame.placement
    return {
        "frame": frame.name,
        "left": format_length(at.x, display),
        "right": format_length(at.x + frame.width, display),
        "bottom": format_length(at.z, display),
        "top": format_length(at.z + frame.height, display),
        "from_line": _from_line(at.z - line, estimate),
        "top_from_line": _from_line(at.z + frame.height - line, estimate),
        "size": size_text(frame.width, frame.height, display),
        "mass": mass_text(frame.mass_kg, display),
        "meets": "; ".join(f"{side}: {_met(frame, side)}" for side in ("left", "right", "bottom", "top")),
    }


def _from_line(off: Nm, estimate: Estimate) -> str:
    return f"{format_length(abs(off), estimate.units.display)} {'above' if off >= 0 else 'below'}"


def _met(frame: Frame, side: str) -> str:
    edges = [e for e in frame.edges if e.side == side]
    return ", ".join(dict.fromkeys(_edge(e) for e in edges)) or "nothing"


def _edge(edge: Edge) -> str:
    words = _MEETS.get(edge.meets, f"the {edge.meets}").format(edge.neighbour or "the next")
    return f"{words} (casing)" if edge.cased else words


def _casings(frame: Frame, line: Nm | None, estimate: Estimate) -> Iterator[Row]:
    """Yield each strip of a frame: its cuts, and the part of the frame's side it covers."""
    display, strips = estimate.units.display, estimate.scope.layout.strips
    for place in strip_places(frame, strips):
        strip = place.strip
        yield {
            "name": strip.name,
            "length": format_length(strip.length, display),
            "place": _span(place, frame, line, estimate),
            "start": strip_end(strip, frame, display, last=False),
            "end": strip_end(strip, frame, display, last=True),
            "along": along(strip),
            "sealed": strip.sealed,
        }


def _span(place: StripPlace, frame: Frame, line: Nm | None, estimate: Estimate) -> str:
    """Return from where to where the part of the frame's side runs that a strip covers."""
    low, high = place.edge.start, place.edge.start + place.edge.length
    if line is not None and place.upright:
        off = frame.placement.z - line
        return f"{_from_line(off + low, estimate)} to {_from_line(off + high, estimate)}"
    left = 0 if line is None else frame.placement.x
    return " to ".join(format_length(left + value, estimate.units.display) for value in (low, high))


def _wall_notes(frames: Sequence[Frame], estimate: Estimate) -> Iterator[str]:
    """Yield what has to be found out on the wall before the first screw."""
    hosts = {f.host for f in frames}
    for treatment in (t for t in estimate.job.walls if t.name in hosts):
        backing = treatment.backing
        if backing.kind == "masonry":
            yield f"{treatment.name}: masonry. Keep anchors out of mortar joints and away from edges."
            continue
        layers = f"{backing.layers} layer{'s' if backing.layers > 1 else ''} of gypsum board"
        spacing = backing.studs or estimate.catalogue.practice.length("backing_stud_spacing")
        apart = format_length(spacing, estimate.units.display)
        if backing.first_stud is None:
            yield (
                f"{treatment.name}: {layers}; the first stud was not measured, and screws are drawn where "
                f"studs {apart} apart would be. Find the studs, mark them, and move each screw to its stud."
            )
        else:
            where = format_length(backing.first_stud, estimate.units.display)
            from_where = "from the wall's left end" if backing.direction == "vertical" else "above the floor"
            first = f"first stud measured at {where} {from_where}, one every {apart}"
            yield f"{treatment.name}: {layers}; {first}."


def _piece(frame: Frame, fill: Fill, estimate: Estimate) -> Row:
    display, layout = estimate.units.display, estimate.scope.layout
    return {
        "name": frame.name,
        "kind": PIECES[frame.kind].word,
        "size": size_text(frame.width, frame.height, display),
        "mass": mass_text(frame.mass_kg, display),
        "where": list(placing(frame, estimate)),
        "sketch": piece_sketch(frame, estimate),
        "drawing": frame_drawing(frame, fill, display, fixed=True) if frame.fixings else "",
        "fixings": list(fixing_rows(frame, None, estimate)),
        "hardware": [
            f"{held.count} × {estimate.catalogue.sizes(held.product)[0].description}"
            for held in layout.hardware if held.frame == frame.name
        ],
        "casings": list(_casings(frame, None, estimate)),
    }  # fmt: skip


def _take(estimate: Estimate) -> list[Row]:
    """Return what goes along to the site: what fixes, seals, paints, protects."""
    fixings = {fixing.screw for frame in estimate.scope.layout.frames for fixing in frame.fixings}
    takeoff = estimate.scope.takeoff
    return [
        {"what": q.description, "net": q.net.to_integral_value(ROUND_CEILING) if q.unit == "ea" else q.net,
         "unit": q.unit}
        for q, line in zip(takeoff.quantities(), takeoff.lines, strict=True)
        if q.net and any(i.key in fixings or KINDS[i.kind].used == "site" for i in line.items)
    ]  # fmt: skip

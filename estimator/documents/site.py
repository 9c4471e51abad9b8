"""The site's paper: what is marked, hung, fixed, sealed and painted, in which order, and what to watch."""

from collections.abc import Iterator, Sequence
from typing import Any

from estimator.core.units import Nm, format_length, mass_text, size_text
from estimator.documents.frame_drawings import (
    HOLDS,
    FrameFill,
    StripPlace,
    fill_of,
    frame_drawing,
    strip_places,
)
from estimator.documents.pieces import placing
from estimator.documents.quote import at_hand, heading, on_site, practice_texts
from estimator.documents.room_drawings import Elevation, elevation, room_drawing, treated_walls
from estimator.documents.sections import make_up_sections
from estimator.documents.sticks import along, strip_end
from estimator.job.description_pieces import PIECES
from estimator.labour.network import MINUTES, waits_of
from estimator.layout.plan import PlanWall
from estimator.layout.records import Edge, Fixing, Frame
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
    treated = {t.name for t in scope.job.walls}
    heard = (*scope.room.problems, *estimate.pricing.problems)  # what the crew can do nothing about
    return {
        **heading(estimate),
        "plan": room_drawing(scope, display),
        "walls": [_wall(w, what, estimate) for w in treated_walls(scope.layout)],
        "pieces": [_piece(f, fill, estimate) for f in scope.layout.frames if f.host not in treated],
        "sections": make_up_sections(estimate),
        "marks_of": [(sign, words) for sign, words in HOLDS.values()],
        "days": _days(estimate),
        "steps": _finishing(estimate),
        "take": at_hand(estimate, "site"),
        "cautions": [p for p in estimate.problems if p.severity == "caution"],
        "warnings": [p for p in estimate.problems if p.severity == "warning" and p not in heard],
        "on_site": on_site(scope),
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
        "fixings": [row for f in frames for row in _fixings(f, line, estimate)],
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
            "held": "glued" if strip.glued else "nailed",
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


def _piece(frame: Frame, fill: FrameFill, estimate: Estimate) -> Row:
    display, layout = estimate.units.display, estimate.scope.layout
    where, sketch = placing(frame, estimate)
    return {
        "name": frame.name,
        "kind": PIECES[frame.kind].word,
        "size": size_text(frame.width, frame.height, display),
        "mass": mass_text(frame.mass_kg, display),
        "where": where,
        "sketch": sketch,
        "drawing": frame_drawing(frame, fill, display, fixed=True) if frame.fixings else "",
        "fixings": list(_fixings(frame, None, estimate)),
        "hardware": [
            f"{held.count} × {estimate.catalogue.sizes(held.product)[0].description}"
            for held in layout.hardware if held.frame == frame.name
        ],
        "casings": list(_casings(frame, None, estimate)),
    }  # fmt: skip


_FINISHING = ("casing", "openings", "mask", "fill", "seal", "paint", "touch_up", "tip", "hand_over")


def _clock(minute: int) -> str:
    return f"{minute // MINUTES}:{minute % MINUTES:02}"


def _waits(estimate: Estimate) -> dict[str, str]:
    """Return how long each task that dries is waited for, as it is written; nothing where nobody has to."""
    book, hours = estimate.catalogue.labour, estimate.scope.labour.hours

    def waited_for(key: str) -> bool:
        following = [task for task in book.tasks if key in task.after]
        return any(t.waits if hours.get(t.key) else waited_for(t.key) for t in following)

    found = waits_of(book, estimate.catalogue.practice)
    return {task: f"{wait.normalize():f} h" for task, wait in found.items() if wait and waited_for(task)}


def _days(estimate: Estimate) -> list[Row]:
    """Return the days, each with who does what when, and what dries afterwards and for how long."""
    waits, days = _waits(estimate), estimate.scope.schedule.days
    last = {stint.label: (day.number, n) for day in days for n, stint in enumerate(day.stints)}
    return [
        {
            "number": day.number,
            "date": day.date,
            "stints": [
                {
                    "label": s.label,
                    "stage": s.stage,
                    "from": _clock(s.start),
                    "to": _clock(s.end),
                    "people": s.people,
                    "wait": waits.get(s.task, "") if last[s.label] == (day.number, n) else "",
                }
                for n, s in enumerate(day.stints)
            ],
            "where": " and ".join(
                place for place in ("shop", "site") if place in {s.stage for s in day.stints}
            )
            or "nobody works: drying",
        }
        for day in days
    ]


def _finishing(estimate: Estimate) -> list[Row]:
    """Return the steps from casings to handing over, in order, each with the wait after it."""
    waits, found = _waits(estimate), dict[str, Row]()
    for day in estimate.scope.schedule.days:
        for s in (s for s in day.stints if s.task in _FINISHING):
            row = found.setdefault(s.label, {"label": s.label, "days": [], "wait": waits.get(s.task, "")})
            row["days"] = sorted({*row["days"], day.number})
    return sorted(found.values(), key=lambda row: row["days"])


_WORDS = {
    "stud": "stud",
    "board": "wall board only",
    "masonry": "masonry",
    "hanger": "structure above",
    "frame": "frame or cleat",
}


def _fixings(frame: Frame, line: Nm | None, estimate: Estimate) -> Iterator[Row]:
    """Yield a row for each kind of fixing of a frame.

    Args:
        frame: the frame.
        line: height of the laser line; None for pieces, whose places are given from their own corner.
        estimate: for units and the price list.
    """
    groups: dict[tuple[str, str, Nm, Nm], list[Fixing]] = {}
    for fixing in frame.fixings:
        groups.setdefault((fixing.screw, fixing.holds_in, fixing.bite, fixing.past_face), []).append(fixing)
    display = estimate.units.display
    for (screw, holds_in, bite, past), found in groups.items():
        yield {
            "frame": frame.name,
            "screw": estimate.catalogue.item(screw).description,
            "count": len(found),
            "holds_in": _WORDS[holds_in],
            "bite": format_length(bite, display) if bite else "–",
            "past": format_length(past, display) if past else "–",
            "places": list(_places(frame, found, line, estimate)),
        }


def _places(frame: Frame, found: Sequence[Fixing], line: Nm | None, estimate: Estimate) -> Iterator[str]:
    """Yield a sentence for each level of fixings: how high it is, and where along it they go."""
    display, left = estimate.units.display, 0 if line is None else frame.placement.x
    levels: dict[Nm, list[Nm]] = {}
    for fixing in found:
        levels.setdefault(fixing.y, []).append(fixing.x)
    alike: dict[tuple[Nm, ...], list[Nm]] = {}
    for y, xs in sorted(levels.items()):
        alike.setdefault(tuple(sorted(xs)), []).append(y)
    for row, ys in alike.items():
        heights = "; ".join(_height(frame, y, line, estimate) for y in ys)
        yield f"{heights}: at {', '.join(format_length(left + x, display) for x in row)}"


def _height(frame: Frame, y: Nm, line: Nm | None, estimate: Estimate) -> str:
    if line is None:
        return f"{format_length(y, estimate.units.display)} up"
    return f"{_from_line(frame.placement.z + y - line, estimate)} the line"

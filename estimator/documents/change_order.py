"""A change order: what an estimate holds that an earlier one did not; price and days before and after."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from estimator.core.units import format_length, size_text
from estimator.documents.quote import covered_text, heading
from estimator.layout.records import Frame
from estimator.pipeline import Estimate

Row = dict[str, Any]
_MIDDLE = (500, 1000)


def change_order(before: Estimate, after: Estimate) -> Row:
    """Return everything the change order shows.

    Args:
        before: the estimate the client has.
        after: the estimate that is to take its place.
    """
    old, new = before.totals, after.totals
    sums = [
        ("Price before tax", old.price, new.price),
        ("Tax", old.tax, new.tax),
        ("Total", old.total, new.total),
    ]
    return {
        **heading(after),
        "before": {"number": before.job.header.number, "title": before.job.header.title,
                   "date": before.job.header.date, "currency": before.job.header.currency},
        "sums": [{"name": n, "was": a, "now": b, "more": b - a} for n, a, b in sums],
        "frames": list(_frames(before, after)),
        "quantities": list(_quantities(before, after)),
        "facts": list(_facts(before, after)),
        "cautions": _new_cautions(before, after),
        "payments": new.payments,
    }  # fmt: skip


def _frames(before: Estimate, after: Estimate) -> Iterator[Row]:
    """Yield each frame that is added, left out or changed."""
    was = {f.name: _said(f, before) for f in before.scope.layout.frames}
    now = {f.name: _said(f, after) for f in after.scope.layout.frames}
    for name in dict.fromkeys((*was, *now)):
        if was.get(name) != now.get(name):
            what = "added" if name not in was else "left out" if name not in now else "changed"
            yield {"name": name, "what": what, "was": was.get(name, "–"), "now": now.get(name, "–")}


def _said(frame: Frame, estimate: Estimate) -> str:
    display, at = estimate.units.display, frame.placement
    size = size_text(frame.width, frame.height, display)
    deep = f"{format_length(frame.depth, display)} deep"
    cloth = " and ".join(f"{f.fabric} {f.colour}".strip() for f in frame.faces)
    place = ""
    if at.wall:
        left, up = format_length(at.x, display), format_length(at.z, display)
        place = f"; {at.wall} wall, {left} from its left end, {up} up"
    return f"{size}, {deep}, {cloth}{place}"


def _quantities(before: Estimate, after: Estimate) -> Iterator[Row]:
    """Yield each material of which more or less is bought."""
    was = {q.key: q for q in before.scope.takeoff.quantities()}
    now = {q.key: q for q in after.scope.takeoff.quantities()}
    for key in dict.fromkeys((*was, *now)):
        shown = now.get(key) or was[key]
        old = was[key].bought if key in was else Decimal(0)
        new = now[key].bought if key in now else Decimal(0)
        if old != new:
            yield {"what": shown.description, "unit": shown.unit, "was": old, "now": new, "more": new - old}


def _facts(before: Estimate, after: Estimate) -> Iterator[Row]:
    """Yield days, trips, surface and reverberation where they differ."""
    old, new = before.scope, after.scope
    rows = [
        ("Days on site", str(old.schedule.days_on_site), str(new.schedule.days_on_site)),
        ("Trips", str(old.schedule.trips), str(new.schedule.trips)),
        ("Surface", covered_text(old, before), covered_text(new, after)),
        *(
            (f"Reverberation at {hz} Hz, s, estimated", _times(before, hz), _times(after, hz))
            for hz in _MIDDLE
        ),
    ]
    yield from ({"name": n, "was": a, "now": b} for n, a, b in rows if a != b)


def _times(estimate: Estimate, hz: int) -> str:
    state, at = estimate.scope.room.after, estimate.scope.room.octaves_hz.index(hz)
    low, high = state.low_s[at], state.high_s[at]
    return "–" if low is None or high is None else f"{low:.2f} to {high:.2f}"


def _new_cautions(before: Estimate, after: Estimate) -> list[Any]:
    known = {(p.where, p.what) for p in before.problems}
    return [p for p in after.problems if p.severity == "caution" and (p.where, p.what) not in known]

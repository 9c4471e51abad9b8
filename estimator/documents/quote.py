"""What the client's quote says: scope in plain words, price, options, payments, cautions.

Reverberation before and after, per octave, is a picture as inline SVG, readable in grey.
"""

from collections import Counter
from datetime import date, timedelta
from decimal import ROUND_CEILING
from html import escape
from typing import Any, Literal

from estimator import __version__
from estimator.acoustics.report import RoomReport
from estimator.acoustics.reverberation import Reverberation
from estimator.catalogue.records import KINDS, WHOLE, Item
from estimator.core.units import area_text, format_length, size_text
from estimator.documents.frame_drawings import fill_of
from estimator.documents.room_drawings import Elevation, elevation, room_drawing, treated_walls
from estimator.job.description_pieces import PIECES
from estimator.layout.records import Frame
from estimator.pipeline import Estimate, Scope
from estimator.pricing.accuracy import estimate_class, known_of

WIDTH, HEIGHT = 620, 250
LEFT, BOTTOM, TOP = 52, 46, 22
BAR = 26


def reverberation_picture(report: RoomReport) -> str:
    """Return bars from the least to the greatest of four formulas, before (hatched) and after (solid)."""
    most = max([v for s in (report.before, report.after) for v in s.high_s if v is not None] or [1.0])
    top = max(0.2, -(-most // 0.2) * 0.2)
    parts = _axis(top)
    if report.target and report.target.time_s <= top:
        y = _y(report.target.time_s, top)
        ends = f'x1="{LEFT}" x2="{WIDTH - 10}" y1="{y:.1f}" y2="{y:.1f}"'
        parts.append(f'<line {ends} stroke="#000" stroke-dasharray="6 4"/>')
    step = (WIDTH - LEFT - 10) / len(report.octaves_hz)
    for n, hz in enumerate(report.octaves_hz):
        middle = LEFT + step * (n + 0.5)
        octave = f"{hz // 1000} k" if hz >= 1000 else str(hz)  # noqa: PLR2004 - a thousand is a k
        parts.append(f'<text x="{middle:.0f}" y="{HEIGHT - 26}" text-anchor="middle">{octave}</text>')
        for state, offset, fill in ((report.before, -BAR - 2, "url(#before)"), (report.after, 2, "#3d4f4a")):
            parts += _bar(state, n, (middle + offset, top), fill)
    return _framed(parts)


def _y(value: float, top: float) -> float:
    return HEIGHT - BOTTOM - value / top * (HEIGHT - BOTTOM - TOP)


def _axis(top: float) -> list[str]:
    parts = []
    for n in range(round(top / 0.2) + 1):
        y = _y(n * 0.2, top)
        parts.append(f'<line x1="{LEFT}" x2="{WIDTH - 10}" y1="{y:.1f}" y2="{y:.1f}" stroke="#ccc"/>')
        if n % (1 if top <= 2 else 5) == 0:  # noqa: PLR2004 - every fifth line of a tall picture
            parts.append(f'<text x="{LEFT - 6}" y="{y + 4:.1f}" text-anchor="end">{n * 0.2:.1f}</text>')
    parts.append(f'<text x="{LEFT - 40}" y="13">seconds</text>')
    parts.append(f'<text x="{WIDTH - 10}" y="{HEIGHT - 8}" text-anchor="end">octave, Hz</text>')
    return parts


def _bar(state: Reverberation, n: int, place: tuple[float, float], fill: str) -> list[str]:
    low, high = state.low_s[n], state.high_s[n]
    if low is None or high is None:
        return []
    x, top = place
    upper = _y(high, top)
    height = max(_y(low, top) - upper, 2.0)
    return [
        f'<rect x="{x:.1f}" y="{upper:.1f}" width="{BAR}" height="{height:.1f}" fill="{fill}" stroke="#222"/>'
    ]


def _framed(parts: list[str]) -> str:
    alt = escape(
        "Reverberation time per octave before and after treatment, as a range of four formulas; estimated"
    )
    pattern = (
        '<defs><pattern id="before" width="6" height="6" patternUnits="userSpaceOnUse">'
        '<rect width="6" height="6" fill="#fff"/><path d="M0 6L6 0" stroke="#555"/></pattern></defs>'
    )
    key = (
        f'<rect x="{LEFT}" y="{HEIGHT - 18}" width="14" height="12" fill="url(#before)" stroke="#222"/>'
        f'<text x="{LEFT + 20}" y="{HEIGHT - 8}">before</text>'
        f'<rect x="{LEFT + 80}" y="{HEIGHT - 18}" width="14" height="12" fill="#3d4f4a" stroke="#222"/>'
        f'<text x="{LEFT + 100}" y="{HEIGHT - 8}">after</text>'
        f'<line x1="{LEFT + 150}" x2="{LEFT + 180}" y1="{HEIGHT - 12}" y2="{HEIGHT - 12}" stroke="#000" '
        f'stroke-dasharray="6 4"/><text x="{LEFT + 186}" y="{HEIGHT - 8}">time aimed at, where it fits</text>'
    )
    return (
        f'<svg viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" role="img" aria-label="{alt}" '
        f'font-family="sans-serif" font-size="12"><title>{alt}</title>{pattern}{"".join(parts)}{key}</svg>'
    )


PriceBy = Literal["sum", "section", "wall"]
PLAN_MM = 58.0
"""How tall the room is drawn on the quote, so that the plan follows what is built on the first page."""


def heading(estimate: Estimate) -> dict[str, Any]:
    """Return what stands at the head of every paper."""
    header = estimate.job.header
    return {
        "number": header.number,
        "title": header.title,
        "client": header.client,
        "site": header.site,
        "date": header.date,
        "currency": header.currency,
        "room": estimate.job.room.name,
        "version": __version__,
        "display": estimate.units.display,
        "firm": estimate.catalogue.practice.firm,
    }


def practice_texts(estimate: Estimate) -> dict[str, str]:
    """Return every value and choice of the shop's practice as the shop wrote it, by key."""
    practice = estimate.catalogue.practice
    values = {key: value.text for key, value in practice.values.items()}
    return values | {key: choice.value for key, choice in practice.choices.items()}


def at_hand(estimate: Estimate, place: Literal["shop", "site"]) -> list[dict[str, Any]]:
    """Return what is needed there beside what is cut: what joins, fixes, seals, paints, protects."""
    scope, takeoff = estimate.scope, estimate.scope.takeoff
    fixings = {fixing.screw for frame in scope.layout.frames for fixing in frame.fixings}
    used = {k for k, kind in KINDS.items() if kind.stock is WHOLE and kind.used == place}
    if place == "shop" and estimate.catalogue.practice.choice("strips_finished") == "shop":
        used |= {"paint", "sandpaper"}

    def needed(item: Item) -> bool:
        return place == "site" if item.key in fixings else item.kind in used

    return [
        {"what": q.description, "net": q.net.to_integral_value(ROUND_CEILING) if q.unit == "ea" else q.net,
         "unit": q.unit}
        for q, line in zip(takeoff.quantities(), takeoff.lines, strict=True)
        if q.net and any(map(needed, line.items))
    ]  # fmt: skip


def quote(estimate: Estimate, price_by: PriceBy = "sum") -> dict[str, Any]:
    """Return everything the quote shows.

    Args:
        estimate: the estimate.
        price_by: one sum, or the price shared over sections (by cost) or over treatments (by area).
    """
    job, terms, totals = estimate.job, estimate.catalogue.terms, estimate.totals
    scope = estimate.scope
    return {
        **heading(estimate),
        "valid_until": job.header.date + timedelta(days=estimate.pricing.valid_days),
        "parts": [_part(host, frames, estimate) for host, frames in scope.layout.hosts.items()],
        "area": covered_text(scope, estimate),
        "paragraph": scope.room.paragraph,
        "picture": reverberation_picture(scope.room),
        "plan": room_drawing(scope, estimate.units.display, PLAN_MM),
        "elevations": _elevations(estimate),
        "accuracy": _accuracy(estimate),
        "price_dates": _price_dates(estimate),
        "lines": getattr(estimate.shares, price_by),
        "totals": totals,
        "options": _options(estimate),
        "on_site": on_site(scope),
        "exclusions": [*(e.text for e in job.exclusions), *terms.exclusions],
        "others": estimate.pricing.others,
        "notes": [n.text for n in job.notes],
        "cautions": [p for p in estimate.problems if p.severity == "caution"],
        "terms": terms.name,
    }


def on_site(scope: Scope) -> str:
    """Return the days on site, the trips there, and how often the crew comes back."""
    plan = scope.schedule
    counts = ((plan.days_on_site, "day", "on site"), (plan.trips, "trip", ""), (plan.returns, "stay", ""))
    return ", ".join(f"{n} {word}{'' if n == 1 else 's'} {more}".rstrip() for n, word, more in counts)


def _elevations(estimate: Estimate) -> list[tuple[str, str]]:
    """Return wall and drawing of every treated wall, as the client will see it."""
    scope = estimate.scope
    fill = fill_of(scope.plans, scope.layout.frames)
    what = Elevation(scope.job, scope.layout, fill, estimate.units.display, detail=False)
    return [(wall.name, elevation(what, wall)) for wall in treated_walls(scope.layout)]


def bought_items(estimate: Estimate) -> list[Item]:
    """Return every item of the price list that the job buys."""
    table = estimate.scope.takeoff.tables["purchases"]
    rows = zip(table["item"].values, table["units"].values, strict=True)
    return [estimate.catalogue.item(str(key)) for key, units in rows if units]


def _accuracy(estimate: Estimate) -> str:
    """Return how accurate the estimate may be called, with the reason."""
    catalogue, day = estimate.catalogue, estimate.job.header.date
    oldest = catalogue.practice.number("price_age_days")
    hours = estimate.scope.labour.hours
    known = known_of(bought_items(estimate), catalogue.labour, hours, day, oldest)
    return estimate_class(known, catalogue.references.classes).text


def _price_dates(estimate: Estimate) -> tuple[date, date] | None:
    """Return the oldest and the newest date of the prices used."""
    dates = [item.price_date for item in bought_items(estimate)]
    return (min(dates), max(dates)) if dates else None


def covered_text(scope: Scope, estimate: Estimate) -> str:
    """Return the covered surface of a scope in the job's units."""
    return area_text(float(scope.layout.covered_m2), estimate.units.display)


def _part(host: str, frames: tuple[Frame, ...], estimate: Estimate) -> dict[str, Any]:
    """Return one treatment or piece in plain words."""
    display, catalogue = estimate.units.display, estimate.catalogue
    sizes = Counter(size_text(f.width, f.height, display) for f in frames)
    first, kind = frames[0], PIECES[frames[0].kind]
    make_up = estimate.job.make_ups[first.make_up]
    cloths = dict.fromkeys((face.fabric, face.colour) for f in frames for face in f.faces)
    return {
        "name": host,
        "kind": kind.words if len(frames) > 1 else kind.word,
        "wall": first.placement.wall,
        "count": len(frames),
        "sizes": [f"{n} of {size}" if n > 1 else size for size, n in sizes.items()],
        "depth": format_length(first.depth, display),
        "board": catalogue.sizes(make_up.board)[0].description,
        "layers": make_up.layers,
        "gap": format_length(make_up.gap, display) if make_up.gap else "",
        "cloths": [
            f"{catalogue.sizes(fabric)[0].description}{', ' + colour if colour else ''}"
            for fabric, colour in cloths
        ],
    }


def _still_open(option: str, estimate: Estimate) -> list[str]:
    """Return the parts of the work of which an option has warnings; the client hears no more of them."""
    own = (p.where.removeprefix(f"{option}: ") for p in estimate.problems
           if p.severity == "warning" and p.where.startswith(f"{option}: "))  # fmt: skip
    return [name for name in dict.fromkeys(own) if name in estimate.options[option].layout.hosts]


def _options(estimate: Estimate) -> list[dict[str, Any]]:
    """Return the base and every option, each with its price, days and effect on the room."""
    scopes = [estimate.scope, *estimate.options.values()]
    base = estimate.totals.total
    return [
        {
            "name": totals.case,
            "title": totals.title,
            "price": totals.price,
            "total": totals.total,
            "more": totals.total - base,
            "days": scope.schedule.days_on_site,
            "area": covered_text(scope, estimate),
            "low": scope.room.after.low_s,
            "high": scope.room.after.high_s,
            "left": sum(h.strong_after for h in scope.room.heard),
            "heard": bool(scope.room.heard),
            "open": _still_open(totals.case, estimate),
        }
        for totals, scope in zip(map(estimate.pricing.totals, range(len(scopes))), scopes, strict=True)
    ]

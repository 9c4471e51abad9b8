"""What the client's quote says: scope in plain words, price, options, payments, cautions."""

from collections import Counter
from datetime import timedelta
from decimal import Decimal
from typing import Any, Literal

from estimator import __version__
from estimator.core.money import split
from estimator.core.units import METRE, format_length
from estimator.documents.pictures import reverberation_picture
from estimator.layout.records import Frame
from estimator.pipeline import Estimate, Scope

PriceBy = Literal["sum", "section", "wall"]
_KINDS = {
    "wall": "wall frame",
    "corner": "corner trap",
    "recess": "recess box",
    "screen": "freestanding screen",
    "cloud": "ceiling cloud",
}


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
    }


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
        "valid_until": job.header.date + timedelta(days=terms.validity_days),
        "parts": [_part(host, frames, estimate) for host, frames in _hosts(scope).items()],
        "area": _area(scope, estimate),
        "paragraph": scope.room.paragraph,
        "picture": reverberation_picture(scope.room),
        "lines": _lines(estimate, price_by),
        "totals": totals,
        "options": _options(estimate),
        "days_on_site": scope.schedule.days_on_site,
        "visits": scope.schedule.visits,
        "exclusions": [*(e.text for e in job.exclusions), *terms.exclusions],
        "allowances": [
            *((a.text, a.amount) for a in job.allowances),
            *((a.text, a.amount) for a in terms.allowances),
        ],
        "notes": [n.text for n in job.notes],
        "cautions": [p for p in estimate.problems if p.severity == "caution"],
        "terms": terms.name,
    }


def _hosts(scope: Scope) -> dict[str, list[Frame]]:
    hosts: dict[str, list[Frame]] = {}
    for frame in scope.layout.frames:
        hosts.setdefault(frame.host, []).append(frame)
    return hosts


def _area(scope: Scope, estimate: Estimate) -> str:
    area = sum(f.width / METRE * f.height / METRE * max(len(f.faces), 1) for f in scope.layout.frames)
    if estimate.units.display == "imperial":
        return f"{area / 0.3048**2:.0f} sq ft"
    return f"{area:.1f} m²"


def _part(host: str, frames: list[Frame], estimate: Estimate) -> dict[str, Any]:
    """Return one treatment or piece in plain words."""
    display, catalogue = estimate.units.display, estimate.catalogue
    sizes = Counter(f"{format_length(f.width, display)} × {format_length(f.height, display)}" for f in frames)
    first = frames[0]
    make_up = estimate.job.make_ups[first.make_up]
    cloths = dict.fromkeys((face.fabric, face.colour) for f in frames for face in f.faces)
    return {
        "name": host,
        "kind": _KINDS[first.kind] + ("s" if len(frames) > 1 else ""),
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


def _lines(estimate: Estimate, price_by: PriceBy) -> list[tuple[str, Decimal]]:
    """Return the price before tax in one sum, or shared so that the parts add up to it exactly."""
    totals, scope = estimate.totals, estimate.scope
    if price_by == "wall":
        hosts = _hosts(scope)
        weights = [sum(f.width // 1000 * (f.height // 1000) for f in frames) for frames in hosts.values()]
        return list(zip(hosts, split(totals.price, weights), strict=True))
    if price_by == "section":
        sections = scope.takeoff.tables["sections"]
        names = [*(str(k) for k in sections["key"].values), "Labour"]
        costs = [*(v for v in sections["cost"].values if isinstance(v, Decimal)), totals.labour]
        if totals.other:
            names.append("Allowances")
            costs.append(totals.other)
        return list(zip(names, split(totals.price, costs), strict=True))
    return [("The work as described", totals.price)]


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
            "area": _area(scope, estimate),
            "low": scope.room.after.low_s,
            "high": scope.room.after.high_s,
            "left": sum(h.strong_after for h in scope.room.heard),
            "heard": bool(scope.room.heard),
        }
        for totals, scope in zip(map(estimate.pricing.totals, range(len(scopes))), scopes, strict=True)
    ]

"""A comparison in figures, as the program's JSON answer gives it."""

from collections.abc import Iterable
from dataclasses import asdict
from decimal import Decimal
from typing import Any

from estimator.core.money import rounded
from estimator.core.units import Display, format_length
from estimator.pricing.totals import Move
from estimator.tables.compare import Comparison, FrameChange, FrameFigures, LineChange

PLACES = 4


def compared(comparison: Comparison) -> dict[str, Any]:
    """Return a comparison as plain figures: lengths as shown and in nanometres, money in its currency.

    Lines and labour hold what moved only.
    """
    c = comparison
    return {
        "before": asdict(c.before),
        "after": asdict(c.after),
        "currency": c.currency,
        "units": c.display,
        "same": c.nothing,
        "scope": [asdict(d) for d in c.scope],
        "frames": [_frame(f, c.display) for f in c.frames],
        "quantities": [_line(line) for line in c.changed_lines],
        "labour": _moves(m for m in c.labour if m.change),
        "totals": _moves(c.totals),
        "options": _moves(c.options),
        "days": _moves(c.days),
        "absorption": [
            {
                "hz": o.hz,
                "absorption_m2": {"before": o.absorption_m2[0], "after": o.absorption_m2[1]},
                "time_s": {"before": o.time_s[0], "after": o.time_s[1]},
            }
            for o in c.octaves
        ],
        "treated_m2": {"before": c.treated_m2[0], "after": c.treated_m2[1]},
    }


def _moves(moves: Iterable[Move]) -> list[dict[str, Any]]:
    return [
        {
            "key": m.key,
            "label": m.label,
            "before": rounded(m.before, PLACES),
            "after": rounded(m.after, PLACES),
            "change": rounded(m.change, PLACES),
            "share": None if m.share is None else rounded(m.share, PLACES),
        }
        for m in moves
    ]


def _pair(pair: tuple[Decimal, Decimal]) -> dict[str, Decimal]:
    return {"before": pair[0], "after": pair[1], "change": pair[1] - pair[0]}


def _line(line: LineChange) -> dict[str, Any]:
    told = {k: getattr(line, k) for k in ("key", "section", "description", "unit")}
    return told | {k: _pair(getattr(line, k)) for k in ("net", "bought", "cost")}


def _frame(frame: FrameChange, display: Display) -> dict[str, Any]:
    return {
        "name": frame.name,
        "before": _figures(frame.before, display),
        "after": _figures(frame.after, display),
    }


def _figures(figures: FrameFigures | None, display: Display) -> dict[str, Any] | None:
    if figures is None:
        return None
    lengths = {k: getattr(figures, k) for k in ("width", "height", "depth")}
    told = {k: getattr(figures, k) for k in ("host", "kind", "make_up", "fabric", "colour")}
    shown = {k: format_length(v, display) for k, v in lengths.items()}
    return told | shown | {f"{k}_nm": v for k, v in lengths.items()}

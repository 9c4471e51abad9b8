"""Random rooms as job files have them: corners square, cut or bitten off, bands, openings, a bulkhead."""

import math
from dataclasses import dataclass
from typing import Any

from hypothesis import strategies as st

Row = dict[str, Any]
STEP = 1 / 16
LEAST = 70.0
"""No straight side of a room is shorter, inches."""


def inch(value: float) -> str:
    return f"{value:.9f} in"


@dataclass(frozen=True)
class Room:
    """Walls (name, length in, turn), drops, and treatments with their openings; lengths in inches."""

    walls: list[tuple[str, float, float]]
    drops: list[Row]
    treatments: list[Row]

    def tables(self, start: int = 0) -> dict[str, Any]:
        """Return the job's tables, walls listed from the one numbered `start`."""
        walls = self.walls[start:] + self.walls[:start]
        openings = {t["on"]: [_row(o) for o in t["opening"]] for t in self.treatments}
        rows = [
            {"name": n, "length": inch(length), "turn": turn, "opening": openings.get(n, [])}
            for n, length, turn in walls
        ]
        drops = [_row(d) for d in self.drops]
        treated = [_written(t) for t in self.treatments]
        return {"room": {"wall": rows, "drop": drops}, "wall": treated}

    def mirrored(self) -> "Room":
        """Return the room as in a mirror: walls the other way round, lefts counted from the other end."""
        lengths = {n: length for n, length, _ in self.walls}
        turns = [turn for _, _, turn in self.walls]
        walls = [(n, length, turns[i - 1]) for i, (n, length, _) in reversed(list(enumerate(self.walls)))]
        drops = [{**d, "from": lengths[d["wall"]] - d["from"] - d["width"]} for d in self.drops]
        treated = []
        for t in self.treatments:
            long = lengths[t["on"]]
            openings = [{**o, "left": long - o["left"] - o["width"]} for o in t["opening"]]
            treated.append({**t, "from": long - t["to"], "to": long - t["from"], "opening": openings})
        return Room(walls, drops, treated)


def _row(row: Row) -> Row:
    return {k: inch(v) if isinstance(v, float) and k != "turn" else v for k, v in row.items()}


def _written(treatment: Row) -> Row:
    band = treatment["band"]
    own = {k: v for k, v in treatment.items() if k != "opening"}
    return {**_row(own), "make-up": "standard", "band": band if isinstance(band, str) else _row(band)}


def lengths(low: float, high: float) -> st.SearchStrategy[float]:
    return st.integers(round(low / STEP), round(high / STEP)).map(lambda n: n * STEP)


@st.composite
def rooms(draw: st.DrawFn) -> Room:
    """Draw a room of four sides whose corners are square, cut off at 45 degrees, or bitten out."""
    corners = [(draw(st.sampled_from(["square", "cut", "bitten"])), draw(lengths(30, 60))) for _ in range(4)]
    legs = [0.0 if kind == "square" else leg for kind, leg in corners]
    across, along = draw(lengths(LEAST, 150)), draw(lengths(LEAST, 150))
    width = across + max(legs[0] + legs[3], legs[1] + legs[2])
    depth = along + max(legs[0] + legs[1], legs[2] + legs[3])
    walls: list[tuple[str, float, float]] = []
    for i, (kind, leg) in enumerate(corners):
        side = (width if i % 2 == 0 else depth) - legs[i] - legs[i - 1]
        walls += _corner(i, side, kind, leg)
    names = {n: length for n, length, _ in walls}
    treated = [
        draw(treatments(f"T{i}x", n, long))
        for i, (n, long) in enumerate(names.items())
        if draw(st.booleans())
    ]
    drops = []
    if draw(st.booleans()):
        on = draw(st.sampled_from([n for n in names if n.startswith("s")]))
        out = draw(lengths(6, 24))
        drops = [{"name": "D", "wall": on, "from": 0.0, "width": names[on], "depth": out, "underside": 84.0}]
    return Room(walls, drops, treated)


def _corner(i: int, side: float, kind: str, leg: float) -> list[tuple[str, float, float]]:
    if kind == "square":
        return [(f"s{i}", side, 90.0)]
    if kind == "cut":
        return [(f"s{i}", side, 45.0), (f"c{i}", leg * math.sqrt(2), 45.0)]
    return [(f"s{i}", side, 90.0), (f"a{i}", leg, -90.0), (f"b{i}", leg, 90.0)]


@st.composite
def treatments(draw: st.DrawFn, name: str, on: str, long: float) -> Row:
    band: Any = "floor to ceiling"
    if draw(st.booleans()):
        bottom = draw(lengths(4, 30))
        band = {"bottom": bottom, "height": draw(lengths(30, 96 - bottom))}
    opening = []
    if long > 70 and draw(st.booleans()):
        left, wide = draw(lengths(16, 20)), draw(lengths(14, long - 42))
        kind = draw(st.sampled_from(["window", "door", "vent"]))
        bottom = 0.0 if kind == "door" else draw(lengths(36, 40))
        tall = draw(lengths(14, 16)) if kind == "vent" else draw(lengths(24, 34))
        opening = [
            {"name": f"{name}o", "kind": kind, "left": left, "bottom": bottom, "width": wide, "height": tall,
             "casing": draw(st.sampled_from([0.0, 2.25]))}
        ]  # fmt: skip
    ends = st.one_of(st.just(0.0), lengths(1 / 16, 6))
    start, end = draw(ends), long - draw(ends)
    return {"name": name, "on": on, "from": start, "to": end, "band": band, "opening": opening}

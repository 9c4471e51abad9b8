"""Two estimates side by side: scope, frames, quantities, labour, price, days, absorption.

Whatever shows a comparison (a table, JSON, a change order) shows these records; nothing is worked out again.
"""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any

from estimator.acoustics.reverberation import Reverberation
from estimator.core.errors import Problem, refuse_all
from estimator.core.money import rounded
from estimator.core.units import Display, Nm, format_length
from estimator.job.differences import Difference, job_differences
from estimator.layout.records import Frame
from estimator.pipeline import Estimate
from estimator.pricing.totals import Move, moved
from estimator.takeoff.quantities import Quantity

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Party:
    """One of the two: what it is called here ('job.toml', 'as filed, revision 0'), number, title and dates.

    Attributes:
        edits: how many inputs the office changed.
    """

    label: str
    number: str
    title: str
    client: str
    date: dt.date
    edits: int = 0


@dataclass(frozen=True, slots=True)
class FrameFigures:
    """A frame as it is built: where it belongs, its size in nanometres, its cloth."""

    host: str
    kind: str
    make_up: str
    width: Nm
    height: Nm
    depth: Nm
    fabric: str
    colour: str


@dataclass(frozen=True, slots=True)
class FrameChange:
    """A frame that differs; None on the side that does not have it."""

    name: str
    before: FrameFigures | None
    after: FrameFigures | None


@dataclass(frozen=True, slots=True)
class LineChange:
    """A line of the takeoff on both sides; 0 of everything where one does not have it.

    Attributes:
        net, bought, cost: before and after; quantities in `unit`, which is the same on both sides.
    """

    key: str
    section: str
    description: str
    unit: str
    net: tuple[Decimal, Decimal]
    bought: tuple[Decimal, Decimal]
    cost: tuple[Decimal, Decimal]

    @property
    def differs(self) -> bool:
        """Return whether anything of it moved."""
        return any(a != b for a, b in (self.net, self.bought, self.cost))

    @property
    def change(self) -> Decimal:
        """Return by how much the cost moved."""
        return self.cost[1] - self.cost[0]


@dataclass(frozen=True, slots=True)
class Octave:
    """The room as treated on either side, estimated, in one octave.

    Attributes:
        absorption_m2: equivalent absorption area by Sabine, m².
        time_s: least and greatest reverberation time of the formulas, s; None where nothing is stated.
    """

    hz: int
    absorption_m2: tuple[float, float]
    time_s: tuple[tuple[float | None, float | None], tuple[float | None, float | None]]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two estimates side by side.

    Attributes:
        scope: what the two jobs say differently.
        frames: those that differ, are new or are gone.
        lines: every line of either, in the takeoff's order; `changed_lines` those that moved.
        labour: hours by task, every task of either.
        totals: the build-up of the price, figure by figure, then taxes.
        options: price with tax of each option of either, 0 where one does not have it.
        days: hours, working days, days on site, trips.
        octaves: of the treated room.
        treated_m2: panels on the room's surfaces, m².
    """

    before: Party
    after: Party
    currency: str
    display: Display
    scope: tuple[Difference, ...]
    frames: tuple[FrameChange, ...]
    lines: tuple[LineChange, ...]
    labour: tuple[Move, ...]
    totals: tuple[Move, ...]
    options: tuple[Move, ...]
    days: tuple[Move, ...]
    octaves: tuple[Octave, ...]
    treated_m2: tuple[float, float]

    @property
    def changed_lines(self) -> tuple[LineChange, ...]:
        """Return the lines that moved."""
        return tuple(line for line in self.lines if line.differs)

    @property
    def price(self) -> Move:
        """Return how the price before tax moved."""
        return next(m for m in self.totals if m.key == "price")

    @property
    def total(self) -> Move:
        """Return how the price with tax moved."""
        return next(m for m in self.totals if m.key == "total")

    @property
    def nothing(self) -> bool:
        """Return whether the two come to the same in everything that is compared."""
        moves = (*self.labour, *self.totals, *self.options, *self.days)
        return not (self.scope or self.frames or self.changed_lines or any(m.change for m in moves))


def compare(before: Estimate, after: Estimate, parties: tuple[Party, Party]) -> Comparison:
    """Return two estimates side by side.

    Args:
        before: the one.
        after: the other.
        parties: what each is called.

    Raises:
        InputError: they are in two currencies, or show lengths in two systems.
    """
    _comparable(before, after)
    jobs = (before.job, after.job)
    hours = (before.scope.labour.hours, after.scope.labour.hours)
    titles = {t.key: t.label for one in (before, after) for t in one.catalogue.labour.tasks}
    return Comparison(
        *parties,
        currency=after.job.header.currency,
        display=after.units.display,
        scope=job_differences(*jobs),
        frames=tuple(_frames(before.scope.layout.frames, after.scope.layout.frames)),
        lines=tuple(_lines(before.scope.takeoff.quantities(), after.scope.takeoff.quantities())),
        labour=_moves(titles, *hours),
        totals=moved(before.totals, after.totals),
        options=_options(before, after),
        days=_days(before, after),
        octaves=_octaves(before, after),
        treated_m2=(before.scope.room.treated_m2, after.scope.room.treated_m2),
    )


def party(label: str, estimate: Estimate, edits: int = 0) -> Party:
    """Return what an estimate is called in a comparison."""
    header = estimate.job.header
    return Party(label, header.number, header.title, header.client, header.date, edits)


def _comparable(before: Estimate, after: Estimate) -> None:
    was, now = before.job.header, after.job.header
    problems = []
    if was.currency != now.currency:
        what = f"one is in {was.currency}, the other in {now.currency}"
        problems.append(Problem("job.currency", what, "Nothing is converted; compare in one currency."))
    if was.display != now.display:
        what = f"one is shown in {was.display} units, the other in {now.display}"
        problems.append(Problem("job.display", what, "Set display alike in both."))
    refuse_all(problems)


def _frame(frame: Frame) -> FrameFigures:
    face = frame.faces[0] if frame.faces else None
    fabric, colour = (face.fabric, face.colour) if face else ("", "")
    size = (frame.width, frame.height, frame.depth)
    return FrameFigures(frame.host, frame.kind, frame.make_up, *size, fabric, colour)


def _frames(before: Iterable[Frame], after: Iterable[Frame]) -> Iterator[FrameChange]:
    was, now = ({f.name: _frame(f) for f in frames} for frames in (before, after))
    for name in {**was, **now}:
        if was.get(name) != now.get(name):
            yield FrameChange(name, was.get(name), now.get(name))


def _lines(before: Iterable[Quantity], after: Iterable[Quantity]) -> Iterator[LineChange]:
    was, now = ({q.key: q for q in quantities} for quantities in (before, after))
    for key in {**was, **now}:
        one, two = was.get(key), now.get(key)
        told = two or one
        if told is None:
            continue
        pairs = [
            (getattr(one, f) if one else ZERO, getattr(two, f) if two else ZERO)
            for f in ("net", "bought", "cost")
        ]
        yield LineChange(key, told.section, told.description, told.unit, *pairs)


def _moves(
    labels: Mapping[str, str], was: Mapping[str, Decimal], now: Mapping[str, Decimal]
) -> tuple[Move, ...]:
    return tuple(Move(key, labels[key], was.get(key, ZERO), now.get(key, ZERO)) for key in {**was, **now})


def _options(before: Estimate, after: Estimate) -> tuple[Move, ...]:
    was, now = (
        {o.name: one.pricing.totals(n).total for n, o in enumerate(one.job.options, start=1)}
        for one in (before, after)
    )
    titles = {o.name: o.title for one in (before, after) for o in one.job.options}
    return _moves(titles, was, now)


def _days(before: Estimate, after: Estimate) -> tuple[Move, ...]:
    labels = {
        "hours": "Hours expected",
        "days": "Working days",
        "shop_days": "Days in the shop",
        "site_days": "Days on site",
        "trips": "Trips",
    }
    return _moves(labels, _spans(before), _spans(after))


def _spans(one: Estimate) -> dict[str, Decimal]:
    plan = one.scope.schedule
    hours = sum(one.scope.labour.hours.values(), ZERO)
    counts = (len(plan.days), plan.days_in_shop, plan.days_on_site, plan.trips)
    return dict(zip(("days", "shop_days", "site_days", "trips"), map(Decimal, counts), strict=True)) | {
        "hours": hours
    }


def _octaves(before: Estimate, after: Estimate) -> tuple[Octave, ...]:
    was, now = before.scope.room, after.scope.room

    def times(state: Reverberation, n: int) -> tuple[float | None, float | None]:
        return state.low_s[n], state.high_s[n]

    return tuple(
        Octave(
            hz,
            (was.after.absorption_m2[n], now.after.absorption_m2[n]),
            (times(was.after, n), times(now.after, n)),
        )
        for n, hz in enumerate(now.octaves_hz)
    )


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
        "frames": [_frame_figures(f, c.display) for f in c.frames],
        "quantities": [_line(line) for line in c.changed_lines],
        "labour": _move_figures(m for m in c.labour if m.change),
        "totals": _move_figures(c.totals),
        "options": _move_figures(c.options),
        "days": _move_figures(c.days),
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


def _move_figures(moves: Iterable[Move]) -> list[dict[str, Any]]:
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


def _frame_figures(frame: FrameChange, display: Display) -> dict[str, Any]:
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

"""Takeoffs of small jobs: a wall or two of a made-up room, with the shipped prices and the shop's rules."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from estimator.calc.expressions import Value
from estimator.catalogue.records import Catalogue, Practice
from estimator.core.units import Display, measures
from estimator.cutting.room import RoomPlans, cut_room
from estimator.job.description import Job
from estimator.layout.assembly import lay_out
from estimator.layout.records import Layout
from estimator.takeoff.quantities import Quantity, Takeoff, driven, take_off
from tests.layout.jobs import STANDARD, shipped, write_job

Row = dict[str, Any]
PAINTED = {**STANDARD, "primer": "primer-wood"}


@dataclass(frozen=True)
class Taken:
    """A takeoff with the layout and plans it was made from."""

    layout: Layout
    plans: RoomPlans
    takeoff: Takeoff

    def lines(self) -> dict[str, Quantity]:
        return {q.key: q for q in self.takeoff.quantities()}

    def work(self, table: str, column: str, row: int = 0) -> Decimal:
        value = self.takeoff.tables[table].value(column, row)
        assert isinstance(value, Decimal)
        return value


def panel(
    name: str = "N", on: str = "north", *, wide: str = "61 in", high: str = "85 in", **more: Any
) -> Row:
    """Return a treatment with a casing on each of its four sides, from 12 in off the wall's left end."""
    start = more.pop("from", "12 in")
    return {
        "name": name, "on": on, "make-up": "standard", "from": start, "to": more.pop("to", wide),
        "band": {"bottom": "2 in", "height": high},
        "sides": dict.fromkeys(("left", "right", "bottom", "top"), "wall"),
        "backing": {"kind": "gypsum", "layers": 1, "thickness": "1/2 in", "studs": "16 in",
                    "first_stud": "16 in"},
        **more,
    }  # fmt: skip


def practising(catalogue: Catalogue, **values: float) -> Catalogue:
    """Return the catalogue with these practice values, in the units that the practice is kept in."""
    own = {k: replace(v, value=values.get(k, v.value)) for k, v in catalogue.practice.values.items()}
    assert not set(values) - set(own)
    practice = Practice(catalogue.practice.name, own, catalogue.practice.choices)
    return Catalogue.of(catalogue.items, practice, catalogue.terms, catalogue.labour, catalogue.prices_name)


def without(catalogue: Catalogue, *keys: str) -> Catalogue:
    kept = tuple(i for i in catalogue.items if i.key not in keys)
    assert len(kept) == len(catalogue.items) - len(keys)
    return Catalogue.of(kept, catalogue.practice, catalogue.terms, catalogue.labour, catalogue.prices_name)


def with_item(catalogue: Catalogue, key: str, **changes: Any) -> Catalogue:
    """Return the catalogue with one item changed."""
    items = tuple(replace(i, **changes) if i.key == key else i for i in catalogue.items)
    return Catalogue.of(items, catalogue.practice, catalogue.terms, catalogue.labour, catalogue.prices_name)


def take(
    job: Job,
    catalogue: Catalogue | None = None,
    display: Display = "imperial",
    edits: Mapping[str, Value] | None = None,
) -> Taken:
    """Return a job's takeoff."""
    book = catalogue or shipped()
    layout = lay_out(job, book)
    plans = cut_room(layout, book)
    units = measures(display, "CAD")
    takeoff = take_off(layout, plans, book, units=units, edits=edits or {})
    return Taken(layout, plans, driven(takeoff, layout, units, (1, 2)))


def walls(*treatments: Row, **tables: Any) -> Job:
    """Return a job of treatments in the box room."""
    return write_job(wall=list(treatments), **{"make-up": {"standard": PAINTED}, **tables})

"""Printed values of materials and fastenings against ours, as a table of docs/validation.md.

Run ``python -m tests.benchmarks.takeoff_values`` to see it, with ``--write`` to put it into the page.
"""

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal as D

from estimator.catalogue.references import density_kg_m3, dressed_sizes
from estimator.core.units import INCH, MM, converted, parse_length, read_amount
from estimator.cutting.plans import RollPiece
from estimator.cutting.rolls.plan import plan_roll
from estimator.layout.fixings import POUND_FORCE_N, withdrawal_n
from estimator.layout.records import Cavity, parts_kg
from tests.benchmarks.page_part import DOCS, write_part
from tests.layout.jobs import shipped
from tests.published.test_takeoff_nist_hb44 import cubes_per_ounce
from tests.published.test_takeoff_sealant_yield import yield_of
from tests.takeoff.taken import panel, practising, take, walls

PAGE = DOCS / "validation.md"
OUNCES = D("10.1")


@dataclass(frozen=True, slots=True)
class Row:
    """A printed value: what it is, the value, ours, the unit, and where it is printed."""

    what: str
    printed: float
    ours: Callable[[], float]
    unit: str
    source: str


def _as(number: float | D, unit: str, wanted: str) -> float:
    return float(converted(D(number), unit, wanted))


def _volumes() -> Iterator[Row]:
    nist = "NIST Handbook 44, App. C"
    yield Row(
        "US gallon", 231, lambda: float(converted(D(1), "gal", "fl oz") * cubes_per_ounce()), "in³", nist
    )
    rate = "1604.17 by arithmetic; guides print 1604"
    spread = read_amount("100 % solids at 1 mil", "area-rate")
    yield Row(
        "a gallon, 1 mil thick", 1604.1667, lambda: _as(spread.number, spread.unit, "ft^2/gal"), "ft²", rate
    )
    guide = "worked example of a coating guide"
    five, fine = (read_amount(f"65 % solids at {film}", "area-rate") for film in ("5 mil", "125 um"))
    yield Row(
        "paint, 65 % solids, 5 mil", 208.52, lambda: _as(five.number, five.unit, "ft^2/gal"), "ft²/gal", guide
    )
    yield Row("paint, 65 % solids, 125 µm", 5.2, lambda: float(fine.number), "m²/L", guide)
    yield Row("cartridge of 10.1 fl oz", 18.2273, lambda: float(OUNCES * cubes_per_ounce()), "in³",
              "arithmetic; suppliers print 18.2 to 18.3")  # fmt: skip


def _beads() -> Iterator[Row]:
    table = "volume over section; suppliers' tables agree to rounding"
    for wide, deep, feet in ((4, 4, 24.3031), (6, 4, 16.2021), (8, 4, 12.1516), (3, 3, 43.2056)):
        name = f"10.1 fl oz, bead {wide}/16 × {deep}/16 in"
        yield Row(
            name,
            feet,
            lambda w=wide, d=deep: yield_of(OUNCES, w * INCH // 16, d * INCH // 16, "imperial"),  # type: ignore[misc]
            "ft",
            table,
        )
    quarter = INCH // 4
    yield Row("10.1 fl oz, fillet 1/4 in", 48.6063,
              lambda: yield_of(OUNCES, quarter, quarter, "imperial", "fillet"), "ft", "geometry")  # fmt: skip
    yield Row(
        "300 mL, bead 6 × 6 mm", 8.3333, lambda: yield_of(D(300), 6 * MM, 6 * MM, "metric"), "m", "geometry"
    )


def _wood() -> Iterator[Row]:
    screw = "NDS 2018, 12.2-2; table 12.2B to whole pounds"
    for name, diameter, pounds in (("No. 6", 0.138, 69), ("No. 8", 0.164, 82)):
        yield Row(f"withdrawal, {name}, G 0.42, an inch", pounds,
                  lambda d=diameter: withdrawal_n(0.42, round(d * INCH), INCH) / POUND_FORCE_N,  # type: ignore[misc]
                  "lb", screw)  # fmt: skip
    yield Row("withdrawal, No. 10, G 0.45, an inch", 109,
              lambda: withdrawal_n(0.45, round(0.19 * INCH), INCH) / POUND_FORCE_N, "lb",
              "engineering handbook, worked example")  # fmt: skip
    yield Row("lumber, G 0.51 at 30 %", 36.4,
              lambda: _as(density_kg_m3(0.51, 30), "kg/m^3", "lb/ft^3"), "lb/ft³",
              "NDS Supplement 3.1.3, worked example")  # fmt: skip
    gravity = next(i.specific_gravity or 0 for i in shipped().items if i.kind == "member")
    yield Row(
        "spruce-pine-fir, specific gravity",
        0.42,
        lambda: gravity,
        "",
        "NDS 2018, table 12.3.3A (from memory)",
    )
    for nominal, width in (("1x2", 1.5), ("1x3", 2.5), ("2x2", 1.5), ("2x4", 3.5), ("2x6", 5.5)):
        yield Row(f"planed {nominal}, width", width, lambda n=nominal: dressed_sizes()[n][1] / INCH, "in",  # type: ignore[misc]
                  "PS 20-20, tables 2 and 3 (2x4 read, others from memory)")  # fmt: skip


def _boards() -> Iterator[Row]:
    sheet = Cavity("c", 0, 0, 48 * INCH, 96 * INCH, "board-128-1.5", 1, 0)
    yield Row("board, 4 × 8 ft × 1 1/2 in, 128 kg/m³", 31.9631,
              lambda: _as(parts_kg([], [sheet], [], shipped()), "kg", "lb"), "lb",
              "volume × density")  # fmt: skip
    for metric, pounds in ((128, 7.991), (48, 2.997)):
        yield Row(f"{metric} kg/m³", pounds,
                  lambda m=metric: _as(m, "kg/m^3", "lb/ft^3"), "lb/ft³",  # type: ignore[misc]
                  "1 lb/ft³ = 16.018463 kg/m³")  # fmt: skip
    for inches, millimetres in (("1/4", 6.4), ("3/8", 9.5), ("1/2", 12.7), ("5/8", 15.9)):
        yield Row(f"gypsum board, {inches} in", millimetres,
                  lambda t=inches: parse_length(f"{t} in") / MM, "mm",  # type: ignore[misc]
                  "ASTM C1396, printed to 0.1 mm")  # fmt: skip


def _cloth() -> Iterator[Row]:
    piece = RollPiece("c", 50 * INCH, 90 * INCH)
    yield Row("cloth of 90 in, repeat 27 in", 108,
              lambda: plan_roll((piece,), 54 * INCH, 27 * INCH).length / INCH, "in",
              "drapery how-to")  # fmt: skip
    plain = practising(shipped(), staples_per_corner=0, wrap_pull=INCH)  # so that the cloth has no seam
    yield Row("staples, 24 ft at 1 1/2 in", 192,
              lambda: float(take(walls(panel(to="73 in")), plain).work("frame_work", "staples")), "",
              "arithmetic")  # fmt: skip
    yield Row("roll of tape, 60 yd", 180, lambda: _as(60, "yd", "ft"), "ft", "arithmetic")


def rows() -> list[Row]:
    """Return every row, in the order of the table."""
    return [*_volumes(), *_beads(), *_wood(), *_boards(), *_cloth()]


def table() -> str:
    """Return the table as Markdown."""
    lines = [
        "| what | printed | ours | unit | difference | source |",
        "| --- | ---: | ---: | --- | ---: | --- |",
    ]
    for row in rows():
        ours = row.ours()
        share = f"{ours / row.printed - 1:+.2%}".replace("-0.00%", "0.00%").replace("+0.00%", "0.00%")
        lines.append(f"| {row.what} | {row.printed:g} | {ours:.6g} | {row.unit} | {share} | {row.source} |")
    return "\n".join(lines) + "\n"


def main() -> None:
    """Print the table, or write it into the page."""
    if "--write" in sys.argv[1:]:
        write_part(PAGE, "values", table())
    else:
        sys.stdout.write(table())


if __name__ == "__main__":
    main()

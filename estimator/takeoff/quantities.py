"""The whole takeoff, with its trail; for the planners, by the catalogue as the office changed it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from types import MappingProxyType

from estimator.calc.expressions import Value
from estimator.calc.tables import Table, input_key
from estimator.catalogue.labour import LabourBook
from estimator.catalogue.records import ROLL, Catalogue, Item, Practice, PracticeChoice, PracticeValue
from estimator.core.units import INCH, METRE, MM, Measures, Nm, converted, plain
from estimator.cutting.room import RoomPlans, board_pieces, seams
from estimator.layout.records import Frame, Layout
from estimator.takeoff import frames as frame_tables
from estimator.takeoff import strips as strip_tables
from estimator.takeoff.contents import Line, Listing, Naming, counted, trail
from estimator.takeoff.drivers import drivers, layout_counts
from estimator.takeoff.frames import Pieces
from estimator.takeoff.hardware import Needs, fixing_counts, hardware_counts, weights
from estimator.takeoff.inputs import (
    WASTE,
    Edits,
    added_rows,
    pack_steps,
    practice_form,
    prices_table,
    replaced,
    unit_factors,
    waste_table,
)
from estimator.takeoff.lines import Trails, costs, materials, pack_choice, plan_prices, purchases


@dataclass(frozen=True, slots=True)
class Quantity:
    """One named line as reported: net, waste as a share, and what is bought, in `unit`."""

    key: str
    section: str
    description: str
    unit: str
    net: Decimal
    waste: Decimal
    bought: Decimal
    cost: Decimal


@dataclass(frozen=True, slots=True)
class TrailRow:
    """Why: `source` adds `quantity` to the line, by the column or count called `what`."""

    source: str
    what: str
    quantity: Decimal


@dataclass(frozen=True, slots=True)
class Takeoff:
    """The takeoff's tables, each figure with value and formula, and its lines.

    Attributes:
        tables: by key, in the order they were worked out.
        lines: what each line is.
        money: ISO 4217 code of every price.
        edits: what the office changed, applied to every input.
    """

    tables: dict[str, Table]
    lines: tuple[Line, ...]
    money: str
    edits: Edits

    def quantities(self) -> tuple[Quantity, ...]:
        """Return every line with its net, waste and bought quantities and its cost."""
        table, per_line = self.tables["lines"], self.tables["line_costs"]
        return tuple(
            Quantity(
                line.key,
                line.items[0].section,
                line.description,
                line.unit,
                _number(table.value("net", i)),
                _number(table.value("waste", i)),
                _number(per_line.value("bought", i)),
                _number(per_line.value("cost", i)),
            )
            for i, line in enumerate(self.lines)
        )

    def bought(self) -> tuple[str, ...]:
        """Return the items of which something is bought, each once."""
        table = self.tables["purchases"]
        rows = zip(table["item"].values, table["units"].values, strict=True)
        return tuple(dict.fromkeys(str(item) for item, units in rows if units))

    def trail(self, line: str) -> Iterator[TrailRow]:
        """Yield everything that adds to a line, source by source."""
        for key in ("frame_trail", "strip_trail", "count_trail"):
            table = self.tables[key]
            for i, own in enumerate(table["line"].values):
                if own == line:
                    quantity = _number(table.value("quantity", i))
                    yield TrailRow(str(table.value("source", i)), str(table.value("what", i)), quantity)


def take_off(
    layout: Layout,
    plans: RoomPlans,
    catalogue: Catalogue,
    *,
    units: Measures,
    edits: Edits,
    also: Sequence[Line] = (),
) -> Takeoff:
    """Return the takeoff of a layout: lines, trails, packs and costs; `driven` adds what hours follow from.

    Args:
        layout: what is built.
        plans: how it is cut.
        catalogue: prices and practice.
        units: of the job.
        edits: what the office changed.
        also: lines of the job's options, whose items stand in the price list too.

    Raises:
        InputError: the price list lacks what the layout needs.
    """
    contents = Listing(layout, catalogue, plans, units).contents()
    factors, practice = unit_factors(units), practice_form(catalogue, units, edits)
    waste = waste_table(catalogue, edits)
    prices = _prices((*contents.lines, *also), catalogue, units, edits)
    frames = frame_tables.schedule(layout, units, edits)
    pieces = Pieces(board_pieces(plans, layout.frames), seams(plans, layout.frames))
    facts = frame_tables.facts(layout, catalogue, pieces, units)
    strips = strip_tables.schedule(layout, units)
    frame_work = frame_tables.workings((frames, facts), practice, factors, units)
    strip_work = strip_tables.workings(strips, frames, practice, factors, units)
    fixings = fixing_counts(layout.frames, (frames, frame_work), practice, units)
    weighed = weights(layout, catalogue, Needs(frame_work, strips, strip_work), units)
    hardware = hardware_counts(layout, catalogue, (frames, weighed), practice, units)
    names = {line.key: Naming(line.description, line.unit) for line in contents.lines}
    trails = Trails(
        trail("frame_trail", "What each frame adds", contents.frame_shares, frame_work, names),
        trail("strip_trail", "What each strip adds", contents.strip_shares, strip_work, names),
        counted(contents.counts, fixings, hardware, names),
    )
    steps = pack_steps(prices, units.money)
    table = materials(contents.lines, trails, waste)
    mix = pack_choice(contents.lines, table, (prices, steps), units.money)
    bought = purchases(contents.lines, (table, mix), prices, units.money)
    sections = tuple(dict.fromkeys(line.items[0].section for line in contents.lines))
    per_line, by_section, form = costs(table, bought, sections, units.money)
    tables = (
        *(
            factors,
            practice,
            waste,
            prices,
            frames,
            facts,
            strips,
            frame_work,
            fixings,
            strip_work,
            weighed,
            hardware,
        ),
        *(trails.frames, trails.strips, trails.counts, table, bought, per_line, by_section, form),
        *(steps, mix, plan_prices(plans, catalogue, prices)),
    )
    return Takeoff({t.key: t for t in tables}, contents.lines, units.money, edits)


def driven(takeoff: Takeoff, layout: Layout, units: Measures, trips: tuple[int, int]) -> Takeoff:
    """Return a takeoff with the counts, sums and drivers that the hours follow from.

    Args:
        takeoff: of the layout.
        layout: what is built.
        units: of the job.
        trips: to the site, and people on all of them.
    """
    t, counts = takeoff.tables, layout_counts(layout, trips)
    added = (counts, *drivers(t, counts, units))
    return replace(takeoff, tables={**t, **{table.key: table for table in added}})


def _prices(lines: Sequence[Line], catalogue: Catalogue, units: Measures, edits: Edits) -> Table:
    items = {item.key: item for line in lines for item in line.items}
    unit_of = {item.product: line.unit for line in lines for item in line.items}
    step_m = Decimal(catalogue.practice.length("fabric_step")) / METRE
    cut = (i for i in items.values() if i.stock == ROLL and i.content == 1)
    steps = {i.key: step_m / i.content_as("m") for i in cut}
    return prices_table(items.values(), unit_of, steps, units.money, edits)


def _number(value: Value) -> Decimal:
    return value if isinstance(value, Decimal) else Decimal(0)


def edited(catalogue: Catalogue, edits: Mapping[str, Value], units: Measures) -> Catalogue:
    """Return the catalogue with what the office changed, so that layout and cutting plans follow too."""
    if not edits:
        return catalogue
    practice = catalogue.practice
    values = {k: _value(v, edits, units) for k, v in practice.values.items()}
    choices = {k: _choice(c, edits) for k, c in practice.choices.items()}
    changed = Practice(practice.name, MappingProxyType(values), MappingProxyType(choices), practice.firm)
    added = added_rows(edits)
    items = tuple(_item(replaced(i, added), edits) for i in catalogue.items)
    labour = _crewed(catalogue.labour, edits)
    return Catalogue.of(items, changed, catalogue.terms, labour, catalogue.prices_name)


def sizes_in(
    edits: Mapping[str, Value], units: Measures, frames: tuple[Frame, ...]
) -> dict[str, tuple[Nm, Nm]]:
    """Return width and height of each frame whose size the office changed, nanometres."""
    changed: dict[str, tuple[Nm, Nm]] = {}
    for frame in frames:
        width, height = (edits.get(input_key("frames", field, frame.name)) for field in ("width", "height"))
        if width is not None or height is not None:
            changed[frame.name] = (
                _nanometres(width, units) if isinstance(width, Decimal) else frame.width,
                _nanometres(height, units) if isinstance(height, Decimal) else frame.height,
            )
    return changed


def deepened(layout: Layout, edits: Mapping[str, Value], units: Measures) -> Layout:
    """Return the layout with the frame depths that the office changed; the cloth's wrap grows with them."""
    return replace(layout, frames=tuple(_deepened(f, edits, units) for f in layout.frames))


def _deepened(frame: Frame, edits: Mapping[str, Value], units: Measures) -> Frame:
    new = edits.get(input_key("frames", "depth", frame.name))
    if not isinstance(new, Decimal):
        return frame
    depth = _nanometres(new, units)
    faces = tuple(replace(face, wrap=face.wrap + depth - frame.depth) for face in frame.faces)
    return replace(frame, depth=depth, faces=faces)


def _nanometres(value: Decimal, units: Measures) -> Nm:
    return round(value * (INCH if units.display == "imperial" else MM))


def _value(value: PracticeValue, edits: Mapping[str, Value], units: Measures) -> PracticeValue:
    waste = value.key.startswith(WASTE)
    key = (
        input_key("waste", "share", value.key.removeprefix(WASTE))
        if waste
        else input_key("practice", value.key)
    )
    new = edits.get(key)
    if not isinstance(new, Decimal):
        return value
    source = f"changed by the office; the shop's is {value.text}"
    if value.dimension == "length":
        text = f"{new:f} {units.small}"
        return replace(value, value=_nanometres(new, units), text=text, source=source)
    own_unit = units.own(Decimal(1), value.unit)[1]
    text = f"{100 * new:f} %" if value.dimension == "percent" else f"{new:f} {own_unit}".strip()
    if own_unit not in {value.unit, "%"} and plain(own_unit) != value.unit:
        new = converted(new, plain(own_unit), value.unit)
    return replace(value, value=float(new), text=text, source=source)


def _choice(choice: PracticeChoice, edits: Mapping[str, Value]) -> PracticeChoice:
    new = edits.get(input_key("practice", choice.key))
    return replace(choice, value=new) if isinstance(new, str) else choice


def _crewed(book: LabourBook, edits: Mapping[str, Value]) -> LabourBook:
    """Return the labour book with the crews that the office changed, so that the days follow too."""
    edited = {t.key: edits.get(input_key("labour_rates", "crew", t.key)) for t in book.tasks}
    crews = {key: int(new) for key, new in edited.items() if isinstance(new, Decimal)}
    return book.with_crews(crews) if crews else book


def _item(item: Item, edits: Mapping[str, Value]) -> Item:
    price = edits.get(input_key("prices", "price", item.key))
    return replace(item, price=price) if isinstance(price, Decimal) else item

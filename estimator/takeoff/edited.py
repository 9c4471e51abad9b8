"""The catalogue as the office changed it in the workbook: prices, packs and practice, for the planners."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from types import MappingProxyType

from estimator.calc.expressions import Value
from estimator.calc.tables import input_key
from estimator.catalogue.labour import LabourBook
from estimator.catalogue.records import Catalogue, Item, Practice, PracticeChoice, PracticeValue
from estimator.core.units import INCH, MM, Measures, Nm, converted, plain
from estimator.layout.records import Frame, Layout
from estimator.takeoff.inputs import WASTE, added_rows, replaced


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

"""The room's sound in the workbook: absorption table × areas, live by Sabine and Eyring; the rest as found.

Source: Sabine (1922), T = 24 ln 10 / c · V / (A + 4 m V); Eyring, JASA 1 (1930) 217, -S ln(1 - A/S) for A.
Fitzroy and Arau-Puchades stand as the program worked them out.
"""

from collections.abc import Sequence
from decimal import Decimal

from estimator.acoustics.bands import OCTAVES_HZ
from estimator.acoustics.reverberation import CAP, room_arrays
from estimator.acoustics.room import Patch, RoomModel
from estimator.acoustics.survey import patches_of, room_after, room_before
from estimator.calc.expressions import Expr, call, find, product_total, total, total_where
from estimator.calc.tables import Draft, Field, Table
from estimator.core.money import decimal
from estimator.pipeline import Estimate, Scope

NOTE = "Estimated, not guaranteed. Nothing here keeps sound in or out of the room."
MOST = Decimal("1.5")
_PLACES = 3
_SQUARE_FEET = Decimal("10.763910416709722")


def room_tables(estimate: Estimate) -> tuple[Table, ...]:
    """Return facts, surfaces, treatment, and the reverberation before and after, per octave."""
    scope = estimate.scope
    before = room_before(scope.job, scope.layout)
    patches, bodies = patches_of(scope.job, scope.layout, estimate.catalogue)
    facts = _facts(before)
    treatment = _treatment(scope, patches, facts, estimate)
    surfaces = _surfaces(before, treatment, estimate)
    after = room_after(before, patches, bodies)
    return facts, treatment, surfaces, _times(scope, (before, after), (facts, surfaces, treatment))


def _facts(room: RoomModel) -> Table:
    form = Draft("room_facts", "The room", "across", note=NOTE)
    factor = decimal(room_arrays(room).k_volume / room.volume_m3)
    form.decided("room_volume", "Volume", "m³", [decimal(room.volume_m3)])
    form.decided("sabine_factor", "24 ln 10 ÷ speed of sound", "s/m", [factor], places=5)
    form.decided("alpha_cap", "Largest coefficient that Eyring's formula takes", "", [decimal(CAP)])
    form.decided("sqft_per_sqm", "ft² in one m²", "", [_SQUARE_FEET], places=6)
    return form.table()


def _octave_fields(table: Draft, rows: Sequence[tuple[float, ...]], source: str) -> None:
    for n, hz in enumerate(OCTAVES_HZ):
        values = [decimal(round(r[n], _PLACES)) for r in rows]
        table.input(f"a{hz}", f"{hz} Hz", "", values, low=Decimal(0), high=MOST, source=source, places=2)


def _treatment(scope: Scope, patches: tuple[Patch, ...], facts: Table, estimate: Estimate) -> Table:
    table = Draft("room_treatment", "Treatment: what each frame absorbs", edits=scope.takeoff.edits)
    keys = table.keys([p.name for p in patches], "Frame")
    table.label("on", "On", [p.on for p in patches])
    work = scope.takeoff.tables["frame_work"]
    share = [decimal(p.area_m2) for p in patches]
    live = find(work["frame_area"], work["key"], keys)
    if estimate.units.display == "imperial":
        live = live / facts["sqft_per_sqm"].at()
    table.decided("planned", "Area as laid out", "m²", share)
    table.formula("area", "Area", "m²", live)
    _octave_fields(table, [p.alpha for p in patches], "absorber model or measured row; see Cautions")
    table.label("origin", "Origin", [p.source for p in patches])
    return table.table()


def _surfaces(room: RoomModel, treatment: Table, estimate: Estimate) -> Table:
    table = Draft("room_surfaces", "Surfaces of the bare room", edits=estimate.scope.takeoff.edits)
    keys = table.keys([s.name for s in room.surfaces], "Surface")
    table.decided("area", "Area", "m²", [decimal(s.area_m2) for s in room.surfaces])
    covered = table.formula("covered", "Covered", "m²", total_where(treatment["area"], treatment["on"], keys))
    table.formula("left", "Left bare", "m²", call("MAX", _last(table, "area") - covered, 0))
    _octave_fields(table, [s.alpha for s in room.surfaces], "absorption table")
    table.label("source", "Source", [s.source for s in room.surfaces])
    return table.table()


def _last(table: Draft, key: str) -> Field:
    return next(f for f in table.fields if f.key == key)


def _times(scope: Scope, rooms: tuple[RoomModel, RoomModel], tables: tuple[Table, Table, Table]) -> Table:
    facts, surfaces, treatment = tables
    table = Draft("reverberation", "Reverberation time per octave", note=NOTE)
    table.keys([f"{hz} Hz" for hz in OCTAVES_HZ], "Octave")
    volume, factor = facts["room_volume"].at(), facts["sabine_factor"].at()
    for name, room, area in (("before", rooms[0], "area"), ("after", rooms[1], "left")):
        extra = [decimal(v) for v in room_arrays(room).extra]
        air = table.decided(f"extra_{name}", f"Air and hung pieces, {name}", "m²", extra)
        sums = [_absorbed(surfaces, area, treatment if name == "after" else None, hz) for hz in OCTAVES_HZ]
        absorbed = table.each(f"absorbed_{name}", f"Surfaces, {name}", "m²", sums)
        whole = (
            total(surfaces[area]) if name == "before" else total(surfaces[area]) + total(treatment["area"])
        )
        table.formula(f"sabine_{name}", f"Sabine, {name}", "s", factor * volume / (absorbed + air), places=2)
        mean = call("MIN", absorbed / whole, facts["alpha_cap"].at())
        table.formula(f"mean_{name}", f"Mean coefficient, {name}", "", mean)
        spread = whole * call("LN", 1 - _last(table, f"mean_{name}"))
        table.formula(f"eyring_{name}", f"Eyring, {name}", "s", factor * volume / (air - spread), places=2)
    for name, state in (("before", scope.room.before), ("after", scope.room.after)):
        for end, values in (("least", state.low_s), ("most", state.high_s)):
            cells = [None if v is None else decimal(v) for v in values]
            table.decided(f"{end}_{name}", f"Four formulas, {end}, {name}", "s", cells, places=2)
    return table.table()


def _absorbed(surfaces: Table, area: str, treatment: Table | None, hz: int) -> Expr:
    bare = product_total(surfaces[area], surfaces[f"a{hz}"])
    return bare if treatment is None else bare + product_total(treatment["area"], treatment[f"a{hz}"])

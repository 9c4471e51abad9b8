"""The room's sound in the workbook: absorption table × areas, live by Sabine and Eyring; the rest as found.

Source: Sabine (1922), T = 24 ln 10 / c · V / (A + 4 m V); Eyring, JASA 1 (1930) 217, -S ln(1 - A/S) for A.
Fitzroy and Arau-Puchades stand as the program worked them out.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimator.acoustics.ratings import OCTAVES_HZ, six
from estimator.acoustics.reverberation import CAP, Reverberation, eyring_time, room_arrays, sabine_time
from estimator.acoustics.room import Body, Patch, RoomModel, Surface, treat
from estimator.acoustics.survey import treatment
from estimator.calc.expressions import (
    Expr,
    Field,
    Stack,
    StackKeys,
    Value,
    call,
    find_line,
    if_,
    lift,
    product_total,
    total,
    total_where,
)
from estimator.calc.tables import Draft, Table
from estimator.core.money import decimal
from estimator.core.units import Display, converted, metres
from estimator.layout.records import Layout
from estimator.pipeline import Estimate, Scope

NOTE = (
    "Estimated, not guaranteed. Nothing here keeps sound in or out of the room. 0 where nothing is stated: "
    "below the Schroeder frequency single tones rule."
)
MOST = Decimal("1.5")
IN_THE_ROOM = "in the room"
"""What hangs or stands there is on no surface."""
_PLACES = 3
_SQUARE_FEET = converted(Decimal(1), "m^2", "ft^2")


@dataclass(frozen=True, slots=True)
class RoomSheets:
    """The room's tables: what may be changed, and what follows."""

    inputs: tuple[Table, ...]
    workings: tuple[Table, ...]


def room_sheets(estimate: Estimate) -> RoomSheets:
    """Return absorption per octave as inputs; areas and reverberation, before and after, as workings."""
    scope = estimate.scope
    made = treatment(scope.job, scope.layout, estimate.catalogue)
    before, patches, bodies = made.room, made.patches, made.bodies
    after = treat(before, patches, bodies)
    edits = scope.takeoff.edits
    rows = [*patches, *_faces(bodies, scope.layout)]
    of_frame = "What each frame absorbs, both faces where it hangs or stands in the room"
    frames = _alphas("alpha_frames", of_frame, rows, "as modelled or measured", edits, faces=2)
    surfaces = _alphas(
        "alpha_surfaces", "What the bare surfaces absorb", before.surfaces, "absorption table", edits
    )
    facts = _facts(before, estimate.units.display)
    covered = _treatment(scope, rows, (facts, frames), estimate)
    bare = _surfaces(before, covered, surfaces)
    sums = _sums(bare, covered)
    times = (
        _times("before", before, scope.room.before, facts, sums),
        _times("after", replace(after, bodies=before.bodies), scope.room.after, facts, sums),
    )
    return RoomSheets((surfaces, frames), (facts, covered, bare, sums, *times))


def _faces(bodies: Sequence[Body], layout: Layout) -> Iterator[Patch]:
    """Yield the face of each piece that hangs or stands in the room, with what both faces absorb."""
    frames = {frame.name: frame for frame in layout.frames}
    for body in bodies:
        area = metres(frames[body.name].width) * metres(frames[body.name].height)
        yield Patch(body.name, IN_THE_ROOM, area, six([a / area for a in body.absorption_m2]), body.source)


def _facts(room: RoomModel, display: Display) -> Table:
    form = Draft("room_facts", "The room", "across", note=NOTE)
    factor = decimal(float(room_arrays(room).k_volume) / room.volume_m3)
    form.decided("room_volume", "Volume", "m³", [decimal(room.volume_m3)])
    form.decided("sabine_factor", "24 ln 10 ÷ speed of sound", "s/m", [factor], places=5)
    form.decided("alpha_cap", "Largest coefficient that Eyring's formula takes", "", [decimal(CAP)])
    if display == "imperial":
        form.decided("sqft_per_sqm", "ft² in one m²", "", [_SQUARE_FEET], places=6)
    return form.table()


def _alphas(
    key: str,
    title: str,
    rows: Sequence[Patch] | Sequence[Surface],
    source: str,
    edits: Mapping[str, Value],
    *,
    faces: int = 1,
) -> Table:
    note = "Shares of sound taken up, per octave; measured values may pass 1."
    table = Draft(key, title, note=note, edits=edits)
    table.names([r.name for r in rows], "Name")
    for n, hz in enumerate(OCTAVES_HZ):
        values = [decimal(round(r.alpha[n], _PLACES)) for r in rows]
        most = faces * MOST
        table.input(f"a{hz}", f"{hz} Hz", "", values, low=Decimal(0), high=most, source=source, places=2)
    table.label("origin", "Origin", [r.source for r in rows])
    return table.table()


def _taken_up(draft: Draft, alphas: Table, keys: Field) -> None:
    """Add to each row what it takes up per octave, from the row of its key among the inputs."""
    for hz in OCTAVES_HZ:
        draft.formula(f"a{hz}", f"{hz} Hz", "", alphas.of(f"a{hz}", keys))


def _treatment(
    scope: Scope, patches: Sequence[Patch], tables: tuple[Table, Table], estimate: Estimate
) -> Table:
    facts, alphas = tables
    table = Draft("room_treatment", "Treatment on the surfaces and in the room")
    keys = table.names([p.name for p in patches], "Frame")
    table.label("on", "On", [p.on for p in patches])
    work = scope.takeoff.tables["frame_work"]
    live = work.of("frame_area", keys)
    if estimate.units.display == "imperial":
        live = live / facts["sqft_per_sqm"].at()
    area = table.formula("area", "Area", "m²", live)
    hangs = [Decimal(p.on == IN_THE_ROOM) for p in patches]
    hung = table.decided("hangs", "Hangs or stands in the room (1 = yes)", "", hangs, places=0)
    table.formula("on_surface", "On a surface", "m²", area * (1 - hung))
    table.formula("hung", "In the room", "m²", area * hung)
    _taken_up(table, alphas, keys)
    return table.table()


def _surfaces(room: RoomModel, treatment: Table, alphas: Table) -> Table:
    table = Draft("room_surfaces", "Surfaces of the bare room")
    keys = table.names([s.name for s in room.surfaces], "Surface")
    area = table.decided("area", "Area", "m²", [decimal(s.area_m2) for s in room.surfaces])
    on = total_where(treatment["on_surface"], treatment["on"], keys)
    covered = table.formula("covered", "Covered", "m²", on)
    table.formula("left", "Left bare", "m²", call("MAX", area - covered, 0))
    _taken_up(table, alphas, keys)
    return table.table()


def _sums(surfaces: Table, frames: Table) -> Table:
    """Return the form of absorption areas per octave, before and after."""
    form = Draft("absorption_sums", "Absorption of the surfaces", "across")
    for hz in OCTAVES_HZ:
        sum_ = product_total(surfaces["area"], surfaces[f"a{hz}"])
        form.formula(f"absorbed_before_{hz}", f"Before, {hz} Hz", "m²", sum_)
    for hz in OCTAVES_HZ:
        left = product_total(surfaces["left"], surfaces[f"a{hz}"])
        covered = product_total(frames["on_surface"], frames[f"a{hz}"])
        form.formula(f"absorbed_after_{hz}", f"After, {hz} Hz", "m²", left + covered)
    for hz in OCTAVES_HZ:
        hung = product_total(frames["hung"], frames[f"a{hz}"])
        form.formula(f"hung_after_{hz}", f"Hung or standing, {hz} Hz", "m²", hung)
    form.formula("surface_before", "All surfaces, before", "m²", total(surfaces["area"]))
    both = total(surfaces["left"]) + total(frames["on_surface"])
    form.formula("surface_after", "All surfaces, after", "m²", both)
    return form.table()


def _times(name: str, room: RoomModel, state: Reverberation, facts: Table, sums: Table) -> Table:
    """Return the reverberation times of one state of the room, 'before' or 'after'."""
    table = Draft(f"reverberation_{name}", f"Reverberation time per octave, {name}", note=NOTE)
    line = table.keys([f"absorbed_{name}_{hz}" for hz in OCTAVES_HZ], "Octave")
    table.label("name", "Octave", [f"{hz} Hz" for hz in OCTAVES_HZ])
    volume, factor = facts["room_volume"].at(), facts["sabine_factor"].at()
    told = [Decimal(v is not None) for v in state.low_s]
    stated = table.decided("stated", "Stated (1 = yes)", "", told, places=0)
    extra = [decimal(v) for v in room_arrays(room).extra]
    other: Expr = lift(table.decided("extra", "Air, and what was in the room", "m²", extra))
    if name == "after":
        other = other + table.formula("hung", "Hung or standing", "m²", _hung(sums, line))
    absorbed = table.formula("absorbed", "Surfaces", "m²", find_line(sums.fields, line))
    sabine = sabine_time(factor * volume, lift(absorbed), other)
    table.formula("sabine", f"Sabine, {name}", "s", if_(stated.eq(1), sabine, 0), places=2)
    whole = sums[f"surface_{name}"].at()
    share = call("MIN", absorbed / whole, facts["alpha_cap"].at())
    mean = table.formula("mean", "Mean coefficient", "", share)
    eyring = eyring_time(factor * volume, whole, lift(mean), other, lambda value: call("LN", value))
    table.formula("eyring", f"Eyring, {name}", "s", if_(stated.eq(1), eyring, 0), places=2)
    for end, values in (("least", state.low_s), ("most", state.high_s)):
        cells = [None if v is None else decimal(v) for v in values]
        table.decided(end, f"Four formulas, {end}", "s", cells, places=2)
    return table.table()


def _hung(sums: Table, line: Field) -> Expr:
    """Return what the pieces in the room absorb in the octave whose surfaces a row names."""
    pieces, surfaces = (
        tuple(sums[f"{part}_after_{hz}"] for hz in OCTAVES_HZ) for part in ("hung", "absorbed")
    )
    return call("INDEX", Stack(pieces), call("MATCH", line, StackKeys(surfaces), 0))

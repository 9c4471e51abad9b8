"""Casings and cover strips: length, nails, filler, sanding, masking, paint and sealant of each.

A strip's length follows its frame's edge: width or height, plus the allowance that its laps, mitres and
scribing add.
"""

from dataclasses import dataclass
from decimal import Decimal

from estimator.calc.expressions import Expr, Field, call, if_, whole_up
from estimator.calc.tables import Draft, Table
from estimator.core.units import Measures, Nm
from estimator.layout.records import Frame, Layout, Strip


def schedule(layout: Layout, units: Measures) -> Table:
    """Return the strips as the layout decided them: where each goes, its allowance, girth and joints."""
    strips = layout.strips
    table = Draft("strips", "Casings and cover strips")
    table.names([s.name for s in strips], "Strip")
    for key in ("frame", "side", "kind"):
        table.label(key, key.capitalize(), [getattr(s, key) for s in strips])
    frames = {f.name: f for f in layout.frames}
    mitres = [sum(e.cut == "mitre" for e in s.ends) * s.width // 2 for s in strips]
    for key, label, unit, values in (
        ("along", "Runs along the width (1 = yes)", "", [s.side in {"bottom", "top"} for s in strips]),
        (
            "allowance",
            "Beyond the frame's side",
            units.small,
            [_allowance(s, frames[s.frame]) for s in strips],
        ),
        ("girth", "Exposed girth", units.small, [s.girth for s in strips]),
        ("glued", "Held by adhesive (1 = yes)", "", [bool(s.glued) for s in strips]),
        ("sealed", "Lines of sealant", "", [s.sealed for s in strips]),
        ("mitres", "Mitres sealed, its half", units.small, mitres),
        ("painted", "Painted (1 = yes)", "", [bool(s.finish) for s in strips]),
        ("primed", "Primed first (1 = yes)", "", [bool(s.primer) for s in strips]),
    ):
        shown = [units.length(v) if unit else Decimal(v) for v in values]
        table.decided(key, label, unit, shown, places=4 if unit else 0)
    return table.table()


def _allowance(strip: Strip, frame: Frame) -> Nm:
    """Return how much longer a strip is than the whole side of its frame; negative where it covers a part."""
    return strip.length - (frame.width if strip.side in {"bottom", "top"} else frame.height)


def workings(strips: Table, frames: Table, practice: Table, factors: Table, units: Measures) -> Table:
    """Return what each strip needs, one column a quantity, row by row beside the strips."""
    table = Draft("strip_work", "What each strip needs")
    table.names([str(k) for k in strips["key"].values], "Strip")
    work = _StripWork(table, strips, frames, practice, factors, units)
    length = work.length()
    work.fixing(length)
    work.finish(length)
    return table.table()


@dataclass(frozen=True, slots=True)
class _StripWork:
    """The columns being written, and the tables they read."""

    table: Draft
    strips: Table
    frames: Table
    practice: Table
    factors: Table
    units: Measures

    def _practice(self, key: str) -> Expr:
        return self.practice[key].at()

    def length(self) -> Field:
        """Return the column of cut lengths, in small units."""
        s, frames = self.strips, self.frames
        small = self.units.small
        wide = self.table.formula("wide", "Frame width", small, frames.of("width", s["frame"]))
        high = self.table.formula("high", "Frame height", small, frames.of("height", s["frame"]))
        edge = self.table.formula("edge", "Frame side", small, if_(s["along"].eq(1), wide, high))
        return self.table.formula("length", "Cut length", self.units.small, edge + s["allowance"], places=4)

    def fixing(self, length: Field) -> None:
        """Running length; nails at the shop's spacing and filler for their holes, or adhesive in a slot."""
        per = self.factors["small_per_large"].at()
        self.table.formula("run", "Running length", self.units.large, length / per, places=3)
        span = call("MAX", length - 2 * self._practice("nail_end_distance"), 0)
        along = whole_up(span / self._practice("nail_spacing")) + 1
        glued = self.strips["glued"]
        nails = self.table.formula("nails", "Nails", "ea", (1 - glued) * along, places=0)
        bead = self._practice("adhesive_bead")
        volume = glued * length * bead * bead / self.factors["cubes_per_bead"].at()
        self.table.formula("adhesive", "Adhesive", self.units.bead, volume, places=4)
        self.table.formula("filler", "Filler", "mL", nails * self._practice("filler_per_hole"), places=3)

    def finish(self, length: Field) -> None:
        """Sanding, masking, primer, paint by coats, and sealant by the bead's section."""
        s, per = self.strips, self.factors["small_per_large"].at()
        run = length / per
        for grit in ("coarse", "fine"):
            sheets = s["painted"] * length / self._practice(f"sand_per_sheet_{grit}")
            self.table.formula(f"sand_{grit}", f"Sandpaper, {grit}", "ea", sheets, places=4)
        on_site = s["painted"] * if_(self._practice("strips_finished").eq("shop"), 0, 1)
        lines = on_site * self._practice("masking_lines") + s["sealed"]
        self.table.formula("masked", "Masked length", self.units.large, run * lines, places=3)
        area = self.table.formula(
            "paint_area",
            "Painted area",
            self.units.area,
            s["painted"] * s["girth"] * length / per / per,
            places=4,
        )
        spread = self._practice("spread_rate") * self._practice("transfer_efficiency")
        coats = self._practice("coats")
        self.table.formula("paint", "Paint", self.units.liquid, area * coats / spread, places=5)
        self.table.formula(
            "coat_run", "Painted length × coats", self.units.large, s["painted"] * run * coats, places=3
        )
        self.table.formula("painted_run", "Painted length", self.units.large, s["painted"] * run, places=3)
        primer = s["primed"] * self._practice("primer_coats")
        spread = self._practice("primer_spread_rate") * self._practice("transfer_efficiency")
        self.table.formula("primer", "Primer", self.units.liquid, area * primer / spread, places=5)
        self.table.formula("primer_run", "Primed length", self.units.large, primer * run, places=3)
        bead = self._practice("bead_width") * self._practice("bead_depth")
        joints = s["sealed"] * length + s["mitres"]
        self.table.formula("seal_run", "Sealed length", self.units.large, joints / per, places=3)
        part = if_(self._practice("bead_shape").eq("fillet"), 2, 1)
        volume = joints * bead / part / self.factors["cubes_per_bead"].at()
        self.table.formula("sealant", "Sealant", self.units.bead, volume, places=4)

"""Frames as inputs, and what each needs: lengths, areas, cloth, staples, screws, weight.

The schedule of frames holds the sizes; everything here follows from them by formula. What the layout
decides (extra studs, boards per cavity, faces) stands in a table of its own, row by row, as values.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, NamedTuple

from estimator.calc.expressions import Expr, Field, call, if_, round_to, whole_up
from estimator.calc.tables import Draft, Table
from estimator.catalogue.records import Catalogue
from estimator.core.units import Measures, Nm
from estimator.layout.members import bays_between
from estimator.layout.records import Frame, Layout, Member
from estimator.takeoff.inputs import Edits

REGULAR_ROLES = ("rail", "stile", "stud")


def regular(frame: Frame) -> bool:
    """Return whether two rails run the full width, every upright fits between them, and boards fill the rest.

    A solid trap's boards lie in a stack behind its frame: what is between the members says nothing of them.
    """
    if any(c.stacked for c in frame.cavities):
        return False
    rails = [m for m in frame.members if m.role == "rail"]
    uprights = [m for m in frame.members if m.role in {"stile", "stud"}]
    if len(rails) != 2 or not uprights or any(m.length != frame.width for m in rails):  # noqa: PLR2004
        return False
    between = frame.height - rails[0].thickness - rails[1].thickness
    return all(m.length == between for m in uprights)


def _others(frame: Frame) -> tuple[Member, ...]:
    """Return the members that the rule for regular frames does not count."""
    if not regular(frame):
        return frame.members
    return tuple(m for m in frame.members if m.role not in REGULAR_ROLES)


def thickness_of(frame: Frame) -> Nm:
    """Return the thickness of a frame's members as seen from its front."""
    return frame.members[0].thickness if frame.members else 0


def schedule(layout: Layout, units: Measures, edits: Edits) -> Table:
    """Return the frame schedule: width, height and depth to change."""
    frames = layout.frames
    table = Draft("frames", "Frame schedule", edits=edits)
    table.names([f.name for f in frames], "Frame")
    table.label("host", "Part of", [f.host for f in frames])
    table.label("kind", "Kind", [f.kind for f in frames])
    table.label("make_up", "Make-up", [f.make_up for f in frames])
    for key, values in (
        ("width", [f.width for f in frames]),
        ("height", [f.height for f in frames]),
        ("depth", [f.depth for f in frames]),
    ):
        sizes = [units.length(v) for v in values]
        high = units.length(1000 * 25_400_000)
        table.input(key, key.capitalize(), units.small, sizes, low=Decimal("0.1"), high=high, places=4)
    return table.table()


class Pieces(NamedTuple):
    """Pieces of boards, and seams of cloth, in each frame by its name."""

    boards: Mapping[str, int]
    seams: Mapping[str, int]


def facts(layout: Layout, catalogue: Catalogue, pieces: Pieces, units: Measures) -> Table:
    """Return what the layout decided of each frame, row by row beside the schedule.

    Args:
        layout: the frames.
        catalogue: for widths of cloth.
        pieces: of boards and cloth in each frame, by the cutting plans.
        units: the job's units.
    """
    lowest = _lowest(layout.frames)
    spacing = catalogue.practice.length("stud_spacing")
    size = _Shown(units.small, 4, units.length)
    count = _Shown("", 0, Decimal)
    area = _Shown(units.area, 4, Decimal)
    columns: tuple[tuple[str, str, _Shown, Callable[[Frame], Any]], ...] = (
        ("laid_width", "Laid out with width", size, lambda f: f.width),
        ("laid_height", "Laid out with height", size, lambda f: f.height),
        ("laid_spacing", "Studs set out at (0 = any)", size, lambda f: spacing if _set_out(f) else 0),
        ("stock", "Member thickness", size, thickness_of),
        ("regular", "Rails and uprights (1 = yes)", count, regular),
        ("extra_studs", "Extra studs", count, lambda f: f.extra_studs),
        ("other_members", "Other members", size, lambda f: sum(m.length for m in _others(f))),
        ("other_pieces", "Other member pieces", count, lambda f: len(_others(f))),
        ("other_cavity", "Other cavity area", area, lambda f: _other_cavity(f, units)),
        ("layers", "Board layers", count, lambda f: f.cavities[0].layers if f.cavities else 0),
        ("boards", "Board pieces planned", count, lambda f: pieces.boards.get(f.name, 0)),
        ("between", "Board pieces between members", count, lambda f: _between(f, pieces.boards)),
        ("overhead", "Hangs overhead (1 = yes)", count, lambda f: f.overhead),
        ("faces", "Covered faces", count, lambda f: len(f.faces)),
        ("seams", "Seams of its cloth", count, lambda f: pieces.seams.get(f.name, 0)),
        ("face_more", "Face wider than frame by", size, _face_more),
        ("roll", "Cloth width", size, lambda f: _roll_width(f, catalogue)),
        ("boxes", "Electrical boxes", count, lambda f: f.boxes_counted),
        ("fixed", "Fixed to the building (1 = yes)", count, lambda f: bool(f.fixings)),
        ("stands", "Fixed above bare floor (1 = yes)", count, lambda f: f.name in lowest),
    )
    table = Draft("frame_facts", "What the layout decided of each frame")
    table.names([f.name for f in layout.frames], "Frame")
    for key, label, shown, of in columns:
        table.decided(key, label, shown.unit, [shown.value(of(f)) for f in layout.frames], shown.places)
    return table.table()


def _set_out(frame: Frame) -> bool:
    """Return whether its studs stand where a box or a seam has them, for the spacing of the layout."""
    return bool(frame.boxes or frame.extra_studs)


class _Shown(NamedTuple):
    """How a column shows what is known of a frame: unit, decimals, and the number in that unit."""

    unit: str
    places: int
    value: Callable[[Any], Decimal]


def _between(frame: Frame, boards: Mapping[str, int]) -> int:
    """Return how many of a frame's board pieces lie between its members; a solid trap's stand behind it."""
    return 0 if any(c.stacked for c in frame.cavities) else boards.get(frame.name, 0)


def _other_cavity(frame: Frame, units: Measures) -> Decimal:
    """Return the cavity area that the rule for regular frames does not count, in large units squared."""
    if regular(frame):
        return Decimal(0)
    per = units.length(304_800_000 if units.display == "imperial" else 10**9)
    return sum((units.length(c.width) * units.length(c.height) for c in frame.cavities), Decimal(0)) / per**2


def _lowest(frames: tuple[Frame, ...]) -> set[str]:
    """Return the names of frames fixed to the building with no other of their treatment below them."""
    fixed = [f for f in frames if f.fixings]
    return {f.name for f in fixed if not any(_below(g, f) for g in fixed)}


def _below(one: Frame, other: Frame) -> bool:
    low, high = one.placement, other.placement
    beside = low.x >= high.x + other.width or high.x >= low.x + one.width
    return one.host == other.host and low.z < high.z and not beside


def _face_more(frame: Frame) -> Nm:
    return max((f.width - frame.width for f in frame.faces), default=0)


def _roll_width(frame: Frame, catalogue: Catalogue) -> Nm:
    if not frame.faces:
        return 25_400_000
    return catalogue.sizes(frame.faces[0].fabric)[0].width or 25_400_000


def workings(tables: tuple[Table, Table], practice: Table, factors: Table, units: Measures) -> Table:
    """Return what each frame needs, one column a quantity, from the schedule and, row by row, its facts."""
    frames, decided = tables
    table = Draft("frame_work", "What each frame needs")
    key = table.names([str(k) for k in frames["key"].values], "Frame")
    fields = {f.key: f for f in decided.fields}
    for side in ("width", "height", "depth"):
        fields[side] = table.formula(side, side.capitalize(), units.small, frames.of(side, key), places=4)
    work = _FrameWork(table, fields, practice, factors, units)
    work.members()
    work.filling()
    work.room()
    work.cloth()
    work.in_date()
    return table.table()


@dataclass(frozen=True, slots=True)
class _FrameWork:
    """The columns being written, and the tables they read."""

    table: Draft
    frames: Mapping[str, Field]
    practice: Table
    factors: Table
    units: Measures

    def _own(self, key: str) -> Field:
        return next(f for f in self.table.fields if f.key == key)

    def _practice(self, key: str) -> Expr:
        return self.practice[key].at()

    @property
    def _per(self) -> Expr:
        return self.factors["small_per_large"].at()

    def _count(self, key: str, label: str, expr: Expr) -> Field:
        return self.table.formula(key, label, "ea", expr, places=0)

    def _area(self, key: str, label: str, small_squared: Expr) -> Field:
        return self.table.formula(
            key, label, self.units.area, small_squared / self._per / self._per, places=3
        )

    def members(self) -> None:
        """Two rails the full width, uprights between them on studs at most the shop's spacing apart."""
        f, small = self.frames, self.units.small
        bays = self._count(
            "bays", "Bays", bays_between(f["width"], f["stock"], self._practice("stud_spacing"))
        )
        uprights = self._count("uprights", "Uprights", f["regular"] * (bays + 1 + f["extra_studs"]))
        inner = self.table.formula("inner", "Upright length", small, f["height"] - 2 * f["stock"])
        run = 2 * f["regular"] * f["width"] + uprights * inner + f["other_members"]
        self.table.formula("member_length", "Members", self.units.large, run / self._per, places=3)
        self._count("member_cuts", "Member pieces", 2 * f["regular"] + uprights + f["other_pieces"])
        corners = self._count("corner_joints", "Corner joints", 2 * (2 * f["regular"]))
        tees = self._count("tee_joints", "Tee joints", 2 * uprights - corners)
        other = self._count("other_joints", "Angle and other joints", (1 - f["regular"]) * f["other_pieces"])
        joints = self._count("joints", "Joints", corners + tees + other)
        self._count("joint_screws", "Assembly screws", joints * self._practice("screws_per_joint"))
        self.table.formula("glue", "Wood glue", "mL", joints * self._practice("glue_per_joint"), places=2)

    def filling(self) -> None:
        """Cavities between the members, boards in them, and what holds the boards."""
        f = self.frames
        clear = f["width"] - self._own("uprights") * f["stock"]
        regular_area = f["regular"] * clear * self._own("inner") / self._per / self._per
        area = self.table.formula(
            "cavity_area", "Cavity area", self.units.area, regular_area + f["other_cavity"], places=3
        )
        self.table.formula("board_area", "Board area", self.units.area, area * f["layers"], places=3)
        held = call("OR", f["height"].gt(self._practice("retainer_from_height")), f["overhead"].eq(1))
        self._count(
            "retainers",
            "Board retainers",
            if_(held, f["between"] * self._practice("retainers_per_board"), 0),
        )

    def room(self) -> None:
        """Face area, rubbish, and the floor protected in front of the work."""
        f = self.frames
        area = self._area("frame_area", "Frame area", f["width"] * f["height"])
        bags = f["fixed"] * area / self._practice("disposal_per_bag")
        self.table.formula("bags", "Disposal bags", "ea", bags, places=4)
        film = f["faces"] * area * self._practice("film_over_fabric")
        self.table.formula("film", "Masking film", self.units.area, film, places=3)
        strip = f["stands"] * f["width"] * self._practice("protect_width")
        self._area("protection", "Floor protection", strip)

    def cloth(self) -> None:
        """Each face plus its wrap on every side; staples round it and along the stud under a seam."""
        f, small = self.frames, self.units.small
        wrap = self.table.formula("wrap", "Wrap", small, f["depth"] + self._practice("wrap_pull"))
        wide = self.table.formula(
            "cloth_width", "Cloth cut width", small, f["width"] + f["face_more"] + 2 * wrap
        )
        high = self.table.formula("cloth_height", "Cloth cut height", small, f["height"] + 2 * wrap)
        area = self._area("cloth_area", "Cloth area", f["faces"] * wide * high)
        off = area / (f["roll"] / self._per) / self.factors["large_per_cloth"].at()
        self.table.formula("cloth_length", "Cloth off the roll", self.units.cloth, off, places=4)
        ring = 2 * (f["width"] + f["height"])
        edge = f["faces"] * ring / self._per
        self.table.formula("wrapped_edge", "Wrapped edge", self.units.large, edge, places=3)
        self._count("cloths", "Pieces of cloth", f["faces"] + f["seams"])
        self.table.formula("sewn", "Seams sewn", self.units.large, f["seams"] * high / self._per, places=3)
        along = whole_up(ring / self._practice("staple_spacing"))
        corners = 2 * (2 * self._practice("staples_per_corner"))
        seam = f["seams"] * whole_up(f["height"] / self._practice("staple_spacing"))
        seamed = self._count("seam_staples", "Staples along seams", seam)
        self._count("staples", "Staples", f["faces"] * (along + corners) + seamed)

    def in_date(self) -> None:
        """Whether a frame still is as laid out, for which screws, boards and extra studs were counted."""
        f = self.frames
        sized = call("AND", f["width"].eq(f["laid_width"]), f["height"].eq(f["laid_height"]))
        wider = round_to(self._practice("stud_spacing") - f["laid_spacing"], 4)
        off = self.table.formula(
            "off_spacing",
            "Off the spacing laid out",
            self.units.small,
            if_(f["laid_spacing"].gt(0), wider, 0),
        )
        set_out = call("OR", off.gt(0), off.lt(0))
        changed = call("MAX", if_(sized, 0, 1), if_(set_out, 1, 0))
        self._count("resized", "Changed since layout (1 = yes)", changed)

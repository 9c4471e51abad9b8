"""What each line of the takeoff is, and who adds to it: from the layout, by the shop's choice of products.

The trail says which frame, strip or piece adds how much to which line, and by which column. Each row of the
trail names a line, a source and a measure; the quantity is looked up in the workings, so the office sees in
one place why there are fourteen sticks.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from estimator.calc.expressions import Expr, Field, find_in, if_, lift
from estimator.calc.tables import Draft, Table
from estimator.catalogue.records import Catalogue, Item, described
from estimator.core.errors import refuse
from estimator.core.units import METRE, Measures, converted, format_length, plain
from estimator.cutting.room import RoomPlans
from estimator.layout.records import Frame, Layout, Strip
from estimator.takeoff.frames import thickness_of


@dataclass(frozen=True, slots=True)
class Share:
    """What one source adds to one line: `source` is a row, `measure` a column of the workings."""

    line: str
    source: str
    measure: str


@dataclass(frozen=True, slots=True)
class Counted:
    """What the layout counted for one line: screws by where they hold, hangers, feet, extensions.

    Attributes:
        live: what it follows: the fixings of a wall frame, the hardware of a piece, or nothing.
    """

    line: str
    source: str
    what: str
    count: int
    live: Literal["", "fixing", "hardware"] = ""


@dataclass(frozen=True, slots=True)
class Naming:
    """What people call a line, and the unit it is counted in."""

    words: str
    unit: str


Names = Mapping[str, Naming]
"""By the key of a line."""


def trail(key: str, title: str, shares: Iterable[Share], work: Table, names: Names) -> Table:
    """Return the trail of one table of workings.

    Args:
        key: of the table made.
        title: its title.
        shares: its rows.
        work: the workings, whose first field holds the sources' keys.
        names: of the lines; the quantity is in the unit of the line.
    """
    rows = tuple(shares)
    table = Draft(key, title)
    table.keys([f"{s.line}|{s.source}|{s.measure}" for s in rows])
    table.label("material", "Material", [names[s.line].words for s in rows])
    table.link("line", "Line", [s.line for s in rows])
    source = table.label("source", "From", [s.source for s in rows])
    table.label("what", "What", [work[s.measure].label for s in rows])
    measure = table.link("measure", "Column", [s.measure for s in rows])
    table.label("unit", "Unit", [names[s.line].unit for s in rows])
    columns = work.fields[1:]
    looked_up = find_in(columns, work.fields[0], source, measure)
    table.formula("quantity", "Quantity", "", looked_up, places=4)
    return table.table()


def counted(rows: Iterable[Counted], fixings: Table, hardware: Table, names: Names) -> Table:
    """Return the trail of what the layout counted; fixings and hardware follow their pieces' sizes.

    Args:
        rows: what was counted.
        fixings: of each wall frame, live.
        hardware: hangers, hooks and feet of each piece, live.
        names: of the lines.
    """
    entries, walls = tuple(rows), set(fixings["key"].values)
    table = Draft("count_trail", "Counted by the layout")
    table.keys([f"{c.line}|{c.source}|{c.what}" for c in entries])
    table.label("material", "Material", [names[c.line].words for c in entries])
    table.link("line", "Line", [c.line for c in entries])
    source = table.label("source", "From", [c.source for c in entries])
    table.label("what", "What", [c.what for c in entries])
    is_fixing = [c.live == "fixing" for c in entries]
    table.label("is_fixing", "Fixing screw", ["yes" if one else "no" for one in is_fixing])
    count = table.decided("counted", "As laid out", "ea", [Decimal(c.count) for c in entries], places=0)
    on_walls = [Decimal(one and c.source in walls) for one, c in zip(is_fixing, entries, strict=True)]
    on_wall = table.decided("follows", "Follows its frame (1 = yes)", "", on_walls, places=0)
    pieces = [Decimal(c.live == "hardware") for c in entries]
    of_piece = table.decided("of_piece", "Follows its piece (1 = yes)", "", pieces, places=0)
    points, held = _live(fixings, "points", source), _live(hardware, "pieces", source)
    wall = table.formula("on_wall", "Fixings", "ea", if_(on_wall.eq(1), points, 0), places=0)
    piece = table.formula("on_piece", "Hangers, hooks, feet", "ea", if_(of_piece.eq(1), held, 0), places=0)
    as_laid = if_((on_wall + of_piece).eq(0), count, 0)
    table.formula("quantity", "Quantity", "ea", wall + piece + as_laid, places=0)
    return table.table()


def _live(table: Table, field: str, source: Field) -> Expr:
    """Return the cell of a source's row; 0 where the table has no rows."""
    return table.of(field, source) if table.count else lift(0)


@dataclass(frozen=True, slots=True)
class Line:
    """A named line: what is bought, in which unit it is counted, and how it may be bought.

    Attributes:
        key: such as ``member:member-2x2`` or ``fabric:fabric-plain:slate``.
        items: the sizes it can be bought in.
        unit: of its net quantity.
        waste: row of the waste table.
        rule: the rule in a sentence, for the trail.
        packs: sticks by item as a cutting plan decided; None where no such plan is made.
        plan_need: what a board or roll plan needs, in `unit`; None where no such plan is made.
    """

    key: str
    items: tuple[Item, ...]
    unit: str
    waste: str
    rule: str
    packs: dict[str, int] | None = None
    plan_need: Decimal | None = None

    @property
    def planned(self) -> bool:
        """Return whether a cutting plan was made for it."""
        return self.packs is not None or self.plan_need is not None

    @property
    def description(self) -> str:
        """Return what all its sizes have in common of their descriptions; cloth carries its colour."""
        base = described(self.items)
        colour = self.key.split(":")[2] if self.key.count(":") > 1 else ""
        return f"{base}, {colour}" if colour else base


@dataclass(frozen=True, slots=True)
class Contents:
    """Lines in the order of the list, and everything that adds to them."""

    lines: tuple[Line, ...]
    frame_shares: tuple[Share, ...]
    strip_shares: tuple[Share, ...]
    counts: tuple[Counted, ...]


_CLOTH = {False: "cloth_thickness", True: "cloth_thickness_nap"}
"""The practice value of how thick a cloth is, by whether it has a nap, where the price list does not say."""
_FRAME_RULES = (
    # measure, practice choice, unit, waste, rule
    (
        "retainers",
        "product_retainer_screw",
        "fastener",
        "screws, a number a board piece, in tall and ceiling frames",
    ),
    ("retainers", "product_retainer_washer", "fastener", "a washer under each retainer screw"),
    ("joint_screws", "product_assembly_screw", "fastener", "screws a member joint"),
)
_STRIP_RULES = (
    ("sand_coarse", "product_sandpaper_coarse", "painted length by what one sheet sands"),
    ("sand_fine", "product_sandpaper_fine", "painted length by what one sheet sands"),
)


class Listing:
    """Gathers lines and shares of a layout, each line once, in the order of first mention by section."""

    def __init__(self, layout: Layout, catalogue: Catalogue, plans: RoomPlans, units: Measures) -> None:
        self._layout, self._catalogue, self._plans, self._units = layout, catalogue, plans, units
        self._lines: dict[str, Line] = {}

    def contents(self) -> Contents:
        """Return the lines with their shares."""
        frames = tuple(s for f in self._layout.frames for s in self._frame(f))
        strips = tuple(s for s_ in self._layout.strips for s in self._strip(s_))
        counts = tuple(self._counts())
        return Contents(tuple(self._lines.values()), frames, strips, counts)

    def _line(self, key: str, product: str, unit: str, waste: str, rule: str) -> str:
        if key not in self._lines:
            items = self._catalogue.sizes(product)
            self._lines[key] = Line(
                key, items, unit, waste, rule, self._packs(key), self._plan_need(key, unit)
            )
        return key

    def _chosen(self, choice: str, unit: str, waste: str, rule: str) -> str:
        product = self._catalogue.practice.choice(choice)
        return self._line(f"{self._catalogue.kind(product)}:{product}", product, unit, waste, rule)

    def _packs(self, key: str) -> dict[str, int] | None:
        _, product, *_ = key.split(":")
        if product not in self._plans.sticks:
            return None
        counts: dict[str, int] = {}
        for stick in self._plans.sticks[product].sticks:
            counts[stick.stock.key] = counts.get(stick.stock.key, 0) + 1
        return {key: -(-n // int(self._catalogue.item(key).content)) for key, n in counts.items()}

    def _plan_need(self, key: str, unit: str) -> Decimal | None:
        _, product, *rest = key.split(":")
        if product in self._plans.boards:
            sheets = self._plans.boards[product].sheets.sheets
            areas = (Decimal(s.stock.width) * s.stock.height / Decimal(METRE) ** 2 for s in sheets)
            return converted(sum(areas, Decimal(0)), "m^2", plain(unit))
        if rest:
            length = Decimal(self._plans.rolls[product, rest[0]].length) / METRE
            return converted(length, "m", unit)
        return None

    def _frame(self, frame: Frame) -> Iterator[Share]:
        units = self._units
        for product in dict.fromkeys(m.product for m in frame.members):
            key = self._line(
                f"member:{product}",
                product,
                units.large,
                "member",
                "rails the full width, uprights between them",
            )
            yield Share(key, frame.name, "member_length")
        for board in dict.fromkeys(c.board for c in frame.cavities if c.layers):
            key = self._line(f"board:{board}", board, units.area, "board", "every cavity, layer by layer")
            yield Share(key, frame.name, "board_area")
        for face in frame.faces[:1]:
            key = self._line(
                f"fabric:{face.fabric}:{face.colour}",
                face.fabric,
                units.cloth,
                "fabric",
                "each face and its wrap, over the roll's width",
            )
            yield Share(key, frame.name, "cloth_length")
        if self._listed("product_glue"):
            glued = self._chosen("product_glue", "mL", "filler", "a member joint")
            yield Share(glued, frame.name, "glue")
        for measure, choice, waste, rule in _FRAME_RULES:
            yield Share(self._chosen(choice, "ea", waste, rule), frame.name, measure)
        rule = "wrapped edges at the staple spacing, more at corners"
        yield Share(self._chosen(self._staple(frame), "ea", "fastener", rule), frame.name, "staples")
        rule = "film over the cloth while painting, where the shop does so"
        yield Share(self._chosen("product_film", units.area, "masking", rule), frame.name, "film")
        protect = "floor in front of the work, the shop's strip wide"
        yield Share(
            self._chosen("product_protection", units.area, "protection", protect), frame.name, "protection"
        )
        yield Share(
            self._chosen("product_disposal", "ea", "none", "covered face a bag of waste"), frame.name, "bags"
        )

    def _staple(self, frame: Frame) -> str:
        """Return the choice of staple: the heavy one by the cloth's mass, where the price list has it."""
        practice = self._catalogue.practice
        masses = (self._catalogue.sizes(face.fabric)[0].mass_kg_m2 or 0.0 for face in frame.faces)
        heavy = max(masses, default=0.0) >= practice.number("staple_heavy_from")
        heavy = heavy or self._leg_too_short(frame)
        return "product_staple_heavy" if heavy and self._listed("product_staple_heavy") else "product_staple"

    def _leg_too_short(self, frame: Frame) -> bool:
        """Return whether the common staple's leg is shorter than three cloths and 6 mm in the wood."""
        practice = self._catalogue.practice
        cloths = [self._catalogue.sizes(face.fabric)[0] for face in frame.faces]
        thick = max((c.thickness or practice.length(_CLOTH[c.nap]) for c in cloths), default=0)
        leg = self._catalogue.sizes(practice.choice("product_staple"))[0].length or 0
        return leg < 3 * thick + practice.length("staple_bite")

    def _strip(self, strip: Strip) -> Iterator[Share]:
        units = self._units
        group = "casing"
        rule = "edges that meet the building, with laps, mitres and scribing"
        key = self._line(f"{strip.kind}:{strip.product}", strip.product, units.large, group, rule)
        yield Share(key, strip.name, "run")
        if strip.glued:
            yield from self._adhesive(strip)
        else:
            yield Share(self._nail(strip), strip.name, "nails")
            yield Share(self._chosen("product_filler", "mL", "filler", "nail holes"), strip.name, "filler")
        rule = "section of the bead × length of every joint with the building"
        if strip.sealed or any(end.cut == "mitre" for end in strip.ends):
            yield Share(self._chosen("product_sealant", units.bead, "sealant", rule), strip.name, "sealant")
        rule = "both sides of painted strips, and every line of sealant"
        yield Share(self._chosen("product_masking", units.large, "masking", rule), strip.name, "masked")
        if strip.finish:
            yield from self._paint(strip)

    def _adhesive(self, strip: Strip) -> Iterator[Share]:
        """Yield what holds a strip in a slot, where the price list has it."""
        if self._listed("product_adhesive"):
            rule = "section of the bead × length of casings in a slot, where no nail can be driven"
            key = self._chosen("product_adhesive", self._units.bead, "sealant", rule)
            yield Share(key, strip.name, "adhesive")

    def _listed(self, choice: str) -> bool:
        return self._catalogue.practice.choice(choice) in self._catalogue.by_product

    def _paint(self, strip: Strip) -> Iterator[Share]:
        rule = "girth × length × coats ÷ spread rate ÷ transfer"
        key = self._line(f"paint:{strip.finish}", strip.finish, self._units.liquid, "paint", rule)
        yield Share(key, strip.name, "paint")
        if strip.primer:
            key = self._line(f"primer:{strip.primer}", strip.primer, self._units.liquid, "paint", rule)
            yield Share(key, strip.name, "primer")
        for measure, choice, sanding in _STRIP_RULES:
            yield Share(self._chosen(choice, "ea", "none", sanding), strip.name, measure)

    def _nail(self, strip: Strip) -> str:
        """Return the line of the shortest nail that bites as the shop asks and stays inside the member."""
        product = self._catalogue.practice.choice("product_nail")
        least = strip.thickness + self._catalogue.practice.length("nail_bite")
        frame = next(f for f in self._layout.frames if f.name == strip.frame)
        most = strip.thickness + thickness_of(frame)
        fits = [i for i in self._catalogue.sizes(product) if least <= (i.length or 0) <= most]
        if not fits:
            what = f"no nail of {product} bites as it should without passing the member"
            between = f"{format_length(least)} and {format_length(most)}"
            raise refuse(strip.name, what, f"Add a nail between {between} long to the prices.")
        item = min(fits, key=lambda i: i.length or 0)
        return self._item_line("nail", item, "nails at the spacing, and at both ends", "fastener")

    def _item_line(self, kind: str, item: Item, rule: str, waste: str) -> str:
        key = f"{kind}:{item.key}"
        if key not in self._lines:
            self._lines[key] = Line(key, (item,), "ea", waste, rule)
        return key

    def _counts(self) -> Iterator[Counted]:
        for frame in self._layout.frames:
            yield from self._fixings(frame)
            if frame.boxes_counted:
                rule = "one a box behind a frame, by the licensed trade"
                key = self._chosen("product_extension", "ea", "none", rule)
                yield Counted(key, frame.name, "boxes", frame.boxes_counted)
        yield from self._guards()
        for held in self._layout.hardware:
            kind = self._catalogue.kind(held.product)
            rule = "the shop's number a piece" if held.number else "by the piece's weight and rated load"
            key = self._line(f"{kind}:{held.product}", held.product, "ea", "none", rule)
            yield Counted(key, held.frame, kind, held.count, "hardware")

    def _guards(self) -> Iterator[Counted]:
        """Covers for the hardware of openings, where the price list has them."""
        if not self._listed("product_guard"):
            return
        rule = "one for the hardware of each opening that frames go round"
        for opening in (o for o in self._layout.openings if o.name in self._layout.worked_round):
            key = self._chosen("product_guard", "ea", "none", rule)
            yield Counted(key, opening.name, f"{opening.kind} covered", 1)

    def _fixings(self, frame: Frame) -> Iterator[Counted]:
        """Yield a frame's screws and anchors; hangers are hardware and counted as such."""
        counts: dict[tuple[str, str], int] = {}
        for fixing in frame.fixings:
            if fixing.holds_in == "hanger":
                continue
            held = (fixing.screw, fixing.holds_in)
            counts[held] = counts.get(held, 0) + 1
        for (screw, holds_in), count in counts.items():
            item = self._catalogue.item(screw)
            rule = "screws through the rails, by what they hold in"
            key = self._item_line(item.kind, item, rule, "fastener")
            yield Counted(key, frame.name, f"holds in {holds_in}", count, "fixing")

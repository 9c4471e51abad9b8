"""What a make-up is made of, as the layout needs it: stock, fill, trim and cloth."""

from collections.abc import Sequence
from dataclasses import dataclass

from estimator.catalogue.records import Catalogue, Item
from estimator.core.errors import InputError, Problem
from estimator.core.units import Display, Nm, format_length
from estimator.job.description import Job
from estimator.job.description_pieces import MakeUp
from estimator.layout.members import Fill, Stock
from estimator.layout.records import Face
from estimator.layout.strips import CornerRule, Trim


@dataclass(frozen=True, slots=True)
class Cloth:
    """The cloth of a make-up.

    Attributes:
        wrap: round each edge: frame depth and pull.
        width: of the roll.
        turn_allowed: it may be railroaded.
    """

    fabric: str
    colour: str
    wrap: Nm
    width: Nm
    turn_allowed: bool


@dataclass(frozen=True, slots=True)
class Material:
    """A make-up with its measures.

    Attributes:
        gravity: specific gravity of the member's wood, for screw holding.
    """

    name: str
    stock: Stock
    fill: Fill
    trim: Trim
    cloth: Cloth
    board_thickness: Nm
    gravity: float

    @property
    def depth(self) -> Nm:
        """Return the frame's depth."""
        return self.stock.depth

    @property
    def casing(self) -> Nm:
        """Return how far frames stop short for a casing and its gap, 0 where there is none."""
        return self.trim.reach


def materials(job: Job, catalogue: Catalogue) -> dict[str, Material]:
    """Return every make-up that the job's pieces use, by name.

    Raises:
        InputError: a product that is missing or lacks a measure, or boards and gap that do not fill the
            frame's depth; all of them.
    """
    found, problems = dict[str, Material](), list[Problem]()
    for name, make_up in job.make_ups.items():
        try:
            found[name] = material(name, make_up, catalogue, job.header.display)
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return found


def material(name: str, make_up: MakeUp, catalogue: Catalogue, display: Display) -> Material:
    """Return one make-up with its measures.

    Raises:
        InputError: as `materials`.
    """
    where = f"make-up.{name}"
    member, board = _bought(catalogue, make_up.member), catalogue.sizes(make_up.board)[0]
    thickness, depth = _need(where, member, "thickness"), _need(where, member, "width")
    trim = _trim(where, make_up, catalogue, depth)
    problems = _fill_problems(where, make_up, depth, _need(where, board, "thickness"), display)
    problems += _trim_problems(where, trim, display)
    if problems:
        raise InputError(problems)
    practice = catalogue.practice
    stock = Stock(
        make_up.member, thickness, depth, practice.length("stud_spacing"), _longest(catalogue, make_up.member)
    )
    return Material(
        name, stock, Fill(make_up.board, make_up.layers, make_up.gap), trim,
        _cloth(where, make_up, catalogue, depth),
        _need(where, board, "thickness"), member.specific_gravity or 0.0,
    )  # fmt: skip


def _bought(catalogue: Catalogue, product: str) -> Item:
    return catalogue.sizes(product)[0]


def _longest(catalogue: Catalogue, product: str) -> Nm:
    return max(item.length or 0 for item in catalogue.sizes(product))


def _need(where: str, item: Item, measure: str) -> Nm:
    value: Nm | None = getattr(item, measure)
    if not value:
        fix = f"Give its {measure} in the price list."
        raise InputError([Problem(where, f"{item.key} has no {measure} in the price list", fix)])
    return value


def _cloth(where: str, make_up: MakeUp, catalogue: Catalogue, depth: Nm) -> Cloth:
    fabric = catalogue.sizes(make_up.fabric)[0]
    wrap = depth + catalogue.practice.length("wrap_pull")
    return Cloth(
        make_up.fabric, make_up.colour or "", wrap, _need(where, fabric, "width"),
        fabric.railroad and not fabric.nap,
    )  # fmt: skip


def _trim(where: str, make_up: MakeUp, catalogue: Catalogue, depth: Nm) -> Trim:
    casing = catalogue.sizes(make_up.casing)[0] if make_up.casing else None
    cover = catalogue.sizes(make_up.cover)[0] if make_up.cover else None
    rule: CornerRule = "mitre" if catalogue.practice.choice("casing_corner") == "mitre" else "butt"
    return Trim(
        make_up.casing or "", _need(where, casing, "thickness") if casing else 0,
        _need(where, casing, "width") if casing else 0,
        make_up.cover or "", _need(where, cover, "thickness") if cover else 0,
        _need(where, cover, "width") if cover else 0,
        make_up.finish or "", depth, rule, catalogue.practice.length("scribe_extra"),
        catalogue.practice.length("casing_gap") if casing else 0, make_up.primer or "",
    )  # fmt: skip


def _fill_problems(where: str, make_up: MakeUp, depth: Nm, board: Nm, display: Display) -> list[Problem]:
    filled = board * make_up.layers + make_up.gap
    if filled == depth:
        return []
    have, want = format_length(filled, display), format_length(depth, display)
    what = f"boards and gap make {have} ({make_up.layers} x {format_length(board, display)} + "
    what += f"{format_length(make_up.gap, display)}), the frame is {want} deep"
    return [Problem(where, what, "Change layers, board, gap or member so that the two agree.")]


def _trim_problems(where: str, trim: Trim, display: Display) -> list[Problem]:
    if not trim.casing or trim.casing_width >= trim.depth:
        return []
    what = f"casing {trim.casing} is {format_length(trim.casing_width, display)} wide and does not cover the "
    what += f"edge of a frame {format_length(trim.depth, display)} deep"
    return [Problem(f"{where}.casing", what, "Name a wider casing.")]


def seam_reach(cloth: Cloth, width: Nm, height: Nm) -> Nm | None:
    """Return how far apart seams may be on a face; None where the cloth covers it in one piece.

    The cloth covers it in one piece upright where the face and its wraps are no wider than the roll, or
    railroaded where they are no higher than it.
    """
    if width + 2 * cloth.wrap <= cloth.width:
        return None
    if cloth.turn_allowed and height + 2 * cloth.wrap <= cloth.width:
        return None
    return cloth.width - 2 * cloth.wrap


def face(name: str, width: Nm, height: Nm, cloth: Cloth, studs: Sequence[Nm]) -> Face:
    """Return a face covered in the cloth; seams may fall over any stud."""
    return Face(name, width, height, cloth.fabric, cloth.colour, cloth.wrap, tuple(studs), cloth.turn_allowed)

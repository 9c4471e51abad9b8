"""What the job's frames absorb: each kind of filling once, measured where the price list holds a row."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from estimator.acoustics.absorber import Absorption, Layer, Makeup, absorb, measured
from estimator.acoustics.bands import OCTAVES_HZ, Six, six
from estimator.acoustics.porous import flow_resistivity
from estimator.catalogue.records import Catalogue, Item
from estimator.core.errors import Problem, refuse
from estimator.core.units import METRE, metres
from estimator.layout.records import Cavity, Frame

SQUARE_METRE = METRE * METRE


@dataclass(frozen=True, slots=True, order=True)
class Filling:
    """What fills a cavity and what covers it; equal fillings absorb alike."""

    board: str
    layers: int
    gap_m: float
    fabric: str


def filling(frame: Frame, cavity: Cavity) -> Filling:
    """Return the filling of a frame's cavity, its cloth that of the frame's first face.

    The gap of a piece that hangs or stands free has no wall behind it and does not count. A solid trap's
    stack counts as one board on a wall: nothing is claimed for its depth.
    """
    fabric = frame.faces[0].fabric if frame.faces else ""
    gap_m = metres(cavity.gap) if frame.placement.covers else 0.0
    if cavity.stacked:
        return Filling(cavity.board, 1, 0.0, fabric)
    return Filling(cavity.board, cavity.layers, gap_m, fabric)


def board_areas(frame: Frame) -> Mapping[Filling, float]:
    """Return the area of board behind one face of a frame, m2, by filling.

    Members take no part: what lies between them absorbs. Of a solid trap that is all of its front but them.
    """
    areas: dict[Filling, float] = defaultdict(float)
    for cavity in frame.cavities:
        area = _between(frame) if cavity.stacked else cavity.width * cavity.height
        areas[filling(frame, cavity)] += area / SQUARE_METRE
    return areas


def _between(frame: Frame) -> int:
    """Return the area of a frame's front that its members leave, nm2; cleats on the wall lie behind them."""
    members = sum(m.length * m.thickness for m in frame.members if m.role != "brace")
    return frame.width * frame.height - members


def _resistivity(board: Item) -> float:
    if board.resistivity_pa_s_m2 is not None:
        return board.resistivity_pa_s_m2
    if board.density_kg_m3 is None:
        fix = "Give airflow resistivity or density in the price list."
        raise refuse(board.key, "nothing tells what this board absorbs", fix)
    return flow_resistivity(board.density_kg_m3)


@lru_cache(maxsize=64)
def _modelled(makeup: Makeup) -> Absorption:
    return absorb(makeup)


def absorption_of(made: Filling, catalogue: Catalogue) -> Absorption:
    """Return what a filling absorbs on a hard wall: the measured row of its board, else the model.

    The row counts for one layer without a gap, as it was measured. Without a flow resistance in the price
    list the cloth is taken as open.

    Raises:
        InputError: a board with neither thickness, flow resistivity nor density.
    """
    board = catalogue.sizes(made.board)[0]
    if board.alpha is not None and made.layers == 1 and not made.gap_m:
        return measured(board.alpha, "on a hard wall", board.alpha_source)
    thickness = metres(board.thickness or 0) * made.layers
    cloth = catalogue.sizes(made.fabric)[0].cloth_pa_s_m if made.fabric else None
    return _modelled(Makeup((Layer(thickness, _resistivity(board)),), made.gap_m, cloth or 0.0))


def absorptions(frames: Iterable[Frame], catalogue: Catalogue) -> Mapping[Filling, Absorption]:
    """Return what every filling of some frames absorbs."""
    found = sorted({filling(f, c) for f in frames for c in f.cavities})
    return {made: absorption_of(made, catalogue) for made in found}


def absorption_problems(found: Mapping[Filling, Absorption]) -> tuple[Problem, ...]:
    """Return the warnings of every filling, each with its board's name."""
    each = [replace(p, where=made.board) for made, a in found.items() for p in a.problems]
    return tuple(dict.fromkeys(each))


@dataclass(frozen=True, slots=True)
class Filled:
    """The board of a frame's face: area, m2, mean coefficient per octave, and where that comes from."""

    area_m2: float
    alpha: Six
    origin: str


def filled(frame: Frame, found: Mapping[Filling, Absorption]) -> Filled:
    """Return the board of a frame's face as one absorber."""
    areas = board_areas(frame)
    total = sum(areas.values())
    if not total:
        return Filled(0.0, (0.0,) * 6, "")
    mean = [sum(a * found[f].alpha[i] for f, a in areas.items()) / total for i in range(len(OCTAVES_HZ))]
    return Filled(total, six(mean), "; ".join(sorted({found[f].origin for f in areas})))

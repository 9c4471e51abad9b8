"""What frames weigh, from the densities of the price list."""

from collections.abc import Iterable

from estimator.catalogue.records import Catalogue
from estimator.core.units import Nm, metres
from estimator.layout.records import Cavity, Face, Frame, Member, Strip


def volume_m3(*sides: Nm) -> float:
    """Return the volume of a box, m3."""
    product = 1.0
    for side in sides:
        product *= metres(side)
    return product


def parts_kg(
    members: Iterable[Member], cavities: Iterable[Cavity], faces: Iterable[Face], catalogue: Catalogue
) -> float:
    """Return the mass of members, boards and cloth, kg; a product without density counts as nothing."""
    first = {key: catalogue.sizes(key)[0] for key in catalogue.by_product}
    total = sum(
        volume_m3(m.length, m.thickness, m.depth) * (first[m.product].density_kg_m3 or 0.0) for m in members
    )
    for c in cavities:
        board = first[c.board]
        total += volume_m3(c.width, c.height, board.thickness or 0) * c.layers * (board.density_kg_m3 or 0.0)
    for f in faces:
        cut = metres(f.width + 2 * f.wrap) * metres(f.height + 2 * f.wrap)
        total += cut * (first[f.fabric].mass_kg_m2 or 0.0)
    return total


def strip_kg(strip: Strip, catalogue: Catalogue) -> float:
    """Return the mass of a strip, kg."""
    density = catalogue.sizes(strip.product)[0].density_kg_m3 or 0.0
    return volume_m3(strip.length, strip.width, strip.thickness) * density


def hung_kg(frame: Frame, strips: Iterable[Strip], catalogue: Catalogue) -> float:
    """Return the mass of a frame with its strips on, kg."""
    return frame.mass_kg + sum(strip_kg(s, catalogue) for s in strips if s.frame == frame.name)

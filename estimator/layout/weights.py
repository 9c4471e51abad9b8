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

    def density(product: str) -> float:
        return catalogue.sizes(product)[0].density_kg_m3 or 0.0

    total = sum(volume_m3(m.length, m.thickness, m.depth) * density(m.product) for m in members)
    for c in cavities:
        thickness = catalogue.sizes(c.board)[0].thickness or 0
        total += volume_m3(c.width, c.height, thickness) * c.layers * density(c.board)
    for f in faces:
        cut = metres(f.width + 2 * f.wrap) * metres(f.height + 2 * f.wrap)
        total += cut * (catalogue.sizes(f.fabric)[0].mass_kg_m2 or 0.0)
    return total


def strip_kg(strip: Strip, catalogue: Catalogue) -> float:
    """Return the mass of a strip, kg."""
    density = catalogue.sizes(strip.product)[0].density_kg_m3 or 0.0
    return volume_m3(strip.length, strip.width, strip.thickness) * density


def hung_kg(frame: Frame, strips: Iterable[Strip], catalogue: Catalogue) -> float:
    """Return the mass of a frame with its strips on, kg."""
    return frame.mass_kg + sum(strip_kg(s, catalogue) for s in strips if s.frame == frame.name)

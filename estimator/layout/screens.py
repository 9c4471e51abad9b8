"""Two-faced screens on feet, and whether they stand when pushed at the top."""

from estimator.catalogue.records import Catalogue, Item
from estimator.core.errors import Problem
from estimator.core.units import format_length, metres
from estimator.job.description_pieces import Screen
from estimator.layout.fixings import STANDARD_GRAVITY_M_S2, weight_n
from estimator.layout.made import Made
from estimator.layout.pieces import FREE, FrameWanted
from estimator.layout.records import NOWHERE
from estimator.layout.weights import hung_kg


def tip_factor(mass_kg: float, reach_m: float, push_n: float, height_m: float) -> float:
    """Return how many times the righting moment is the overturning one: m g (reach / 2) / (push height).

    Source: moments about the edge that it tips over (statics): the weight acts half the reach from it.

    Args:
        mass_kg: of the screen with its feet.
        reach_m: of a foot, front to back, the screen in its middle.
        push_n: level push.
        height_m: of the push above the floor.
    """
    overturning = push_n * height_m
    return weight_n(mass_kg) * reach_m / 2 / overturning if overturning else float("inf")


def screen(piece: Screen, wanted: FrameWanted) -> Made:
    """Return a screen that stands on its own."""
    made = wanted.frame((piece.width, piece.height), FREE, NOWHERE)
    strips, feet = wanted.strips(made), wanted.held()
    mass = hung_kg(made, strips, wanted.catalogue)
    stands = _Stand(made.name, mass, metres(made.height + 2 * wanted.material.casing), feet.count)
    reason, problems = _stability(stands, wanted)
    return Made((made,), strips, (feet,), (reason,), tuple(problems))


class _Stand:
    """A screen on given feet."""

    def __init__(self, name: str, mass_kg: float, height_m: float, feet: int) -> None:
        self.name, self.mass_kg, self.height_m, self.feet = name, mass_kg, height_m, feet

    def total_kg(self, foot: Item) -> float:
        return self.mass_kg + self.feet * (foot.mass_kg or 0.0)

    def factor(self, foot: Item, push_n: float) -> float:
        return tip_factor(self.total_kg(foot), metres(foot.length or 0), push_n, self.height_m)


def _stability(stand: _Stand, screen: FrameWanted) -> tuple[str, list[Problem]]:
    practice, foot = screen.catalogue.practice, screen.holder
    push, wanted = practice.number("screen_tip_force"), practice.number("screen_tip_factor")
    factor = stand.factor(foot, push)
    reach = format_length(foot.length or 0, screen.display)
    reason = (
        f"{stand.name}: {stand.total_kg(foot):.1f} kg on feet of {reach}, pushed with {push:g} N at its top: "
        f"righting moment {factor:.2f} times the overturning one (wanted {wanted:g})."
    )
    if factor >= wanted:
        return reason, []
    fix = _better(stand, foot, push, wanted, screen.catalogue)
    what = f"{stand.name} tips too easily: with {push:g} N at its top the righting moment is {factor:.2f} "
    what += f"times the overturning one (wanted {wanted:g})"
    return reason, [Problem(stand.name, what, fix, severity="warning")]


def _better(stand: _Stand, foot: Item, push: float, wanted: float, catalogue: Catalogue) -> str:
    serving = sorted(
        (item.length or 0, item.product)
        for item in catalogue.of_kind(foot.kind)
        if stand.factor(item, push) >= wanted
    )
    if serving:
        return f"Feet {serving[0][1]} are long enough."
    needed = wanted * push * stand.height_m * 2 / (metres(foot.length or 1) * STANDARD_GRAVITY_M_S2)
    more = needed - stand.total_kg(foot)
    return f"Add {more:.0f} kg of ballast low down, fix it to a wall, or make it lower."

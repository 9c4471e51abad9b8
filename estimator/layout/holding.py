"""Whether a treatment's stud screws hold its frames, with the safety factor shown."""

from collections.abc import Iterator, Sequence

from estimator.catalogue.records import Catalogue
from estimator.core.errors import Problem
from estimator.core.units import Display, format_length
from estimator.layout.fixings import holding_n, weight_n
from estimator.layout.records import Frame, Strip
from estimator.layout.weights import hung_kg

HELD = frozenset({"stud", "masonry"})


def holding(
    host: str, frames: Sequence[Frame], strips: Sequence[Strip], catalogue: Catalogue, display: Display
) -> tuple[list[str], list[Problem]]:
    """Return what is said of a treatment's fixings: the weakest frame's factor, short bites, and warnings.

    The screws' reference withdrawal value is set against the whole weight of the frame with its casings.
    """
    own = [f for f in frames if f.host == host and any(x.holds_in in HELD for x in f.fixings)]
    if not own:
        return [], []
    gravity = catalogue.practice.number("building_stud_gravity")
    wanted = catalogue.practice.number("pullout_safety_factor")
    rows = []
    for frame in own:
        weight = weight_n(hung_kg(frame, strips, catalogue))
        rows.append((holding_n(frame.fixings, gravity, catalogue) / weight if weight else 0.0, weight, frame))
    factor, weight, frame = min(rows, key=lambda r: (r[0], r[2].name))
    masonry = frame.fixings[0].holds_in == "masonry"
    what = "anchors are rated" if masonry else "stud screws hold"
    hold = f"{len(frame.fixings)} {what} {factor * weight:.0f} N"
    reason = (
        f"{host}: {frame.name} holds least: {hold} in withdrawal, "
        f"{factor:.1f} times its weight of {weight:.0f} N (wanted {wanted:g})."
    )
    return [reason], list(_watch(host, rows, wanted, catalogue, display))


def _watch(
    host: str,
    rows: Sequence[tuple[float, float, Frame]],
    wanted: float,
    catalogue: Catalogue,
    display: Display,
) -> Iterator[Problem]:
    weak = [frame.name for factor, _, frame in rows if factor < wanted]
    if weak:
        what = f"the fixings of {', '.join(weak)} resist less than {wanted:g} times the weight"
        yield Problem(host, what, "Add screws, or longer ones.", severity="warning")
    least = catalogue.practice.length("fixing_bite_min")
    screws = [x for _, _, frame in rows for x in frame.fixings if x.holds_in in HELD]
    short = [x.bite for x in screws if x.bite < least]
    if short:
        bite = format_length(min(short), display)
        what = f"the longest fixing screw bites only {bite} in what is behind {host}"
        fix = f"The shop wants {format_length(least, display)}; add a longer screw to the price list."
        yield Problem(host, what, fix, severity="warning")

"""Whether frames can be made from the sticks there are, and carried and lifted by two people."""

from collections.abc import Sequence

from estimator.catalogue.records import Catalogue
from estimator.core.errors import Problem
from estimator.core.units import Display, format_length
from estimator.layout.records import Frame


def too_long(frames: Sequence[Frame], catalogue: Catalogue, display: Display) -> list[Problem]:
    """Return a refusal for each member longer than the longest stick; rails were spliced before."""
    found = []
    for frame in frames:
        for member in frame.members:
            longest = max(item.length or 0 for item in catalogue.sizes(member.product))
            if member.length > longest:
                what = f"{member.name} is {format_length(member.length, display)} long"
                fix = f"The longest stick of {member.product} is {format_length(longest, display)}."
                found.append(Problem(frame.name, what, fix))
    return found


def handling(frames: Sequence[Frame], catalogue: Catalogue, display: Display) -> list[Problem]:
    """Return a warning for each frame that is larger or heavier than two people carry and lift."""
    practice, found = catalogue.practice, list[Problem]()
    wide, tall = practice.length("frame_width_max"), practice.length("frame_height_max")
    heavy = practice.number("frame_weight_max")
    fix = "Divide it, or plan for a third person."
    for frame in frames:
        if frame.width > wide or frame.height > tall:
            size = f"{format_length(frame.width, display)} x {format_length(frame.height, display)}"
            what = f"{frame.name} is {size}, larger than two people carry"
            found.append(Problem(frame.name, what, fix, severity="warning"))
        if frame.mass_kg > heavy:
            what = f"{frame.name} weighs {frame.mass_kg:.0f} kg, more than two people lift"
            found.append(Problem(frame.name, what, fix, severity="warning"))
    return found

"""Tables that every estimate reads besides the files its job names, as one record."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from estimator.catalogue.acoustic_tables import Finish, MaskPoint, TargetRow, finishes, masks, target_rows
from estimator.catalogue.estimate_classes import EstimateClasses, estimate_classes
from estimator.catalogue.lumber import lumber_facts
from estimator.catalogue.shelf import DATA


@dataclass(frozen=True, slots=True)
class References:
    """What finishes absorb, reverberation to aim at, facts of lumber, classes of estimates.

    Attributes:
        targets, masks: reverberation times to aim at, and the limits round them by name.
    """

    finishes: Mapping[str, Finish]
    targets: tuple[TargetRow, ...]
    masks: Mapping[str, tuple[MaskPoint, ...]]
    lumber: Mapping[str, Any]
    classes: EstimateClasses


@cache
def references(shelf: Path = DATA) -> References:
    """Return the tables on a shelf.

    Raises:
        InputError: a table that cannot be read.
    """
    return References(
        finishes(shelf), target_rows(shelf), masks(shelf), lumber_facts(shelf), estimate_classes(shelf)
    )

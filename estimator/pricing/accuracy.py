"""How accurate an estimate may be called: a published class, with the reason in a sentence.

The classes overlap; of two that a job's definition would allow, the less accurate is claimed.
"""

import datetime as dt
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from estimator.catalogue.labour import LEARNED, LabourBook
from estimator.catalogue.records import Item
from estimator.catalogue.references import (
    ClassPractice,
    Deliverable,
    EstimateClass,
    EstimateClasses,
)

SCOPE = ("survey", "layout", "make_up", "quantities")
"""Done by the time there is an estimate: it exists only when every stage has succeeded."""
INVENTED = "invented"


@dataclass(frozen=True, slots=True)
class Accuracy:
    """The class of an estimate.

    Attributes:
        number: 5 (least known) to 1.
        low, high: percent by which the cost may come in under, or over: narrow and wide end.
        defined: percent of the job that is defined.
        reason: what is known, and what is missing for the next class.
        practice, source: whose classes these are, and how far they were checked.
    """

    number: int
    low: tuple[int, int]
    high: tuple[int, int]
    defined: int
    reason: str
    practice: str
    source: str

    @property
    def text(self) -> str:
        """Return the sentences for the quote."""
        low, high = ("-".join(map(str, ends)) for ends in (self.low, self.high))
        return (
            f"Class {self.number} estimate by {self.practice}: the cost may typically come in {low} % under "
            f"or {high} % over. {self.reason} Source of the class: {self.source}."
        )


def known_of(
    items: Iterable[Item], book: LabourBook, hours: Mapping[str, Decimal], day: dt.date, oldest_days: float
) -> tuple[str, ...]:
    """Return the deliverables that are done for a job that could be estimated to its end.

    Args:
        items: what the job buys; prices are known where none is old, and none invented.
        book: labour rates; they are known where most of the hours follow rates learned from jobs.
        hours: expected, by task.
        day: date of the estimate.
        oldest_days: age from which a price is out of date.
    """
    bought = list(items)
    current = all(0 <= (day - i.price_date).days <= oldest_days and INVENTED not in i.source for i in bought)
    own = sum((h for key, h in hours.items() if book.by_key[key].source.startswith(LEARNED)), Decimal(0))
    half = sum(hours.values(), Decimal(0)) / 2
    return (*SCOPE, *(("prices",) if bought and current else ()), *(("rates",) if own > half else ()))


def estimate_class(known: Collection[str], classes: EstimateClasses, practice: str = "buildings") -> Accuracy:
    """Return the class that what is known of a job allows.

    Args:
        known: keys of deliverables that are done.
        classes: the published classes and deliverables.
        practice: key of the practice.

    Raises:
        KeyError: no such deliverable or practice.
    """
    deliverables = {d.key: d for d in classes.deliverables}
    done = [deliverables[key] for key in deliverables if key in known]
    if unknown := set(known) - set(deliverables):
        raise KeyError(f"no such deliverable: {', '.join(sorted(unknown))}")
    defined = sum(d.share for d in done)
    found = classes.practice(practice)
    rank = _rank(found, defined, known)
    best = found.classes[rank]
    missing = _missing(found.classes[rank + 1 :], classes.deliverables, known)
    return Accuracy(
        best.number, best.low, best.high, defined, _reason(done, missing), found.name, found.source
    )


def _rank(practice: ClassPractice, defined: int, known: Collection[str]) -> int:
    """Return the position of the best class whose needs are met and that the one below no longer covers."""
    rank = 0
    for below, own in pairwise(practice.classes):
        if defined <= below.defined[1] or not set(own.needs) <= set(known):
            break
        rank += 1
    return rank


def _missing(
    better: Sequence[EstimateClass], deliverables: Sequence[Deliverable], known: Collection[str]
) -> list[str]:
    needs = set(better[0].needs) if better else set()
    return [d.label for d in deliverables if d.key in needs - set(known)]


def _reason(done: Sequence[Deliverable], missing: Sequence[str]) -> str:
    known = f"Known: {'; '.join(d.label for d in done)}." if done else "Nothing of the job is defined yet."
    return f"{known} Missing for the next class: {'; '.join(missing)}." if missing else known

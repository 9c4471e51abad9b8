"""Every input of every example, one at a time: the workbook's price is right, or a check says 'look'.

Changes an input in the delivered workbook, recalculates it in another program, and holds price and total of
the base and of every option, to the cent, against an estimate with that change read back.

    python -m tests.end_to_end.sweep              a part: what `.ci/office` runs
    python -m tests.end_to_end.sweep --all        every input; --write lists the false alarms anew

Names of examples among the words leave out the others.

Ends with 1 where a figure is wrong in silence, or where a check says 'look' for nothing for a cause that
`sweep.csv`, which lists them input by input, does not give for the example.
"""

import csv
import datetime as dt
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from itertools import repeat
from pathlib import Path

from estimator.catalogue.load import load
from estimator.catalogue.records import Catalogue
from estimator.core.errors import InputError
from estimator.core.money import rounded
from estimator.job.description import Job
from estimator.pipeline import Estimate, estimate
from estimator.tables.book import book_of
from tests.end_to_end.office import EXAMPLES, Change, Office, changes
from tests.remembered import plans_in

LIST = Path(__file__).with_suffix(".csv")
NAMES = sorted(path.parent.name for path in EXAMPLES.glob("*/job.toml") if path.parent.name != "broken")
MISSED, FALSE_ALARM = "missed", "false alarm"
IN_FULL = {"one_panel", "voice_booth"}
EVERY = 10
"""Of the other examples' inputs every so many are changed in a part, beginning with another one each day."""


@dataclass(frozen=True)
class Found:
    """What one change showed.

    Attributes:
        outcome: 'equal', 'flagged', 'refused', 'false alarm' or 'missed'.
        cause: the checks that say 'look', for a false alarm.
    """

    example: str
    key: str
    outcome: str
    cause: str = ""


class Example:
    """An example as delivered, and as estimated anew."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.job: Job
        self.catalogue: Catalogue
        self.job, self.catalogue, _ = load(EXAMPLES / name / "job.toml")
        self.office = Office(book_of(estimate(self.job, self.catalogue)))
        self.before = set(self.office.looks())

    def found(self, change: Change) -> Found:
        """Return what a change shows."""
        try:
            fresh = estimate(self.job, self.catalogue, {change.key: change.value})
        except InputError:
            return Found(self.name, change.key, "refused")
        self.office.put(change)
        equal = self.shown() == estimated(fresh)
        looks = sorted(set(self.office.looks()) - self.before)
        if looks:
            checks = book_of(fresh).table("checks")
            lasting = set(zip(checks["key"].values, checks["verdict"].values, strict=True))
            looks = [key for key in looks if (key, "look") not in lasting]
        if not looks:
            return Found(self.name, change.key, "equal" if equal else MISSED)
        return Found(self.name, change.key, *((FALSE_ALARM, "+".join(looks)) if equal else ("flagged", "")))

    def shown(self) -> Sequence[object]:
        """Return price and total of every case as the workbook shows them, to the cent."""
        table = self.office.book.table("build_up")
        cells = (cell for key in ("bu_price", "bu_total") for cell in self.office.values(table[key]))
        return [rounded(c) if isinstance(c, int | float) else c for c in cells]


def estimated(fresh: Estimate) -> Sequence[object]:
    """Return price and total of every case as a fresh estimate has them."""
    totals = [fresh.pricing.totals(n) for n in range(1 + len(fresh.options))]
    return [t.price for t in totals] + [t.total for t in totals]


def sweep(name: str, every: int = 1, first: int = 0) -> list[Found]:
    """Return what the changes of an example's inputs show, every so many of them from `first` on."""
    example = Example(name)
    return [example.found(change) for change in list(changes(example.office.book))[first % every :: every]]


def alarms(found: Iterable[Found]) -> set[Found]:
    """Return the false alarms."""
    return {one for one in found if one.outcome == FALSE_ALARM}


def listed() -> set[Found]:
    """Return the false alarms as committed."""
    with LIST.open(encoding="utf-8", newline="") as file:
        return {Found(r["example"], r["key"], FALSE_ALARM, r["cause"]) for r in csv.DictReader(file)}


def write(found: Iterable[Found]) -> None:
    """Write the list of false alarms."""
    with LIST.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("example", "cause", "key"))
        writer.writerows(sorted((one.example, one.cause, one.key) for one in found))


def faults(found: list[Found]) -> list[str]:
    """Return what must not be: figures wrong in silence, and false alarms whose cause is not listed."""
    missed = (
        f"{f.example}: {f.key} moves the price, and no check says so" for f in found if f.outcome == MISSED
    )
    known = {(f.example, cause) for f in listed() for cause in f.cause.split("+")}
    new = (f for f in alarms(found) if any((f.example, c) not in known for c in f.cause.split("+")))
    return [*missed, *(f"{f.example}: {f.key}: a new false alarm, by {f.cause}" for f in new)]


def told(name: str, found: list[Found]) -> str:
    """Return in words what the changes of an example showed."""
    outcomes = sorted(Counter(f.outcome for f in found).items())
    lines = [f"  {name}: {len(found)} inputs changed; " + ", ".join(f"{n} {o}" for o, n in outcomes)]
    causes = sorted(Counter(f.cause for f in alarms(found)).items())
    lines += [f"    false alarms by {cause}: {n}" for cause, n in causes]
    return "\n".join(lines) + "\n"


def main(words: list[str]) -> int:
    """Run the command; return its exit code."""
    whole, day = "--all" in words, dt.datetime.now(dt.UTC).toordinal()
    names = [name for name in NAMES if name in words] or NAMES
    every = [1 if whole or name in IN_FULL else EVERY for name in names]
    found: list[Found] = []
    with (
        tempfile.TemporaryDirectory() as plans,
        ProcessPoolExecutor(initializer=plans_in, initargs=(plans,)) as pool,
    ):
        for name, own in zip(names, pool.map(sweep, names, every, repeat(day)), strict=True):
            sys.stdout.write(told(name, own))
            found += own
    if whole and "--write" in words:
        write(alarms(found) | {one for one in listed() if one.example not in names})
    wrong = faults(found)
    sys.stderr.writelines(f"{line}\n" for line in wrong)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

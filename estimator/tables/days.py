"""Whether the days still stand: the minutes they are planned for, as found and now, and what a trip costs."""

from collections.abc import Iterator
from decimal import Decimal

from estimator.calc.expressions import Operand, lift, total_where
from estimator.calc.tables import Table
from estimator.core.money import rounded
from estimator.labour.day_plan import Planned, planned_minutes
from estimator.labour.leeway import MOST, Leeway
from estimator.pipeline import Estimate, Scope


def days_as_run(estimate: Estimate) -> Table:
    """Return the minutes of every task that the days are planned for, and the leeway that is used up.

    Options are in it: the trips of an option are its own.
    """
    scope, clock = estimate.scope, estimate.scope.labour.workings[3]
    rows = list(_planned(estimate, scope, "", clock, 0, ()))
    for n, (name, option) in enumerate(estimate.options.items()):
        worked = estimate.beside[2]
        rows += _planned(estimate, option, f"{name}|", worked, n * clock.count, (worked["case"], name))
    coats = scope.takeoff.tables["practice"]["coats"].at()
    found, crew = (int(estimate.catalogue.practice.number(key)) for key in ("coats", "crew"))
    return planned_minutes(rows, (found, coats), crew)


def _planned(
    estimate: Estimate, scope: Scope, head: str, clock: Table, first: int, where: tuple[Operand, ...]
) -> Iterator[Planned]:
    """Yield each task that the days of a scope have, and in one row the work that they have none of.

    Args:
        estimate: for crews and labels.
        scope: base or option.
        head: what its rows begin with.
        clock: the table with its minutes by the clock, from row `first` on.
        first: row of the first task.
        where: field and value that tell its rows from others.
    """
    rates, book = estimate.scope.labour.inputs[2], estimate.catalogue.labour
    now, rows = clock["clock_now"], {t.key: first + n for n, t in enumerate(book.tasks)}
    for leeway in (w for w in scope.days.leeways if w.minutes):
        key = leeway.task
        crew = rates.of("crew", key)
        yield Planned(head + key, head + book.by_key[key].label, leeway, now.at(rows[key]), crew)
    none = Leeway("absent", 0, 1, 1, Decimal(1), MOST)
    others = total_where(now, clock["clock_found"], 0, *where)
    yield Planned(f"{head}absent", f"{head}Work there was none of", none, others, lift(1))


def days_said(estimate: Estimate) -> str:
    """Return what the check of the days is about: money, as trips are priced as the days find them."""
    lines = estimate.scope.labour.workings[1]
    trips = Decimal(max(estimate.scope.schedule.trips, 1))
    daily = {t.key for t in estimate.catalogue.labour.tasks if t.daily}
    cost = sum(
        (_money(lines.value("cost", i)) for i, k in enumerate(lines["key"].values) if k in daily), Decimal(0)
    )
    trip = f"{rounded(cost / trips)} {estimate.units.money}"
    return f"Trips priced are those of the days; one more or less is {trip} (if not: run the program again)"


def _money(value: object) -> Decimal:
    return value if isinstance(value, Decimal) else Decimal(0)

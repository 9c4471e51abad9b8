"""Whether the days still stand: the minutes they are planned for, as found and now, and what a trip costs."""

from collections.abc import Iterator, Mapping
from decimal import Decimal

from estimator.calc.expressions import Expr, call, lift
from estimator.calc.tables import Table
from estimator.core.money import rounded
from estimator.labour.day_plan import Planned, planned_minutes
from estimator.labour.leeway import MOST, Leeway
from estimator.pipeline import Estimate, Scope


def days_as_run(estimate: Estimate) -> Table:
    """Return the minutes of every task that the days are planned for, and the leeway that is used up.

    Options are in it: the trips of an option are its own.
    """
    scope = estimate.scope
    clock = scope.labour.workings[3]
    minutes = {str(key): clock["clock_now"].at(n) for n, key in enumerate(clock["key"].values)}
    rows = list(_planned(estimate, scope, "", minutes))
    for n, (name, option) in enumerate(estimate.options.items()):
        of_options, first = estimate.beside[2]["clock_now"], n * clock.count
        own = {key: of_options.at(first + i) for i, key in enumerate(minutes)}
        rows += _planned(estimate, option, f"{name}|", own)
    coats = scope.takeoff.tables["practice"]["coats"].at()
    found, crew = (int(estimate.catalogue.practice.number(key)) for key in ("coats", "crew"))
    return planned_minutes(rows, (found, coats), crew)


def _planned(estimate: Estimate, scope: Scope, head: str, minutes: Mapping[str, Expr]) -> Iterator[Planned]:
    rates, book = estimate.scope.labour.inputs[2], estimate.catalogue.labour.by_key
    absent = [w.task for w in scope.days.leeways if not w.minutes]
    for leeway in (w for w in scope.days.leeways if w.minutes):
        key = leeway.task
        yield Planned(head + key, head + book[key].label, leeway, minutes[key], rates.of("crew", key))
    if absent:
        none, now = Leeway("absent", 0, 1, 1, Decimal(1), MOST), call("SUM", *(minutes[k] for k in absent))
        yield Planned(f"{head}absent", f"{head}Work there was none of", none, now, lift(1))


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

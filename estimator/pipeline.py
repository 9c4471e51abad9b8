"""From a job and a catalogue to the whole estimate: the only place that knows the order of the stages."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimator.acoustics.report import RoomReport
from estimator.acoustics.survey import report_of
from estimator.calc.evaluation import evaluate, number
from estimator.calc.expressions import Value, lift
from estimator.calc.tables import Table
from estimator.catalogue.labour import LabourBook
from estimator.catalogue.records import Catalogue
from estimator.core.errors import Problem, refuse_all
from estimator.core.money import decimal, rounded
from estimator.core.units import Measures, measures
from estimator.cutting.room import RoomPlans, cut_room
from estimator.job.description import Job
from estimator.job.options import apply_option
from estimator.labour.leeway import leeways
from estimator.labour.network import waits_of
from estimator.labour.schedule import Crew, Schedule, ToPlan, Trips, late_orders, order_dates, plan_days
from estimator.labour.tasks import NO_DAYS, DaysHeld, Labour, option_hours, reckon_labour, unit_cost
from estimator.layout.assembly import lay_out
from estimator.layout.records import Layout
from estimator.pricing.cases import DirectCost, Following, OptionCost
from estimator.pricing.other_lines import other_lines
from estimator.pricing.totals import Pricing, Shares, Totals, reckon_price, shared
from estimator.takeoff.contents import Line
from estimator.takeoff.inputs import added_problems, added_rows
from estimator.takeoff.option_purchases import option_purchases
from estimator.takeoff.quantities import Takeoff, deepened, driven, edited, sizes_in, take_off

NO_EDITS: Mapping[str, Value] = {}


@dataclass(frozen=True, slots=True)
class Scope:
    """What is built and what it takes, before any price is made of it: one job or one option.

    Attributes:
        orders: the last day to order each item that is bought on; empty where no start is agreed.
    """

    job: Job
    layout: Layout
    plans: RoomPlans
    takeoff: Takeoff
    labour: Labour
    schedule: Schedule
    days: DaysHeld
    orders: Mapping[str, dt.date]
    room: RoomReport


@dataclass(frozen=True, slots=True)
class Estimate:
    """A complete estimate; it exists only when every stage has succeeded.

    Attributes:
        catalogue: as in force: what the office changed is in it.
        scope: the base.
        options: every option of the job by name, each laid out and taken off as a job of its own.
        problems: warnings and cautions, for every output.
        beside: packs, purchases and hours of the options beside the base's; nothing without options.
    """

    catalogue: Catalogue
    units: Measures
    scope: Scope
    options: Mapping[str, Scope]
    pricing: Pricing
    problems: tuple[Problem, ...]
    beside: tuple[Table, ...] = ()

    @property
    def job(self) -> Job:
        """Return the job as priced."""
        return self.scope.job

    @property
    def totals(self) -> Totals:
        """Return the base's price."""
        return self.pricing.totals(0)

    @property
    def shares(self) -> Shares:
        """Return the base's price taken apart, for papers and archive."""
        sections = self.scope.takeoff.tables["sections"]
        costs = map(number, sections["cost"].values)
        hosts = self.scope.layout.hosts.items()
        areas = {host: sum((f.covered_m2 for f in frames), Decimal(0)) for host, frames in hosts}
        by_name = dict(zip(map(str, sections["key"].values), costs, strict=True))
        totals = self.totals
        at_cost = tuple((line.text, rounded(line.amount)) for line in self.pricing.others if line.at_cost)
        return shared(totals.price, by_name, areas, labour=totals.labour, other=totals.other, at_cost=at_cost)


def estimate(job: Job, catalogue: Catalogue, edits: Mapping[str, Value] = NO_EDITS) -> Estimate:
    """Return the estimate of a job and every option of it.

    Args:
        job: the job.
        catalogue: prices, practice, terms and labour rates.
        edits: what the office changed in the workbook, by input key.

    Raises:
        InputError: the job or catalogue has problems that only show once it is laid out or priced.
        OutputError: a cutting plan does not verify.
    """
    header = job.header
    units = measures(header.display, header.currency)
    changed = edited(catalogue, edits, units)
    base = scope_of(job, changed, edits)
    options = {o.name: scope_of(apply_option(job, o), changed, edits, optional=True) for o in job.options}
    base = _with_items_of(base, options, changed, edits)
    refuse_all(_over_agreed(base))
    beside = _beside(base, options, changed.labour, units.money)
    pricing = reckon_price(
        _direct(base),
        catalogue.terms,
        [_option_cost(o.name, o.title, options[o.name]) for o in job.options],
        day=header.date,
        currency=header.currency,
        others=[*other_lines(job.allowances), *other_lines(job.others)],
        edits=edits,
        follow=_following(base, beside),
    )
    said = (*late_orders(base.orders, header.date), *added_problems(added_rows(edits), catalogue.items))
    own = (*base.layout.problems, *base.room.problems)
    of_options = (p for name, o in options.items() for p in only_of(name, _found(o), own))
    over = (p for name, option in options.items() for p in _over_agreed(option, name))
    problems = (*own, *of_options, *over, *pricing.problems, *said)
    return Estimate(changed, units, base, options, pricing, problems, beside)


def _found(scope: Scope) -> tuple[Problem, ...]:
    return (*scope.layout.problems, *scope.room.problems)


def only_of(option: str, found: Iterable[Problem], base: Sequence[Problem]) -> Iterator[Problem]:
    """Yield the warnings and cautions of an option that the base has not, each beginning with its name."""
    yield from (replace(p, where=f"{option}: {p.where}") for p in found if p not in base)


def scope_of(job: Job, catalogue: Catalogue, edits: Mapping[str, Value], *, optional: bool = False) -> Scope:
    """Return what one job (or option) takes: layout, cutting plans, takeoff and labour.

    Raises:
        InputError: what was surveyed cannot be built, or the catalogue lacks what it needs.
        OutputError: a cutting plan does not verify.
    """
    header = job.header
    units = measures(header.display, header.currency)
    layout = lay_out(job, catalogue, optional=optional)
    if sizes := sizes_in(edits, units, layout.frames):
        layout = lay_out(job, catalogue, sizes, optional=optional)
    layout = deepened(layout, edits, units)
    plans = cut_room(layout, catalogue, unit_cost(catalogue.labour, "board_pieces", header.difficulty))
    timed = _timed(job, catalogue, (layout, plans), edits)
    orders = _orders(timed.takeoff, catalogue, timed.schedule) if header.start else {}
    room = report_of(job, layout, catalogue)
    return Scope(job, layout, plans, timed.takeoff, timed.labour, timed.schedule, timed.days, orders, room)


def _with_items_of(
    base: Scope, options: Mapping[str, Scope], catalogue: Catalogue, edits: Mapping[str, Value]
) -> Scope:
    """Return the base with the items of its options in its price list, where the office can change them."""
    lines = tuple(line for option in options.values() for line in option.takeoff.lines)
    listed = base.takeoff.tables["prices"]["key"].values
    if all(item.key in listed for line in lines for item in line.items):
        return base
    timed = _timed(base.job, catalogue, (base.layout, base.plans), edits, lines)
    return replace(base, takeoff=timed.takeoff, labour=timed.labour, schedule=timed.schedule, days=timed.days)


def _over_agreed(scope: Scope, option: str = "") -> Iterator[Problem]:
    """Yield that a job, or a named option of it, takes more trips than are agreed."""
    agreed, least = scope.job.header.visits, scope.schedule.trips
    if agreed is not None and least > agreed:
        what = f"{agreed} are agreed, and the work takes {least} trips at least"
        fix = f"Agree on {least}, or shorten the days on site: a larger crew, strips finished in the shop."
        if option:
            yield Problem(f"{option}: visits", what, fix, severity="warning")
        else:
            yield Problem("job.visits", what, fix)


def _beside(base: Scope, options: Mapping[str, Scope], book: LabourBook, currency: str) -> tuple[Table, ...]:
    """Return packs, purchases and hours of the options beside the base's; nothing without options."""
    if not options:
        return ()
    titles = {o.name: o.title for o in base.job.options}
    bought = {name: (titles[name], option.takeoff) for name, option in options.items()}
    worked = {name: (titles[name], option.labour, option.days) for name, option in options.items()}
    hours = option_hours(base.labour, worked, book, currency)
    return (*option_purchases(base.takeoff, bought), hours)


def _following(base: Scope, beside: tuple[Table, ...]) -> Following | None:
    if not beside:
        return None
    _, units, hours = beside
    basis = base.labour.inputs[0]
    return Following(units, hours, basis["z_eighty"].at(), basis["z_ninety_five"].at())


@dataclass(frozen=True, slots=True)
class Timed:
    """What a layout takes in things and in time."""

    takeoff: Takeoff
    labour: Labour
    schedule: Schedule
    days: DaysHeld


def _timed(
    job: Job,
    catalogue: Catalogue,
    built: tuple[Layout, RoomPlans],
    edits: Mapping[str, Value],
    also: Sequence[Line] = (),
) -> Timed:
    """Return takeoff, labour and schedule; the trips and standing time priced are those of the days.

    A trip takes as long however many there are, so that the days come out alike the second time.
    """
    header = job.header
    units = measures(header.display, header.currency)
    found = take_off(*built, catalogue, units=units, edits=edits, also=also)
    trips, days = Trips(1, int(catalogue.practice.number("crew"))), NO_DAYS
    while True:
        takeoff = driven(found, built[0], units, (trips.trips, trips.journeys))
        labour = reckon_labour(
            takeoff.tables["drivers"],
            catalogue.labour,
            header.difficulty,
            currency=header.currency,
            edits=edits,
            days=days,
        )
        work = _to_plan(labour, catalogue, trips, header.start)
        schedule = plan_days(work)
        held, before = DaysHeld(*leeways(work, schedule)), (trips, days)
        trips, days = Trips(schedule.trips, schedule.journeys), held
        if (trips, days) == before:
            return Timed(takeoff, labour, schedule, days)


def _to_plan(labour: Labour, catalogue: Catalogue, trips: Trips, start: dt.date | None) -> ToPlan:
    """Return what the days are planned from: the hours of a job, and the shop's practice."""
    practice, book = catalogue.practice, catalogue.labour
    crew = Crew(int(practice.number("crew")), decimal(practice.number("hours_per_day")))
    coats = max(int(practice.number("coats")), 1)
    return ToPlan(labour.hours, book, crew, start, waits_of(book, practice), coats, trips)


def _orders(takeoff: Takeoff, catalogue: Catalogue, schedule: Schedule) -> dict[str, dt.date]:
    """Return the last day to order on, by item; nothing where there is no work."""
    first = schedule.days[0].date if schedule.days else None
    lead_days = {item: catalogue.item(item).lead_days for item in takeoff.bought()}
    return order_dates(lead_days, catalogue.labour.calendar, first) if first else {}


def _direct(scope: Scope) -> DirectCost:
    materials = scope.takeoff.tables["materials_form"]["materials_total"].at()
    labour = scope.labour
    return DirectCost(
        materials, labour.cost.at(), lift(0), labour.reserve_eighty.at(), labour.reserve_ninety_five.at()
    )


def _option_cost(name: str, title: str, scope: Scope) -> OptionCost:
    costs = _direct(scope)
    parts = (costs.materials, costs.labour, costs.other, costs.reserve_eighty, costs.reserve_ninety_five)
    return OptionCost(name, title, *(number(evaluate(part, 0)) for part in parts if part is not None))

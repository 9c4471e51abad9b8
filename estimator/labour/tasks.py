"""Hours and cost of every task, from the takeoff's quantities and the shop's three-point rates.

``hours = quantity x (low + w likely + high) / n x difficulty / 60`` with w = 4 and n = 6, spread
``(high - low) / n``. Tasks are taken as independent, so the job's spread is the root of the summed
squares, and the hours that are enough with a stated chance lie z spreads above the expectation.

Source: PERT; Malcolm, Roseboom, Clark, Fazar, Operations Research 7 (1959) 646-669 (from memory). A sum of
many tasks tends to the normal distribution (central limit theorem); checked by simulation in the tests.

What one more of a thing costs in labour: what plans are weighed by before the hours are known.

What the work of options costs more than the base's, worked out again as rates and wages move.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.calc.evaluation import worked_out
from estimator.calc.expressions import (
    Expr,
    Field,
    Operand,
    Value,
    call,
    cents,
    find,
    if_,
    lift,
    product_total,
    total,
    total_where,
)
from estimator.calc.tables import Draft, Table
from estimator.catalogue.labour import STANDING, Basis, LabourBook, LabourTask
from estimator.core.errors import Problem, refuse_all
from estimator.core.money import rounded
from estimator.core.units import converted
from estimator.job.description import Difficulty
from estimator.job.document import nearest
from estimator.labour.leeway import MOST, Leeway, Stood
from estimator.labour.network import clock_minutes

Edits = Mapping[str, Value]
NO_EDITS: Edits = {}
ALL_TASKS = "all"
RATE_PLACES = 4
MINUTES = 60
HARDEST = Decimal(1000)
_MEASURE = {
    "ft": "ft", "m": "m",
    "ft2": "ft^2", "ft²": "ft^2", "ft^2": "ft^2", "m2": "m^2", "m²": "m^2", "m^2": "m^2",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class DaysHeld:
    """What the days say of the tasks: how far each may move, and when people stand, while they hold."""

    leeways: tuple[Leeway, ...]
    standing: Stood

    def of(self, task: str) -> Leeway:
        """Return the leeway of a task; one person at one part where the days have none of it."""
        return next((w for w in self.leeways if w.task == task), Leeway(task, 0, 1, 1, MOST, MOST))


NO_DAYS = DaysHeld((), Stood(0, {}))


@dataclass(frozen=True, slots=True)
class Labour:
    """The labour of a job.

    Attributes:
        inputs: tables for an inputs sheet: basis, wages, rates.
        workings: tables for workings sheets: wage rates, tasks, the job, minutes of tasks.
        cost: labour cost, the total of rounded lines.
        reserve_eighty, reserve_ninety_five: money that covers the labour spread with that chance.
    """

    inputs: tuple[Table, ...]
    workings: tuple[Table, ...]
    cost: Field
    reserve_eighty: Field
    reserve_ninety_five: Field

    @property
    def tables(self) -> tuple[Table, ...]:
        """Return inputs, then workings."""
        return (*self.inputs, *self.workings)

    @property
    def hours(self) -> dict[str, Decimal]:
        """Return the expected hours of one person, by task."""
        lines = self.workings[1]
        return {
            str(key): value
            for key, value in zip(lines["key"].values, lines["hours"].values, strict=True)
            if isinstance(value, Decimal)
        }


def expectation(low: Operand, likely: Operand, high: Operand, weight: Operand, parts: Operand) -> Expr:
    """Return the expected rate of three points, in their unit: ``(low + weight likely + high) / parts``."""
    return (lift(low) + lift(weight) * likely + high) / parts


def hour_cost(wage: Operand, burden: Operand, billable: Operand) -> Expr:
    """Return what an hour of work costs: ``wage (1 + burden) / billable``."""
    return lift(wage) * (1 + lift(burden)) / billable


def expected_minutes(task: LabourTask, book: LabourBook) -> Decimal:
    """Return the expected minutes of one person for one unit of a task, as the shop's rates say."""
    basis = book.basis
    return worked_out(expectation, task.low, task.likely, task.high, basis.likely_weight, basis.parts)


def reckon_labour(
    drivers: Table,
    book: LabourBook,
    difficulty: Sequence[Difficulty] = (),
    *,
    currency: str,
    edits: Edits = NO_EDITS,
    days: DaysHeld = NO_DAYS,
) -> Labour:
    """Return the labour of a job, as tables whose every figure has its value and its formula.

    Args:
        drivers: one row a driver, with fields key, unit and quantity.
        book: the shop's tasks and wages.
        difficulty: factors on named tasks, multiplied where several name one.
        currency: ISO 4217 code of the wages.
        edits: what the office changed in the workbook, by input key.
        days: what the days of the job say of the tasks; none before they are planned.

    Raises:
        InputError: a task has no driver, or one in a unit it cannot use.
    """
    refuse_all(_unusable_drivers(drivers, book))
    basis = _basis(book.basis, edits)
    wages = _wages(book, currency, edits)
    rates = _rates(book, drivers, difficulty, edits)
    hourly = _hourly(wages, currency)
    minutes = _minutes_of((basis, rates, drivers), book, days)
    lines = _lines((basis, rates, hourly, minutes), book, currency, drivers)
    job = _job(basis, lines, currency)
    return Labour(
        (basis, wages, rates), (hourly, lines, job, minutes),
        job["labour_cost"], job["reserve_eighty"], job["reserve_ninety_five"],
    )  # fmt: skip


def _unusable_drivers(drivers: Table, book: LabourBook) -> Iterator[Problem]:
    units = dict(zip(drivers["key"].values, drivers["unit"].values, strict=True))
    for task in book.tasks:
        where = f"labour task {task.key}"
        if task.driver not in units:
            fix = nearest(task.driver, [str(k) for k in units])
            yield Problem(where, f"the takeoff has no quantity {task.driver!r}", fix)
        elif not _fits(task, str(units[task.driver] or "")):
            what = f"its rate is per {task.unit}, and {task.driver!r} is in {units[task.driver]}"
            yield Problem(where, what, "Give the rate per unit of its driver.")


def _fits(task: LabourTask, unit: str) -> bool:
    squares = {"ft": False, "m": False, "ft^2": True, "m^2": True}
    measure = _MEASURE.get(unit)
    if task.unit == "each":
        return measure is None
    return measure is not None and squares[measure] == (task.unit == "ft2")


def difficulty_of(task: str, difficulty: Sequence[Difficulty]) -> tuple[Decimal, str]:
    """Return the product of the factors on a task, and their reasons."""
    own = [d for d in difficulty if task in d.tasks or ALL_TASKS in d.tasks]
    factor = Decimal(1)
    for one in own:
        factor *= Decimal(str(one.factor))
    return factor, "; ".join(d.reason for d in own)


def _basis(basis: Basis, edits: Edits) -> Table:
    draft = Draft("labour_basis", "How hours are worked out", "across", edits=edits)
    shape, chance = basis.expectation_source, basis.chance_source
    draft.input("pert_weight", "Weight of the likely rate", "", [basis.likely_weight],
                low=Decimal(0), high=Decimal(10), source=shape, places=0)  # fmt: skip
    draft.input("pert_parts", "Divisor of the three points and of the range", "", [basis.parts],
                low=Decimal(1), high=Decimal(12), source=shape, places=0)  # fmt: skip
    draft.decided("min_per_hour", "Minutes in an hour", "min/h", [Decimal(MINUTES)], places=0)
    draft.input("z_eighty", "Spreads above expected, enough 80 times in 100", "", [basis.z_eighty],
                low=Decimal(0), high=Decimal(4), source=chance, places=4)  # fmt: skip
    draft.input("z_ninety_five", "Spreads above expected, enough 95 times in 100", "", [basis.z_ninety_five],
                low=Decimal(0), high=Decimal(4), source=chance, places=4)  # fmt: skip
    return draft.table()


def _wages(book: LabourBook, currency: str, edits: Edits) -> Table:
    draft = Draft("wages", "Wages", edits=edits)
    draft.names([w.key for w in book.wages], "Trade")
    draft.label("wage_label", "Who", [w.label for w in book.wages])
    draft.input("wage", "Wage paid", f"{currency}/h", [w.wage for w in book.wages],
                low=Decimal(0), high=Decimal(1000))  # fmt: skip
    draft.input("burden", "Burden on the wage", "%", [w.burden for w in book.wages],
                low=Decimal(0), high=Decimal(2))  # fmt: skip
    draft.input("billable", "Billable share of paid hours", "%", [w.billable for w in book.wages],
                low=Decimal("0.01"), high=Decimal(1))  # fmt: skip
    draft.label("wage_source", "Source", [w.source for w in book.wages])
    return draft.table()


def _shown_unit(task: LabourTask, unit: str) -> str:
    return "each" if task.unit == "each" else unit


def _minutes(minutes: Decimal, task: LabourTask, unit: str) -> Decimal:
    """Return minutes per unit of the driver as this job shows it."""
    own = _MEASURE.get(task.unit)
    if own is None or own == _MEASURE[unit]:
        return minutes
    return rounded(minutes / converted(Decimal(1), own, _MEASURE[unit]), RATE_PLACES)


def _rates(book: LabourBook, drivers: Table, difficulty: Sequence[Difficulty], edits: Edits) -> Table:
    units = {str(k): str(u or "") for k, u in
             zip(drivers["key"].values, drivers["unit"].values, strict=True)}  # fmt: skip
    tasks = book.tasks
    hard = [difficulty_of(t.key, difficulty) for t in tasks]
    note = "Minutes of one person, for one unit."
    draft = Draft("labour_rates", "Production rates", note=note, edits=edits)
    draft.names([t.key for t in tasks], "Code")
    draft.label("task", "Task", [t.label for t in tasks])
    draft.label("stage", "Where", [t.stage for t in tasks])
    counted = dict(zip(drivers["key"].values, drivers["description"].values, strict=True))
    draft.label("counted", "Counted", [counted[t.driver] for t in tasks])
    draft.link("driver", "Driven by", [t.driver for t in tasks])
    draft.label("per", "Minutes per", [_shown_unit(t, units[t.driver]) for t in tasks])
    for name in ("low", "likely", "high"):
        minutes = [_minutes(getattr(t, name), t, units[t.driver]) for t in tasks]
        draft.input(name, name.capitalize(), "min", minutes, low=Decimal(0), high=HARDEST * 100, places=3)
    draft.input("crew", "Crew", "people", [Decimal(t.crew) for t in tasks],
                low=Decimal(1), high=Decimal(20), places=0, whole=True)  # fmt: skip
    draft.input("paid_as", "Wage", "", [t.wage for t in tasks], choices=[w.key for w in book.wages])
    done = ["yes" if t.done else "no" for t in tasks]
    draft.input("done", "Done", "", done, choices=("yes", "no"))
    draft.input("difficulty", "Difficulty", "", [factor for factor, _ in hard], low=Decimal(0), high=HARDEST)
    draft.label("reason", "Reason", [reason for _, reason in hard])
    draft.label("rate_source", "Source", [t.source for t in tasks])
    return draft.table()


def _hourly(wages: Table, currency: str) -> Table:
    draft = Draft("wage_rates", "What an hour costs")
    key = draft.names([str(k) for k in wages["key"].values], "Trade")
    draft.label("who", "Who", wages["wage_label"].values)
    wage, burden, billable = (
        draft.formula(f.key, f.label, f.unit, wages.of(f.key, key))
        for f in (wages["wage"], wages["burden"], wages["billable"])
    )
    draft.formula("hourly", "Cost of an hour", f"{currency}/h", cents(hour_cost(wage, burden, billable)))
    return draft.table()


def _minutes_of(tables: tuple[Table, Table, Table], book: LabourBook, days: DaysHeld) -> Table:
    """Return how much there is of each task, its expected minutes, and those by the clock of the days."""
    basis, rates, drivers = tables
    weight, parts, hour = (basis[k].at() for k in ("pert_weight", "pert_parts", "min_per_hour"))
    draft = Draft("task_minutes", "How long each task takes, and who stands by meanwhile")
    key = draft.names([t.key for t in book.tasks], "Code")
    draft.label("task", "Task", [t.label for t in book.tasks])
    words = dict(zip(drivers["key"].values, drivers["description"].values, strict=True))
    driver = draft.label("driver", "Driven by", [words[t.driver] for t in book.tasks])
    low, likely, high, hard, done = (
        draft.formula(f.key, f.label, f.unit, rates.of(f.key, key), places=f.places)
        for f in map(rates.__getitem__, ("low", "likely", "high", "difficulty", "done"))
    )
    middle = expectation(low, likely, high, weight, parts)
    expected = draft.formula("expected", "Expected, a unit", "min", middle, places=3)
    found = find(drivers["quantity"], drivers["description"], driver)
    counted = draft.formula("counted", "Counted", "", if_(done.eq("yes"), found, 0))
    stood = _stood(draft, [days] * len(book.tasks), book, counted * hard * expected, hour)
    _quantity(draft, "quantity", "Quantity", counted, book, total(stood) / hour)
    return draft.table()


def _lines(
    tables: tuple[Table, Table, Table, Table], book: LabourBook, currency: str, drivers: Table
) -> Table:
    basis, rates, hourly, minutes = tables
    parts, minutes_hour = (basis[k].at() for k in ("pert_parts", "min_per_hour"))
    draft = Draft("labour", "Labour, task by task")
    key = draft.names([t.key for t in book.tasks], "Code")
    draft.label("labour_task", "Task", [t.label for t in book.tasks])
    draft.label("where", "Where", [t.stage for t in book.tasks])
    words = dict(zip(drivers["key"].values, drivers["description"].values, strict=True))
    draft.label("driver", "Driven by", [words[t.driver] for t in book.tasks])
    quantity = draft.formula("quantity", "Quantity", "", minutes.of("quantity", key))
    low, _, high, hard, crew, paid = (
        draft.formula(f.key, f.label, f.unit, rates.of(f.key, key), places=f.places)
        for f in map(rates.__getitem__, ("low", "likely", "high", "difficulty", "crew", "paid_as"))
    )
    expected = draft.formula("expected", "Expected, a unit", "min", minutes.of("expected", key), places=3)
    scale = quantity * hard / minutes_hour
    share = draft.formula("hours_minute", "Hours a minute of rate", "h/min", scale, places=4)
    hours = draft.formula("hours", "Hours", "h", share * expected)
    spread = draft.formula("spread", "Spread", "h", share * (high - low) / parts)
    draft.formula("clock", "Hours by the clock", "h", hours / crew)
    rate = draft.formula("hour_cost", "Cost of an hour", f"{currency}/h", hourly.of("hourly", paid))
    draft.formula("cost", "Cost", currency, cents(hours * rate))
    draft.formula("cost_spread", "Spread of cost", currency, spread * rate)
    return draft.table()


def _stood(draft: Draft, days: Sequence[DaysHeld], book: LabourBook, minutes: Expr, hour: Expr) -> Field:
    """Add, row by row, the minutes by the clock of a part of each task; and return those stood for it.

    The row of standing itself has the minutes that they stand whatever the tasks take.

    Args:
        draft: one row a task of `book`, as often as there are `days`.
        days: of each row's case.
        book: the tasks.
        minutes: of one person, row by row.
        hour: the cell with the minutes of an hour.
    """
    rows = [(d, t) for d, t in zip(days, [*book.tasks] * (len(days) // len(book.tasks)), strict=True)]
    own = [d.of(t.key) for d, t in rows]
    planned = draft.decided("planned", "In the days (1 = yes)", "", [Decimal(t.planned) for _, t in rows], 0)
    people = draft.decided("people", "People", "", [Decimal(w.people) for w in own], places=0)
    parts = draft.decided("parts", "Parts", "", [Decimal(w.parts) for w in own], places=0)
    draft.decided("clock_found", "Minutes when it ran", "min", [Decimal(w.minutes) for w in own], places=0)
    slopes = [d.standing.of(t.key, whole=t.driver == STANDING) for d, t in rows]
    each = draft.decided("stands", "Minutes stood, one of it", "", [Decimal(s) for s in slopes], places=0)
    clock = planned * clock_minutes(minutes / hour, hour, people, parts)
    now = draft.formula("clock_now", "Minutes by the clock", "min", clock, places=0)
    return draft.formula("stood", "Minutes stood for it", "min", (now + 1 - planned) * each, places=0)


def _quantity(draft: Draft, key: str, label: str, counted: Field, book: LabourBook, stood: Expr) -> Field:
    """Add the quantity of each row: what is counted of it, or the hours that people have `stood`."""
    tasks = [*book.tasks] * (draft.count // len(book.tasks))
    by = [Decimal(task.driver == STANDING) for task in tasks]
    stands = draft.decided(f"{key}_stood", "Hours stood (1 = yes)", "", by, places=0)
    return draft.formula(key, label, "", counted * if_(stands.eq(1), stood, 1))


def _job(basis: Table, lines: Table, currency: str) -> Table:
    z_eighty, z_ninety_five = basis["z_eighty"].at(), basis["z_ninety_five"].at()
    draft = Draft("labour_job", "Labour of the job", "across")
    hours = draft.formula("hours_expected", "Expected hours", "h", total(lines["hours"]))
    draft.formula(
        "hours_shop", "of these in the shop", "h", total_where(lines["hours"], lines["where"], "shop")
    )
    draft.formula(
        "hours_office", "of these in the office", "h", total_where(lines["hours"], lines["where"], "office")
    )
    draft.formula("hours_site", "of these on site", "h", total_where(lines["hours"], lines["where"], "site"))
    squares = product_total(lines["spread"], lines["spread"])
    spread = draft.formula("hours_spread", "Spread", "h", call("SQRT", squares))
    draft.formula("hours_eighty", "Enough 80 times in 100", "h", hours.at() + z_eighty * spread.at())
    draft.formula(
        "hours_ninety_five", "Enough 95 times in 100", "h", hours.at() + z_ninety_five * spread.at()
    )
    draft.formula("labour_cost", "Labour cost", currency, total(lines["cost"]))
    squares = product_total(lines["cost_spread"], lines["cost_spread"])
    money = draft.formula("labour_spread", "Spread of labour cost", currency, call("SQRT", squares))
    draft.formula("reserve_eighty", "Reserve for 80 in 100", currency, cents(z_eighty * money.at()))
    draft.formula("reserve_ninety_five", "Reserve for 95 in 100", currency, cents(z_ninety_five * money.at()))
    return draft.table()


_STEP = Decimal("0.0001")


def unit_cost(book: LabourBook, driver: str, difficulty: Sequence[Difficulty] = ()) -> Decimal:
    """Return the expected cost of one more of a driver, in the currency of the wages, to 1/10 000.

    The rates and wages are the shop's own, as `labour.tasks` reckons with them; what the office changes in a
    workbook is left out, so that a rate tried there moves no plan.

    Args:
        book: the shop's tasks and wages.
        driver: a quantity of the takeoff that is counted, such as ``board_pieces``.
        difficulty: factors on named tasks.
    """
    tasks = [task for task in book.tasks if task.driver == driver and task.unit == "each"]
    return sum((_cost(book, task, difficulty) for task in tasks), Decimal(0)).quantize(_STEP)


def _cost(book: LabourBook, task: LabourTask, difficulty: Sequence[Difficulty]) -> Decimal:
    wage = next(wage for wage in book.wages if wage.key == task.wage)
    hourly = worked_out(hour_cost, wage.wage, wage.burden, wage.billable)
    factor, _ = difficulty_of(task.key, difficulty)
    return expected_minutes(task, book) * factor * hourly / MINUTES


def option_hours(
    base: Labour, options: Mapping[str, tuple[str, Labour, DaysHeld]], book: LabourBook, currency: str
) -> Table:
    """Return one row an option and a task: hours and spread of a unit, and what they cost.

    Args:
        base: the base's labour.
        options: title, labour and days of each option, by name; how much work there is stays as found.
        book: the shop's tasks.
        currency: ISO 4217.
    """
    basis, _, rates = base.inputs
    lines, parts, minutes = base.workings[1], basis["pert_parts"].at(), basis["min_per_hour"].at()
    tasks = [str(key) for key in lines["key"].values]
    cases = [(name, title, labour.workings[1]) for name, (title, labour, _) in options.items()]
    note = "Quantities are as the program found them; minutes, difficulty and wages are those of the base."
    draft = Draft("option_hours", "What the work of options costs more than the base", note=note)
    draft.keys([f"{name}|{task}" for name, _, _ in cases for task in tasks])
    draft.label("option_title", "Option", [title for _, title, _ in cases for _ in tasks])
    draft.label("labour_task", "Task", [v for _ in cases for v in lines["labour_task"].values])
    case = draft.link("case", "Case", [name for name, _, _ in cases for _ in tasks])
    task = draft.link("task", "Task", tasks * len(cases))
    was = draft.formula("base_quantity", "Base", "", lines.of("quantity", task))
    found = [v for labour in (o[1] for o in options.values()) for v in labour.workings[3]["counted"].values]
    counted = draft.decided("option_counted", "Option, as found", "", found)
    hard = draft.formula("hard", "Difficulty", "", rates.of("difficulty", task))
    expected = draft.formula("expected", "Expected", "min", lines.of("expected", task), places=3)
    low = draft.formula("low", "Low", "min", rates.of("low", task), places=3)
    high = draft.formula("high", "High", "min", rates.of("high", task), places=3)
    each = draft.formula("hours_each", "Hours, a unit", "h", hard * expected / minutes, places=4)
    apart = draft.formula(
        "spread_each", "Spread, a unit", "h", hard * (high - low) / parts / minutes, places=4
    )
    of_cases = [days for *_, days in options.values() for _ in tasks]
    stood = _stood(draft, of_cases, book, counted * each * minutes, minutes)
    stands = total_where(stood, case, case) / minutes
    now = _quantity(draft, "option_quantity", "Option", counted, book, stands)
    money = f"{currency}/h"
    rate = draft.formula("hour_cost", "Cost of an hour", money, lines.of("hour_cost", task))
    base_cost = draft.formula("base_cost", "Cost in the base", currency, cents(was * each * rate))
    cost = draft.formula("option_cost", "Cost in the option", currency, cents(now * each * rate))
    draft.formula("more", "More than base", currency, cost - base_cost)
    spread = draft.formula("cost_spread", "Spread of cost", currency, now * apart * rate)
    draft.formula("square", "Its square", f"{currency}²", spread * spread)
    return draft.table()

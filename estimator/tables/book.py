"""The whole workbook as data: which sheet holds which table, inputs on the left, checks on the right."""

from collections.abc import Iterator
from decimal import Decimal

from estimator import __version__
from estimator.calc.tables import Book, Chart, Sheet, Table
from estimator.labour.day_plan import schedule_tables
from estimator.pipeline import Estimate
from estimator.tables.as_run import Cell, as_run, decide_options, unread
from estimator.tables.control import (
    about,
    assumptions,
    balances,
    cautions,
    checks_table,
    master,
)
from estimator.tables.cutting import cutting_tables
from estimator.tables.days import days_as_run, days_said
from estimator.tables.guards import hands
from estimator.tables.orders import actual_inputs, order_table, variance
from estimator.tables.room import RoomSheets, room_sheets

_TRAILS = (
    ("Trail of frames", "frame", "frame_trail"),
    ("Trail of strips", "strip", "strip_trail"),
    ("Trail of counts", "piece that the layout counted", "count_trail"),
)
_CUTS = (
    ("Cutting", "The cutting plans in short, and the prices they were made by."),
    ("Sticks", "Each stick with its pieces."),
    ("Boards", "Each board with its pieces."),
    ("Cloth", "Each piece of cloth along its roll."),
)
"""Sheets of the cutting plans. A table that grows with the job stands last on its sheet: its heads repeat."""


def book_of(estimate: Estimate) -> Book:
    """Return the workbook of an estimate.

    No sheet reads one to its right, but for the master check on the first.
    """
    scope, pricing = estimate.scope, estimate.pricing
    takeoff, labour = scope.takeoff, scope.labour
    actual = actual_inputs(labour, takeoff)
    against = variance(labour, takeoff, actual)
    room = room_sheets(estimate)
    inputs, workings, outputs = _inputs(estimate, room), _workings(estimate), _outputs(estimate, room)
    given = tuple(t for sheet in inputs for t in sheet.tables)
    worked = tuple(t for sheet in (*workings, *outputs) for t in sheet.tables)
    alone = tuple(unread(given, worked, (check.ok for check in pricing.checks)))
    applied, options = as_run(alone), _options_found(estimate, given, alone)
    days = days_as_run(estimate)
    guards, by_hand = hands(given, worked)
    decided = ((days, days_said(estimate)), *applied)
    balanced = (
        *balances(takeoff, labour, decided, (*actual, *against), options),
        *by_hand,
    )
    checks = checks_table(balanced, pricing.checks)
    practice, layout = assumptions(estimate.catalogue, scope.layout.reasons)
    sheets = (
        Sheet("About", "control", "What this workbook is for, and whether it checks.",
              (about(scope.job, __version__), master(checks))),
        *inputs,
        *workings,
        *outputs,
        Sheet("Actuals", "inputs", "Hours, costs and invoices as they come in.", actual),
        Sheet("Variance", "outputs", "Actual against estimate, and what is still open.",
              against),
        Sheet("Days as run", "control", "What the days are planned for: as found, and now.", (days,)),
        Sheet("As run", "control", "What only the program applies: as it found it, and now.",
              (*applied[::-1],)),
        *(Sheet("Options as run", "control", "What options were worked out by: as found, and now.",
                options[::-1]) for _ in options[:1]),
        Sheet("Checks", "control", "Every total reached by a second way; what hands did to the workbook.",
              (checks,)),
        Sheet("Cautions", "control", "What to watch on this job; local code and licensed trades decide.",
              (cautions(estimate.problems),)),
        Sheet("Assumptions", "control", "Why the figures are what they are.", (practice,)),
        Sheet("Reasons", "control", "Why the frames are as they are.", (layout,)),
        Sheet("Guards", "control", "What was written, held against what stands there.", guards, hidden=True),
    )  # fmt: skip
    return Book(sheets)


def _inputs(estimate: Estimate, room: RoomSheets) -> tuple[Sheet, ...]:
    """Return the sheets of inputs, those that an office changes most first."""
    t, labour, terms = estimate.scope.takeoff.tables, estimate.scope.labour, estimate.pricing.inputs
    rates, taxes = labour.inputs[-1], terms[1]
    return (
        Sheet("Terms", "inputs", "This client's terms: profit, payments, other lines.",
              tuple(f for f in terms if f is not taxes)),
        Sheet("Taxes", "inputs", "The taxes in force on the day of the estimate.", (taxes,)),
        Sheet("Prices", "inputs", "What this job may buy, and for how much.", (t["prices"],)),
        Sheet("Frames", "inputs", "The frames to be built; widths, heights and depths may be changed.",
              (t["frames"],)),
        Sheet("Rates", "inputs", "Minutes a task, by which crew.", (rates,)),
        Sheet("Wages", "inputs", "What an hour costs, and how hours are worked out.",
              tuple(f for f in labour.inputs if f is not rates)),
        Sheet("Practice", "inputs", "How this shop works.", (t["practice"],)),
        Sheet("Waste", "inputs", "What is bought beyond the net, and unit factors.",
              (t["waste"], t["units"])),
        Sheet("Absorption", "inputs", "What frames and bare surfaces absorb, per octave; estimated.",
              room.inputs),
    )  # fmt: skip


def slowest_delivery(estimate: Estimate) -> int:
    """Return the working days that the slowest delivery of what is bought takes."""
    bought = estimate.scope.takeoff.bought()
    return max((estimate.catalogue.item(item).lead_days for item in bought), default=0)


def _workings(estimate: Estimate) -> tuple[Sheet, ...]:
    scope = estimate.scope
    t, labour = scope.takeoff.tables, scope.labour
    days, (short, *plans) = _days(estimate), cutting_tables(scope.plans, scope.takeoff.lines, estimate.units)
    cuts = ((short, t["plan_prices"]), *((plan,) for plan in plans))
    hourly, by_task, of_job, minutes = labour.workings
    return (
        Sheet("Layout", "workings", "What the layout decided of each frame.", (t["frame_facts"],)),
        Sheet("Needs", "workings", "What each frame needs.", (t["frame_work"],)),
        Sheet("Fixings", "workings", "What holds each frame to its wall.", (t["fixings"],)),
        Sheet("Strips", "workings", "Each casing and cover strip as laid out.", (t["strips"],)),
        Sheet("Strip needs", "workings", "What each casing and cover strip needs.", (t["strip_work"],)),
        Sheet("Weights", "workings", "What each piece that hangs or stands weighs.", (t["weights"],)),
        Sheet("Hardware", "workings", "Hangers by the size and weight of each cloud; hooks and feet.",
              (t["hardware"],)),
        *(Sheet(title, "workings", f"Which {what} adds how much to which line.", (t[key],))
          for title, what, key in _TRAILS),
        *(Sheet(title, "workings", purpose, tables)
          for (title, purpose), tables in zip(_CUTS, cuts, strict=True)),
        Sheet("Materials", "workings", "Net, waste and need of every line.", (t["lines"],)),
        Sheet("Pack sizes", "workings", "The least that is sold of each item.", (t["pack_steps"],)),
        Sheet("Packs", "workings", "The cheapest packs for every line.", (t["packs"],)),
        Sheet("Purchases", "workings", "What is bought, and what it costs.", (t["purchases"],)),
        Sheet("Line costs", "outputs", "What each line of materials costs.", (t["line_costs"],)),
        Sheet("Costs", "outputs", "What the materials cost, by section.",
              (t["sections"], t["materials_form"]),
              (Chart("Materials by section", t["sections"]["key"], (t["sections"]["cost"],),
                     estimate.units.money),)),
        Sheet("Drivers", "workings", "What the hours follow from.",
              (t["layout_counts"], t["driver_sums"], t["drivers"], hourly)),
        Sheet("Minutes", "workings", "How long tasks take by the clock, and who stands by.", (minutes,),
              hidden=True),
        Sheet("Labour", "workings", "Hours and cost, task by task.", (by_task,)),
        Sheet("Schedule", "workings", "Hours of the job, days in the shop and on site.", (of_job, *days)),
        *_options(estimate),
        Sheet("Pricing", "workings", "Taxes, options and direct cost.", estimate.pricing.workings),
    )  # fmt: skip


def _options(estimate: Estimate) -> Iterator[Sheet]:
    titles = (
        ("Option packs", "The cheapest packs for every option."),
        ("Option purchases", "What options buy otherwise than the base."),
        ("Option labour", "What the work of options costs more than the base."),
    )
    for (title, purpose), table in zip(titles, estimate.beside, strict=False):
        yield Sheet(title, "workings", purpose, (table,))


def _options_found(
    estimate: Estimate, given: tuple[Table, ...], alone: tuple[Cell, ...]
) -> tuple[Table, ...]:
    """Return what options were worked out by, numbers before choices; nothing without options.

    What the program `alone` applies is watched for base and options alike, and left out.
    """
    if not estimate.options:
        return ()
    cells = (cell for cell in decide_options(estimate, given) if cell not in alone)
    return as_run(cells, "options_", "options were worked out by")


def _days(estimate: Estimate) -> tuple[Table, ...]:
    scope = estimate.scope
    hours = sum(scope.labour.hours.values(), Decimal(0))
    return schedule_tables(scope.schedule, slowest_delivery(estimate), hours)


def _room(sheets: RoomSheets) -> tuple[Sheet, Sheet]:
    """Return facts with the treated areas, which grow with the job, and what follows for the room."""
    before, after = sheets.workings[-2:]
    series = (before["sabine"], after["sabine"], before["eyring"], after["eyring"])
    chart = Chart("Reverberation time, estimated", before["name"], series, "seconds")
    purpose = "What the treatment does for the room: estimated, not guaranteed."
    return (
        Sheet("Treatment", "workings", "The room, and what covers its surfaces.", sheets.workings[:2]),
        Sheet("Room", "workings", purpose, sheets.workings[2:], (chart,)),
    )


def _outputs(estimate: Estimate, room: RoomSheets) -> tuple[Sheet, ...]:
    order = order_table(estimate.scope.takeoff, estimate.scope.orders)
    return (
        Sheet("Build-up", "outputs", "From cost to price, tax and payments; one column an option.",
              estimate.pricing.outputs),
        *_room(room),
        Sheet("Order", "outputs", "What to order, by supplier.", (order,)),
    )  # fmt: skip

"""The control sheets: what the workbook is, its checks with the master check, assumptions and cautions."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.calc.expressions import (
    All,
    Expr,
    Field,
    call,
    count_of,
    filled_cells,
    find,
    if_,
    lift,
    product_total,
    total,
)
from estimator.calc.tables import Draft, Table
from estimator.catalogue.records import Catalogue
from estimator.core.errors import Problem
from estimator.core.units import readable
from estimator.job.description import Job
from estimator.labour.tasks import Labour
from estimator.pricing.totals import Check
from estimator.takeoff.quantities import Takeoff

_WORDS = {
    "How to use": "Change the framed cells only; all else follows. Look at the checks before sending.",
    "In this order": "Terms and Taxes of this client; Prices; Frames; Rates, Wages, Practice and Waste where "
    "this job differs. Then read Build-up, Order and Checks; fill in Actuals as the job goes on.",
    "What follows by itself": "Sizes, spacings, coats, packs, prices, rates, wages, margin, tax, payments; "
    "options follow prices, packs, rates, wages and terms.",
    "What does not": "Layout and cutting plans are worked out by the program. When a size leaves the plan, "
    "the purchases switch to net plus waste, and a check says that the plan is out of date. Inputs that only "
    "the program applies are listed on As run, and a check says so when one was changed.",
    "Limits": "Quantities and prices are an estimate. Acoustic figures are estimated, not guaranteed. "
    "Nothing here states that any code is met; local code and licensed trades decide.",
}


HALF_CENT, TENTH, UNIT = Decimal("0.005"), Decimal("0.05"), Decimal("0.5")
NO_ROW = "–"
NOT_ALL = Decimal("0.999")
"""Shares that add up to less than the whole."""


@dataclass(frozen=True, slots=True)
class Balance:
    """Two figures reached by different ways that must agree `within` so much, by default half a cent.

    They are compared as they are: two roundings of nearly the same number may fall to either side of a half.

    Attributes:
        rows: of a check of rows, the names of what it looks at, its answers, and the answer to look for.
    """

    key: str
    label: str
    found: Expr
    expected: Expr
    within: Decimal = HALF_CENT
    rows: tuple[Field, Field, int | str] | None = None


def balances(
    takeoff: Takeoff,
    labour: Labour,
    decided: tuple[tuple[Table, str], Table, Table],
    actual: tuple[Table, ...],
    options: tuple[Table, ...] = (),
) -> tuple[Balance, ...]:
    """Return the independent checks on takeoff and labour.

    Args:
        takeoff: with its tables.
        labour: with its tables.
        decided: the minutes that the days are planned for and what is said of them, and the numbers and
            choices that only the program applies.
        actual: what was spent, invoiced and received, as typed and as added up.
        options: the numbers and choices by which options were worked out; none where there are none.
    """
    t, ((days, days_said), *applied) = takeoff.tables, decided
    lines, per_line, bought = t["lines"], t["line_costs"], t["purchases"]
    frames, work = t["frames"], t["frame_work"]
    per = t["units"]["small_per_large"].at()
    trails = (total(t[k]["quantity"]) for k in ("frame_trail", "strip_trail", "count_trail"))
    first, second, third = trails
    tasks = labour.workings[1]
    return (
        Balance("plan_in_date", "Cutting plans are in date (if not: run the program again)",
                total(lines["stale"]), lift(0), rows=(lines["description"], lines["stale"], 1)),
        Balance("plan_prices", "Cutting plans are made by these prices (if not: run the program again)",
                total(t["plan_prices"]["differs"]), lift(0),
                rows=(t["plan_prices"]["description"], t["plan_prices"]["differs"], 1)),
        Balance("layout_in_date", "Frames are as they were laid out (if not: run the program again)",
                total(work["resized"]), lift(0), rows=(work["key"], work["resized"], 1)),
        Balance("as_run", "Inputs that only the program applies are as found (if not: run the program again)",
                total(applied[0]["differs"]) + total(applied[1]["differs"]), lift(0)),
        *_options_balance(options),
        *_actual_balances(actual),
        Balance("days_in_date", days_said, total(days["used"]), lift(0), NOT_ALL),
        Balance("carried", "Hangers and hooks carry their pieces with the shop's safety factor",
                total(t["hardware"]["overloaded"]), lift(0)),
        Balance("materials_sum", "Purchases add up to the materials",
                total(bought["charged"]), t["materials_form"]["materials_total"].at()),
        Balance("line_sum", "Lines add up to the sections",
                total(per_line["cost"]), total(t["sections"]["cost"])),
        Balance("area_sum", "Frame areas agree with widths × heights",
                product_total(frames["width"], frames["height"]) / per / per, total(work["frame_area"])),
        Balance("trail_sum", "The trail adds up to the net quantities",
                first + second + third, total(lines["net"]), TENTH),
        Balance("enough", "Every line buys at least its net", total(per_line["short"]), lift(0),
                rows=(per_line["description"], per_line["short"], 1)),
        Balance("priced", "Every item has a price", total(bought["missing"]), lift(0),
                rows=(bought["description"], bought["missing"], 1)),
        Balance("labour_sum", "Hours × rates agree with the labour cost to a unit of money",
                product_total(tasks["hours"], tasks["hour_cost"]), total(tasks["cost"]), UNIT),
    )  # fmt: skip


def _options_balance(options: tuple[Table, ...]) -> Iterator[Balance]:
    """Yield the check that nothing moved which options do not follow."""
    if options:
        label = "Options are worked out by these inputs (if not: run the program again)"
        numbers, choices = options
        yield Balance(
            "options_in_date", label, total(numbers["differs"]) + total(choices["differs"]), lift(0)
        )


def _actual_balances(actual: tuple[Table, ...]) -> tuple[Balance, ...]:
    """Return the second ways to what was spent, invoiced and received."""
    hours, costs, invoices, by_task, by_section, form = actual
    return (
        Balance("worked_sum", "Hours worked add up by task",
                form["hours_worked"].at(), total(by_task["worked"])),
        Balance("paid_sum", "Payments to suppliers add up by section",
                form["materials_paid"].at(), total(by_section["paid"])),
        Balance("open_sum", "What is open is invoiced less received, row by row",
                form["open_total"].at(), total(invoices["amount"]) - total(invoices["received"])),
        Balance("filled", "No hours or payments below nothing",
                call("MIN", All(hours["spent"]), 0) + call("MIN", All(costs["paid"]), 0), lift(0)),
    )  # fmt: skip


def checks_table(of_balance: Sequence[Balance], of_price: Sequence[Check]) -> Table:
    """Return the checks: what was found, what must be, and whether they agree."""
    rows = [*((b.key, b.label, b.found, b.expected, b.within, _first(b)) for b in of_balance),
            *((c.key, c.label, c.ok, lift(1), HALF_CENT, lift(NO_ROW)) for c in of_price)]  # fmt: skip
    table = Draft("checks", "Checks")
    table.keys([r[0] for r in rows], "Check")
    table.label("check", "What is checked", [r[1] for r in rows])
    found = table.each("found", "Found", "", [r[2] for r in rows])
    expected = table.each("expected", "Must be", "", [r[3] for r in rows])
    within = table.decided("within", "Within", "", [r[4] for r in rows], places=3)
    agree = call("MAX", found - expected, expected - found).le(within)
    ok = table.formula("ok", "Agrees (1 = yes)", "", call("IFERROR", if_(agree, 1, 0), 0), places=0)
    table.formula("verdict", "Verdict", "", if_(ok.eq(1), "ok", "look"))
    table.each("first", "Where to look first", "", [r[5] for r in rows])
    return table.table()


def _first(balance: Balance) -> Expr:
    """Return the name of the first row that a check is about."""
    if balance.rows is None:
        return lift(NO_ROW)
    names, answers, sought = balance.rows
    return call("IFERROR", find(names, answers, sought), NO_ROW)


def master(checks: Table) -> Table:
    """Return the form with the master check: 'ok' when every check agrees.

    What does not say 'ok' is counted, so that an error counts too.
    """
    form = Draft("master", "All checks", "across")
    held = count_of(checks["verdict"], "ok")
    holding = form.formula("checks_holding", "Checks that hold", "", held, places=0)
    wrong = filled_cells(All(checks["verdict"])) - holding
    failing = form.formula("checks_failing", "Checks to look at", "", wrong, places=0)
    form.formula("master_check", "All checks", "", if_(failing.eq(0), "ok", "look"), strong=True)
    return form.table()


def about(job: Job, version: str) -> Table:
    """Return the lines of the first sheet."""
    header = job.header
    rows = (
        ("Purpose", "Prices one job: what is bought, the hours, and the price with its taxes and payments."),
        ("Job", f"{header.number} · {header.title}"),
        ("Client", header.client),
        ("Site", header.site),
        ("Date", header.date.isoformat()),
        ("Version", f"battenbook {version}"),
        *_WORDS.items(),
    )
    table = Draft("about", "About this workbook")
    table.keys([f"about-{n}" for n in range(1, len(rows) + 1)])
    table.label("what", "What", [r[0] for r in rows])
    table.label("text", "In words", [r[1] for r in rows])
    return table.table()


def assumptions(catalogue: Catalogue, reasons: Iterable[str]) -> tuple[Table, ...]:
    """Return the assumptions: each practice value with its source, and why the layout is as it is."""
    values = catalogue.practice.values.values()
    practice = Draft("sources", "Values of the shop's practice and where they come from")
    practice.keys([v.key for v in values])
    practice.label("value", "Value", [v.label for v in values])
    practice.label("text", "As the shop wrote it", [readable(v.text) for v in values])
    practice.label("source", "Source", [v.source for v in values])
    texts = tuple(reasons)
    layout = Draft("reasons", "Why each band was cut as it was")
    layout.keys([f"reason-{n}" for n in range(1, len(texts) + 1)])
    layout.label("reason", "Reason", texts)
    return practice.table(), layout.table()


def cautions(problems: Iterable[Problem]) -> Table:
    """Return warnings and cautions: what triggered each, and who decides."""
    rows = tuple(problems)
    table = Draft("cautions", "Cautions and warnings")
    table.keys([f"caution-{n}" for n in range(1, len(rows) + 1)])
    table.label("severity", "Kind", [p.severity for p in rows])
    table.label("where", "Where", [p.where for p in rows])
    table.label("what", "What", [p.what for p in rows])
    table.label("fix", "What to do", [p.fix for p in rows])
    return table.table()

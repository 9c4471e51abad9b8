"""Outputs for the supplier and the office's own actuals: the order list, actual against quoted, invoices."""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal

from estimator.calc.expressions import Expr, call, if_, settled, total, total_where
from estimator.calc.tables import Draft, Table
from estimator.labour.tasks import Labour
from estimator.takeoff.quantities import Takeoff

SPARE_INVOICES = 12
MOST = Decimal(100_000_000)


def order_table(takeoff: Takeoff, dates: Mapping[str, dt.date]) -> Table:
    """Return the order list, by supplier, one row an item of a line; packs follow the purchases.

    Args:
        takeoff: of the job.
        dates: the last day to order each item on; without any, the column is left out.
    """
    bought, prices = takeoff.tables["purchases"], takeoff.tables["prices"]
    items = [str(i) for i in bought["item"].values]
    rows = sorted(range(len(items)), key=lambda i: _supplier(prices, items[i]))
    note = "Rows in grey: none is needed as things stand."
    table = Draft("order", "Order list by supplier", note=note, faint="units")
    table.keys([str(bought["key"].values[i]) for i in rows], "Purchase")
    table.label("supplier", "Supplier", [_supplier(prices, items[i])[0] for i in rows])
    item, line = (
        table.link(f.key, f.label, [f.values[i] for i in rows]) for f in (bought["item"], bought["line"])
    )
    for field, label in (
        ("description", "Description"),
        ("item_code", "Item code"),
        ("buy_unit", "Bought by the"),
    ):
        values = dict(zip(prices["key"].values, prices[field].values, strict=True))
        table.label(field, label, [values[items[i]] for i in rows])
    if dates:
        table.label("order_by", "Order by", [dates.get(items[i]) for i in rows], unit="date")

    def of_row(field: str) -> Expr:
        return total_where(bought[field], bought["item"], item, bought["line"], line)

    table.formula("units", "Order", "", of_row("units"))
    table.formula("price", "Price", takeoff.money, call("IFERROR", prices.of("price", item), 0))
    table.formula("cost", "Cost", takeoff.money, of_row("cost"))
    return table.table()


def _supplier(prices: Table, item: str) -> tuple[str, str]:
    row = prices["key"].values.index(item)
    return str(prices["supplier"].values[row]), item


def actual_inputs(labour: Labour, takeoff: Takeoff) -> tuple[Table, ...]:
    """Return what the office fills in: hours by task, cost by section, and invoices with payments."""
    tasks = labour.workings[1]
    hours = Draft("actual_hours", "Hours as worked", edits=takeoff.edits)
    hours.names([str(k) for k in tasks["key"].values], "Code")
    hours.label("task", "Task", tasks["labour_task"].values)
    blanks: list[Decimal | None] = [None] * tasks.count
    hours.input(
        "spent", "Hours worked", "h", blanks, low=Decimal(0), high=MOST, source="time sheets", optional=True
    )
    sections = takeoff.tables["sections"]
    costs = Draft("actual_costs", "Costs as invoiced to us", edits=takeoff.edits)
    costs.names([str(k) for k in sections["key"].values], "Section")
    none: list[Decimal | None] = [None] * sections.count
    costs.input("paid", "Paid to suppliers", takeoff.money, none, low=-MOST, high=MOST,
                source="suppliers' invoices", optional=True)  # fmt: skip
    return hours.table(), costs.table(), _invoices(takeoff)


def _invoices(takeoff: Takeoff) -> Table:
    table = Draft("invoices", "Invoices to the client", edits=takeoff.edits)
    numbers = [f"invoice-{n}" for n in range(1, SPARE_INVOICES + 1)]
    table.names(numbers, "Row")
    empty: list[None] = [None] * len(numbers)
    table.input("number", "Invoice number", "", empty, optional=True)
    table.input("date", "Date", "date", empty, optional=True)
    for key, label in (("amount", "Amount, tax included"), ("received", "Received")):
        table.input(key, label, takeoff.money, empty, low=-MOST, high=MOST, optional=True)
    return table.table()


def variance(labour: Labour, takeoff: Takeoff, actual: tuple[Table, ...]) -> tuple[Table, ...]:
    """Return actual against quoted: hours by task, cost by section, and the invoices' sums."""
    hours, costs, invoices = actual
    tasks, sections = labour.workings[1], takeoff.tables["sections"]
    by_task = Draft("hours_variance", "Hours against the estimate")
    key = by_task.names([str(k) for k in tasks["key"].values], "Code")
    by_task.label("task", "Task", tasks["labour_task"].values)
    quoted = by_task.formula("quoted", "Estimated", "h", settled(tasks.of("hours", key), 2))
    spent = by_task.formula("worked", "Worked", "h", settled(hours.of("spent", key), 2))
    by_task.formula("over", "Over (+) or under (-)", "h", if_(spent.eq(0), 0, spent - quoted))
    by_section = Draft("cost_variance", "Material costs against the estimate")
    keys = by_section.keys([str(k) for k in sections["key"].values], "Section")
    by_section.label("section", "Section", sections["key"].values)
    estimated = by_section.formula("quoted", "Estimated", takeoff.money, sections.of("cost", keys))
    paid = by_section.formula("paid", "Paid", takeoff.money, total_where(costs["paid"], costs["key"], keys))
    by_section.formula("over", "Over (+) or under (-)", takeoff.money, if_(paid.eq(0), 0, paid - estimated))
    form = Draft("actual_form", "So far", "across")
    form.formula("hours_worked", "Hours worked", "h", total(hours["spent"]))
    form.formula("materials_paid", "Paid to suppliers", takeoff.money, total(costs["paid"]))
    invoiced = form.formula("invoiced_total", "Invoiced", takeoff.money, total(invoices["amount"]))
    received = form.formula("received_total", "Received", takeoff.money, total(invoices["received"]))
    form.formula("open_total", "Still open", takeoff.money, invoiced - received)
    return by_task.table(), by_section.table(), form.table()

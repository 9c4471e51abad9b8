"""The order to each supplier: what to send, in which packs, and what matters about it."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from estimator.catalogue.records import Item
from estimator.core.units import readable
from estimator.documents.quote import heading
from estimator.pipeline import Estimate

Row = dict[str, Any]


def order(estimate: Estimate, *, prices: bool = False) -> Row:
    """Return everything the order shows, a supplier a page.

    Args:
        estimate: the estimate.
        prices: with what we expect to pay.
    """
    suppliers: dict[str, list[Row]] = {}
    for item, units, cost, lot in _bought(estimate):
        row = {**_row(item, units, cost, lot), "order_by": estimate.scope.orders.get(item.key)}
        suppliers.setdefault(item.supplier, []).append(row)
    days = estimate.scope.schedule.days
    return {
        **heading(estimate),
        "prices": prices,
        "start": days[0].date if days else None,
        "suppliers": [
            {
                "name": name,
                "rows": sorted(rows, key=lambda r: (r["section"], r["description"])),
                "total": sum((r["cost"] for r in rows), Decimal(0)),
                "lead": max(r["lead"] for r in rows),
                "order_by": min((r["order_by"] for r in rows if r["order_by"]), default=None),
                "lots": any(r["lot"] for r in rows),
            }
            for name, rows in sorted(suppliers.items())
        ],
    }


def _bought(estimate: Estimate) -> Iterator[tuple[Item, Decimal, Decimal, str]]:
    """Yield every purchase that is not nothing: item, units, cost, and the dye lot's name."""
    table = estimate.scope.takeoff.tables["purchases"]
    rows = zip(*(table[key].values for key in ("line", "item", "units", "cost")), strict=True)
    for line, key, units, cost in rows:
        if isinstance(units, Decimal) and isinstance(cost, Decimal) and units:
            item = estimate.catalogue.item(str(key))
            _, _, *lot = str(line).split(":", 2)
            yield item, units, cost, "".join(lot)


def _row(item: Item, units: Decimal, cost: Decimal, lot: str) -> Row:
    note = f"colour {lot}: all of one dye lot, in one length where it can be" if lot else ""
    return {
        "section": item.section,
        "description": item.description,
        "code": item.item_code,
        "units": units,
        "unit": item.buy_unit,
        "content": f"{item.content.normalize():f} {readable(item.content_unit)}",
        "note": note,
        "lot": lot,
        "cost": cost,
        "price": item.price,
        "lead": item.lead_days,
    }

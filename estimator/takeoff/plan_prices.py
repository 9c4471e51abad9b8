"""Prices that a cutting plan weighed: where one moves, another plan may be cheaper, and a check says so.

The plan that was made still cuts every piece; what it buys stays as it is until the program is run again.
"""

from estimator.calc.expressions import call, find, if_
from estimator.calc.tables import Draft, Table
from estimator.catalogue.records import Catalogue, Item
from estimator.cutting.room import RoomPlans


def _weighed(plans: RoomPlans, catalogue: Catalogue) -> tuple[Item, ...]:
    """Return what a plan weighed: sizes of stick where there is a choice, and boards against their pieces."""
    sticks = (i for p in plans.sticks if len(sizes := catalogue.sizes(p)) > 1 for i in sizes)
    return (*sticks, *(i for p in plans.boards for i in catalogue.sizes(p)))


def plan_prices(plans: RoomPlans, catalogue: Catalogue, prices: Table) -> Table:
    """Return price and content of each size that a cutting plan weighed, as it was and as it is now.

    Args:
        plans: the cutting plans.
        catalogue: for the sizes of each product.
        prices: the price list of the job.
    """
    items = [i.key for i in _weighed(plans, catalogue)]
    rows = [prices["key"].values.index(key) for key in items]
    table = Draft("plan_prices", "Prices that the cutting plans were made by")
    key = table.keys(items, "Item")
    table.label("description", "Description", [prices["description"].values[i] for i in rows])
    money = prices["price"].unit
    found = table.decided("found", "Price then", money, [prices["price"].values[i] for i in rows])
    held = table.decided("held", "Held then", "", [prices["content"].values[i] for i in rows], places=3)
    now = find(prices["price"], prices["key"], key)
    holds = find(prices["content"], prices["key"], key)
    price = table.formula("price", "Price now", money, now)
    content = table.formula("content", "Holds now", "", holds, places=3)
    as_then = call("AND", price.eq(found), content.eq(held))
    table.formula("differs", "Changed (1 = yes)", "", if_(as_then, 0, 1), places=0)
    return table.table()

"""What options buy otherwise than the base, worked out again as prices and packs move.

What an option needs stays as the program found it when it laid the option out; the cheapest packs are chosen
anew, and what they cost follows the price list.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from estimator.calc.evaluation import number
from estimator.calc.expressions import Expr, call, cents, if_, total_where
from estimator.calc.tables import Draft, Table
from estimator.takeoff.contents import Line
from estimator.takeoff.lines import PACK, add_packs
from estimator.takeoff.quantities import Takeoff

_ZERO = Decimal(0)
Options = Mapping[str, tuple[str, Takeoff]]
"""By name, title and takeoff of each option."""


def option_purchases(base: Takeoff, options: Options) -> tuple[Table, Table]:
    """Return the cheapest packs for options, and what they buy otherwise than the base.

    Args:
        base: the base's takeoff, with every item of the options in its price list.
        options: title and takeoff of each option, by name.
    """
    packs = _packs(base, options)
    return packs, _units(base, options, packs)


def _by_mix(line: Line) -> bool:
    """Return whether a line is bought in the cheapest packs that hold its need, not by a plan of sticks."""
    return line.packs is None


def _packs(base: Takeoff, options: Options) -> Table:
    rows = [
        (name, title, takeoff, at)
        for name, (title, takeoff) in options.items()
        for at, line in enumerate(takeoff.lines)
        if _by_mix(line)
    ]
    draft = Draft("option_packs", "The cheapest packs for options")
    lines = [takeoff.lines[at] for *_, takeoff, at in rows]
    draft.keys([f"{name}|{line.key}" for (name, *_), line in zip(rows, lines, strict=True)])
    draft.label("option_title", "Option", [title for _, title, *_ in rows])
    draft.label("description", "Description", [line.description for line in lines])
    needs = [takeoff.tables["lines"].value("need", at) for *_, takeoff, at in rows]
    need = draft.decided("need", "Need", "", needs)
    add_packs(draft, lines, need, (base.tables["prices"], base.tables["pack_steps"]), base.money)
    return draft.table()


@dataclass(frozen=True, slots=True)
class _Purchase:
    """A line in one size that an option buys otherwise than the base, or may; `fixed` units by its plan."""

    name: str
    title: str
    line: Line
    item: str
    description: str
    fixed: Decimal


def _bought(takeoff: Takeoff) -> dict[str, Decimal]:
    """Return the units bought, by line and item."""
    table = takeoff.tables["purchases"]
    rows = zip(table["key"].values, table["units"].values, strict=True)
    return {str(key): number(amount) for key, amount in rows}


def _purchases(base: Takeoff, options: Options) -> Iterator[_Purchase]:
    before = _bought(base)
    for name, (title, takeoff) in options.items():
        after = _bought(takeoff)
        own = {line.key: line for line in takeoff.lines}
        for line in (*own.values(), *(line for line in base.lines if line.key not in own)):
            mixed = line.key in own and _by_mix(line)
            for item in line.items:
                key = f"{line.key}|{item.key}"
                now = after.get(key, _ZERO)
                if mixed or before.get(key, _ZERO) != now:
                    fixed = _ZERO if mixed else now
                    yield _Purchase(name, title, line, item.key, item.description, fixed)


def _units(base: Takeoff, options: Options, packs: Table) -> Table:
    rows, prices, bought = list(_purchases(base, options)), base.tables["prices"], base.tables["purchases"]
    note = "What each option needs is as the program found it; packs and prices are those of now."
    draft = Draft("option_units", "What options buy otherwise than the base", note=note)
    draft.keys([f"{row.name}|{row.line.key}|{row.item}" for row in rows])
    draft.label("option_title", "Option", [row.title for row in rows])
    draft.label("description", "Description", [row.description for row in rows])
    draft.link("case", "Case", [row.name for row in rows])
    item = draft.link("item", "Item", [row.item for row in rows])
    in_base = draft.link("in_base", "In the base", [f"{row.line.key}|{row.item}" for row in rows])
    of_line = draft.link("of_line", "Line", [f"{row.name}|{row.line.key}" for row in rows])
    held = total_where(bought["units"], bought["key"], in_base)
    base_units = draft.formula("base_units", "Base buys, in units", "", held)
    fixed = draft.decided("fixed_units", "Option buys, as planned", "", [row.fixed for row in rows])

    def packed(size: str) -> Expr:
        return total_where(packs[f"packs_{size}"], packs["key"], of_line, packs[size], item)

    large = draft.formula("as_large", "Packs as largest", "ea", packed("large"), places=0)
    small = draft.formula("as_small", "Packs as smallest", "ea", packed("small"), places=0)
    sold_in = call("IFERROR", prices.of("sold_in", item), 0)
    now = draft.formula("option_units", "Option buys, in units", "", fixed + (large + small) * sold_in)
    price = draft.formula("price", "Price", base.money, call("IFERROR", prices.of("price", item), 0))
    way = draft.formula("by", "Charged by", "", call("IFERROR", prices.of("charged", item), PACK))
    part = total_where(bought["used"], bought["key"], in_base)
    was_used = draft.formula("base_used", "Part charged in the base", "", part, places=4)
    own_part = total_where(packs["part"], packs["key"], of_line)
    now_used = draft.formula(
        "option_used", "and in the option", "", if_(way.eq("use"), own_part, 1), places=4
    )
    was = draft.formula(
        "base_cost", "Cost in the base", base.money, cents(cents(base_units * price) * was_used)
    )
    cost = draft.formula(
        "option_cost", "Cost in the option", base.money, cents(cents(now * price) * now_used)
    )
    draft.formula("more", "More than base", base.money, cost - was)
    return draft.table()

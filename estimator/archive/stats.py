"""What the archive teaches: won and lost, margin quoted and earned, price per area, by year and by client.

Money of different currencies is never added up: every figure is of one currency.
"""

from collections.abc import Sequence
from dataclasses import fields
from decimal import Decimal

import pandas as pd

from estimator.archive.index import Account

MONEY = ("quoted", "price", "cost", "invoiced", "paid", "receipts", "to_invoice", "due")
FIGURES = (
    "quotes", "won", "lost", "open", "won_share", "price", "price_won", "margin_quoted", "margin_won",
    "jobs_reported", "margin_reported_quoted", "margin_earned", "area_m2", "price_per_m2",
    "invoiced", "paid", "due",
)  # fmt: skip


def frame(found: Sequence[Account]) -> pd.DataFrame:
    """Return one row for each quote number, amounts as floats, for grouping and plotting."""
    names = [f.name for f in fields(Account)]
    rows = [[float(v) if isinstance(v := getattr(a, n), Decimal) else v for n in names] for a in found]
    table = pd.DataFrame(rows, columns=names)
    table["year"] = [a.date.year for a in found]
    for name in ("actual_cost", "actual_hours", "margin_earned", "price_per_m2"):
        table[name] = table[name].astype(float)
    return table


def figures(found: Sequence[Account], by: str) -> pd.DataFrame:
    """Return the figures of each group and currency, in order; no row where nothing is filed.

    Args:
        found: the accounts.
        by: 'year' or 'client'.

    Returns:
        One row a group: its name, the currency, and `FIGURES`. Shares and margins are fractions, NaN
        where there is nothing to divide by. ``margin_reported_quoted`` is what was quoted for the same
        jobs as ``margin_earned``: the two are to be compared.
    """
    table = frame(found)
    groups = [
        {by: key, "currency": currency, **_figures(group)}
        for (key, currency), group in table.groupby([by, "currency"], sort=True)
    ]
    return pd.DataFrame(groups, columns=[by, "currency", *FIGURES])


def _figures(group: pd.DataFrame) -> dict[str, float]:
    count = group["outcome"].value_counts()
    won, lost = int(count.get("won", 0)), int(count.get("lost", 0))
    won_jobs = group[group["outcome"] == "won"]
    reported = group[group["actual_cost"].notna()]
    sized = group[group["area_m2"] > 0]
    price = float(group["price"].sum())
    return {
        "quotes": len(group),
        "won": won,
        "lost": lost,
        "open": len(group) - won - lost,
        "won_share": _ratio(won, won + lost),
        "price": price,
        "price_won": float(won_jobs["price"].sum()),
        "margin_quoted": _margin(price, group["cost"]),
        "margin_won": _margin(float(won_jobs["price"].sum()), won_jobs["cost"]),
        "jobs_reported": len(reported),
        "margin_reported_quoted": _margin(float(reported["price"].sum()), reported["cost"]),
        "margin_earned": _margin(float(reported["price"].sum()), reported["actual_cost"]),
        "area_m2": float(sized["area_m2"].sum()),
        "price_per_m2": _ratio(float(sized["price"].sum()), float(sized["area_m2"].sum())),
        **{name: float(group[name].sum()) for name in ("invoiced", "paid", "due")},
    }


def _margin(price: float, cost: "pd.Series[float]") -> float:
    return _ratio(price - float(cost.sum()), price)


def _ratio(part: float, whole: float) -> float:
    return part / whole if whole else float("nan")


def plain(table: pd.DataFrame) -> list[dict[str, object]]:
    """Return the rows as plain values for JSON; None where there is no figure."""
    rows = table.astype(object).where(table.notna(), None).to_dict("records")
    return [{str(k): v.item() if hasattr(v, "item") else v for k, v in row.items()} for row in rows]

"""`battenbook prices check` and `prices import`: what is doubtful in a list; a supplier's prices into it."""

from pathlib import Path
from typing import Annotated, Any

import typer

from estimator.cli.output import Force, Result, Verbs, day, say


def _own(name: str) -> Path:
    """Return where a shipped price list or a path is."""
    from estimator.catalogue.load import DATA, PRICES

    return DATA / PRICES[name] if name in PRICES else Path(name)


def check(
    prices: Annotated[
        str, typer.Argument(metavar="PRICES", help="A price list (CSV), or a shipped one: default, metric.")
    ],
    *,
    date: Annotated[
        str, typer.Option(metavar="YYYY-MM-DD", help="Day the prices are for; today where it is left out.")
    ] = "",
    days: Annotated[int | None, typer.Option(min=0, help="Age from which a price is stale, days.")] = None,
) -> Result:
    """Name every row that cannot be read, is out of date, or costs out of line with its pack."""
    from dataclasses import asdict

    from estimator.catalogue.load import shipped_practice
    from estimator.catalogue.price_list import dated, doubts, read_price_list

    items = read_price_list(_own(prices), prices)
    oldest = shipped_practice().number("price_age_days") if days is None else days
    day_of = day(date)
    old, odd = dated(items, day_of, oldest), doubts(items, prices)
    found = [*(group.problem(prices) for group in old), *odd]
    doubted = {key for group in old for key in group.keys} | {p.where.rpartition(".")[0] for p in odd}
    dates = [item.price_date for item in items]
    return found, {
        "prices": len(items),
        "currency": items[0].currency,
        "suppliers": sorted({item.supplier for item in items}),
        "oldest": min(dates),
        "newest": max(dates),
        "date": day_of,
        "doubtful": len(doubted),
        "dated": [asdict(group) for group in old],
    }


def _show_check(result: dict[str, Any]) -> None:
    dates = f"{result['oldest']} to {result['newest']}"
    say(f"{result['prices']} prices in {result['currency']}, {dates}, {result['doubtful']} doubtful")


def _show_import(result: dict[str, Any]) -> None:
    say(f"{result['supplier']}: {len(result['changes'])} prices changed, {result['kept']} as before")
    for change in result["changes"]:
        moved = change["after"] / change["before"] - 1
        say(f"  {change['key']:<32}{change['before']:>12}{change['after']:>12}{moved:>9.1%}")
    if result["file"]:
        say(f"Wrote {result['file']}.")
    else:
        say("Nothing is written. Write the new list with --write FILE.")


def import_(
    supplier: Annotated[Path, typer.Argument(metavar="FILE", help="The supplier's list, CSV.")],
    *,
    mapping: Annotated[Path, typer.Option(metavar="FILE", help="TOML file that says what its columns mean.")],
    own: Annotated[
        str, typer.Option(metavar="PRICES", help="The shop's list; or a shipped one.")
    ] = "default",
    write: Annotated[Path | None, typer.Option(metavar="FILE", help="Write the new list here.")] = None,
    force: Force = False,
) -> Result:
    """Bring the prices of one supplier up to date by item code."""
    from estimator.catalogue.price_list import read_price_list
    from estimator.catalogue.supplier_list import Mapped, import_prices
    from estimator.core.files import save
    from estimator.intake.files import read_text
    from estimator.job.document import read_document, validated

    mapped = validated(Mapped, read_document(mapping))
    read_price_list(_own(own), own)
    imported = import_prices(
        read_text(_own(own), own), read_text(supplier, str(supplier)), mapped, str(supplier)
    )
    if write is not None:
        save(write, imported.text.encode(), force=force)
        read_price_list(write)
    changes = [{"key": c.key, "before": c.before, "after": c.after} for c in imported.changes]
    file = str(write) if write else None
    return list(imported.problems), {
        "supplier": mapped.supplier,
        "changes": changes,
        "kept": imported.kept,
        "file": file,
    }


VERBS: Verbs = {"check": (check, _show_check), "import": (import_, _show_import)}

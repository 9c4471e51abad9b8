"""`battenbook prices check` and `prices import`: what is doubtful in a list; a supplier's prices into it."""

import datetime as dt
from pathlib import Path
from typing import Annotated, Any

import typer

from estimator.cli.options import Debug, Force, Json
from estimator.cli.output import run, say
from estimator.cli.verbs import Group
from estimator.core.errors import Problem, refuse

Result = tuple[list[Problem], dict[str, Any]]


def _day(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text) if text else dt.datetime.now().astimezone().date()
    except ValueError:
        raise refuse("--date", f"{text!r} is not a date", "Write it like 2026-03-02.") from None


def _own(name: str) -> Path:
    """Return where a shipped price list or a path is."""
    from estimator.catalogue.load import DATA, PRICES

    return DATA / PRICES[name] if name in PRICES else Path(name)


def _check(prices: str, date: str, days: int | None) -> Result:
    from dataclasses import asdict

    from estimator.catalogue.load import shipped_practice
    from estimator.catalogue.price_doubts import dated, doubts
    from estimator.catalogue.price_list import read_price_list

    items = read_price_list(_own(prices), prices)
    oldest = shipped_practice().number("price_age_days") if days is None else days
    day = _day(date)
    old, odd = dated(items, day, oldest), doubts(items, prices)
    found = [*(group.problem(prices) for group in old), *odd]
    doubted = {key for group in old for key in group.keys} | {p.where.rpartition(".")[0] for p in odd}
    dates = [item.price_date for item in items]
    return found, {
        "prices": len(items),
        "currency": items[0].currency,
        "suppliers": sorted({item.supplier for item in items}),
        "oldest": min(dates),
        "newest": max(dates),
        "date": day,
        "doubtful": len(doubted),
        "dated": [asdict(group) for group in old],
    }


def check(
    prices: Annotated[
        str, typer.Argument(metavar="PRICES", help="A price list (CSV), or a shipped one: default, metric.")
    ],
    *,
    date: Annotated[
        str, typer.Option(metavar="YYYY-MM-DD", help="Day the prices are for; today where it is left out.")
    ] = "",
    days: Annotated[int | None, typer.Option(min=0, help="Age from which a price is stale, days.")] = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Name every row that cannot be read, is out of date, or costs out of line with its pack."""

    def show(result: dict[str, Any]) -> None:
        say(f"{result['prices']} prices in {result['currency']}, {result['oldest']} to {result['newest']}, "
            f"{result['doubtful']} doubtful")  # fmt: skip

    run(lambda: _check(prices, date, days), show, as_json=as_json, debug=debug)


def _import(supplier: Path, mapping: Path, own: str, write: Path | None, force: bool) -> Result:
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
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Bring the prices of one supplier up to date by item code."""
    run(lambda: _import(supplier, mapping, own, write, force), _show_import, as_json=as_json, debug=debug)


def register(app: typer.Typer) -> None:
    """Add the verb to the command."""
    prices = typer.Typer(
        cls=Group, help="Check a price list, or bring a supplier's prices into it.", no_args_is_help=True
    )
    prices.command("check")(check)
    prices.command("import")(import_)
    app.add_typer(prices, name="prices")

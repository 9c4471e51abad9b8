"""Verbs that estimate a job: `estimate` and `explain`."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli.output import Force, Job, Keeping, Paper, PriceBy, Result, Templates, Verbs, counted, say

if TYPE_CHECKING:
    from estimator.core.errors import Problem
    from estimator.office.edits import Keep, Side
    from estimator.pipeline import Estimate


def estimated(path: Path, keep: "Keep | None" = None) -> "tuple[Estimate, tuple[Problem, ...]]":
    """Return the estimate of a job file and every warning, edits of the office applied.

    Args:
        path: the job file.
        keep: who is right where job and office changed the same input; nobody refuses.

    Raises:
        InputError: every problem of job and catalogue, every conflict not decided.
    """
    from estimator.office.edits import decided

    found = decided(path, keep or {})
    return found.estimate, found.problems


def keeping(words: "Sequence[str] | None") -> "Keep":
    """Return who is right where job file and office disagree: ``office``, ``job``, or ``KEY=`` one of them.

    Raises:
        BadParameter: neither office nor job.
    """
    sides: dict[str, Side] = {"office": "office", "job": "job"}
    found: dict[str, Side] = {}
    for word in words or ():
        key, _, side = word.rpartition("=")
        if side not in sides:
            raise typer.BadParameter("write office, job, KEY=office or KEY=job", param_hint="--keep")
        found[key] = sides[side]
    return found


def estimate_verb(
    job: Job,
    out: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="Folder for workbook and papers.", show_default=False)
    ],
    paper: Paper = "",
    price_by: PriceBy = "sum",
    templates: Templates = None,
    order_prices: Annotated[
        bool, typer.Option("--order-prices", help="Show expected prices on the order.")
    ] = False,
    pdf: Annotated[
        bool, typer.Option("--pdf/--no-pdf", help="Make a PDF of each paper, with weasyprint or Chromium.")
    ] = False,
    keep: Keeping = None,
    force: Force = False,
) -> Result:
    """Estimate a job: workbook and papers into a folder."""
    from estimator.documents.files import Wishes, write_all
    from estimator.documents.pdf import NOTHING, way
    from estimator.tables.figures import figures

    side = keeping(keep)
    chosen = way() if pdf else None
    result, problems = estimated(job, side)
    wishes = Wishes(paper, price_by, templates, order_prices=order_prices, pdf=chosen)
    files = write_all(result, out, wishes, force=force)
    made = {"files": [str(f) for f in files], "pdf": chosen.name if chosen else None}
    return (*problems, *([NOTHING] if pdf and not chosen else [])), {**figures(result), **made}


def _show_estimate(result: dict[str, Any]) -> None:
    totals, currency = result["totals"], result["currency"]
    say(f"{result['number']}: {counted(len(result['frames']), 'frame')}")
    for key in ("materials", "labour", "cost", "profit", "discount", "rounding", "price", "tax", "total"):
        if totals[key] or key not in {"discount", "rounding"}:
            say(f"  {key:<10}{totals[key]:>14,.2f} {currency}")
    for name, option in result["options"].items():
        say(f"  option {name}: {option['total']:,.2f} {currency} in all")
    for file in result["files"]:
        say(file)
    if result["pdf"]:
        say(f"PDFs made with {result['pdf']}")


def explain_verb(
    job: Job,
    line: Annotated[
        str,
        typer.Argument(
            metavar="LINE|TASK|hours|days|visits|price",
            help="A line's key, or part of it ('list': all keys); a task of labour; or one of these words.",
        ),
    ],
) -> Result:
    """Show where a figure comes from: 'why 14 sticks?', 'why 23 hours?'."""
    from estimator.tables.answers import answered
    from estimator.tables.figures import explained

    result, problems = estimated(job)
    return problems, {"asked": line, **(answered(result, line) or explained(result, line))}


def _show_explained(result: dict[str, Any]) -> None:
    shown = {"tasks": _show_tasks, "price": _show_price, "days": _show_days, "lines": _show_lines}
    show = next(show for key, show in shown.items() if key in result)
    (_show_keys if result["asked"] == "list" else show)(result)


def _show_tasks(result: dict[str, Any]) -> None:
    for row in (r for r in result["tasks"] if r["hours"] or "from" in r):
        hard = f" × {row['difficulty']:g} for difficulty" if row["difficulty"] != 1 else ""
        unit = "" if row["unit"] == "ea" else f" {row['unit']}"
        driven = f"{row['driven_by']} {row['quantity']:,.5g}{unit} × {row['expected']:.2f} min{hard}"
        say(f"{row['hours']:>7,.2f} h  {row['label']} ({row['task']}, {row['stage']}): {driven}")
        if "from" in row:
            three = f"{row['low']:g}, {row['likely']:g} and {row['high']:g} min"
            say(f"           of {three}: (low + 4 likely + high) / 6")
        for place in row.get("from", ()):
            say(f"    {place['source']:<28}{place['quantity']:>12,.3f}")
    say(f"{sum(row['hours'] for row in result['tasks']):>7,.2f} h of one person, in all")


def _show_price(result: dict[str, Any]) -> None:
    for row in result["price"]:
        form = ".1%" if row["key"] == "margin" else ",.2f"
        say(f"{row['amount']:>14{form}}  {row['label']}")


def _show_days(result: dict[str, Any]) -> None:
    for day in result["days"]:
        date = f", {day['date']}" if day["date"] else ""
        say(
            f"day {day['day']}{date}, in the shop"
            if day["stage"] == "shop"
            else f"day {day['day']}{date}, on site"
        )
        for work in day["work"]:
            people = f" by {work['people']}" if work["people"] > 1 else ""
            say(f"    {work['minutes']:>4} min  {work['label']}{people}")
    on_site, trips = counted(result["days_on_site"], "day"), counted(result["trips"], "trip")
    say(f"{on_site} on site, {trips} priced, in {counted(result['returns'], 'stay')}")
    say(f"The longest chain, which no larger crew shortens: {', '.join(result['longest_chain'])}.")


def _show_keys(result: dict[str, Any]) -> None:
    width = max(len(line["key"]) for line in result["lines"])
    for line in result["lines"]:
        say(f"{line['key']:<{width}}  {line['net']:>12,.3f} {line['unit']:<6} {line['description']}")


def _show_lines(result: dict[str, Any]) -> None:
    for line in result["lines"]:
        say(line["key"])
        say(f"  {line['description']}")
        say(f"  rule: {line['rule']}")
        for row in line["trail"]:
            say(f"    {row['source']:<24}{row['what']:<28}{row['quantity']:>12,.3f} {line['unit']}")
        say(f"  net {line['net']:,.3f} {line['unit']}, waste {line['waste']:.1%}, {line['how']}")
        for purchase in line["purchases"]:
            say(f"    buy {purchase['units']:g} × {purchase['item']} = {purchase['cost']:,.2f}")
        for step in line["steps"]:
            say(f"  {step}")


VERBS: Verbs = {"estimate": (estimate_verb, _show_estimate), "explain": (explain_verb, _show_explained)}

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
    for key in ("materials", "labour", "cost", "profit", "price", "tax", "total"):
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
        str, typer.Argument(metavar="LINE", help="A line's key, or part of it; 'list' for all keys.")
    ],
) -> Result:
    """Show where a quantity comes from: 'why 14 sticks?'."""
    from estimator.tables.figures import explained

    result, problems = estimated(job)
    return problems, {"asked": line, **explained(result, line)}


def _show_explained(result: dict[str, Any]) -> None:
    show = _show_keys if result["asked"] == "list" else _show_lines
    show(result)


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

"""The verb that brings the office's changes back from a workbook: `readback`."""

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli.estimate import keeping
from estimator.cli.options import Debug, Json, Keeping
from estimator.cli.output import run, say

if TYPE_CHECKING:
    from estimator.core.errors import Problem
    from estimator.office.returned import Change


def register(app: typer.Typer) -> None:
    """Add the verb to the program."""
    app.command("readback")(readback_verb)


def readback_verb(
    workbook: Annotated[
        Path,
        typer.Argument(metavar="WORKBOOK", help="The workbook as the office saved it.", show_default=False),
    ],
    job: Annotated[
        Path, typer.Option("--job", metavar="JOB", help="The job file it belongs to.", show_default=False)
    ],
    keep: Keeping = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Take the office's changes from a workbook and keep them beside the job for the next estimate."""
    side = keeping(keep)

    def work() -> "tuple[Iterable[Problem], dict[str, Any]]":
        from estimator.office.applied import applied
        from estimator.office.edits import edits_path, save_edits
        from estimator.office.returned import returned

        before = applied(job, side)
        changes, edits, after = returned(before, workbook, side)
        file = edits_path(job)
        if changes or edits or file.exists():
            save_edits(file, edits, before.estimate.job.header.number)
        price = before.estimate.totals.price
        result = {
            "job": before.estimate.job.header.number,
            "currency": before.estimate.job.header.currency,
            "changes": [_plain(c) for c in changes],
            "price_before": price,
            "price_after": after.totals.price,
            "edits": len(edits),
            "files": [str(file)] if file.exists() else [],
        }
        return (*before.warnings, *after.problems), result

    run(work, _show, as_json=as_json, debug=debug)


def _plain(change: "Change") -> dict[str, Any]:
    edit = change.edit
    found = {"key": edit.key, "where": change.where, "was": edit.was, "now": edit.now}
    return {**found, "effect": change.effect}


def _text(value: object) -> str:
    return "empty" if value is None else str(value)


def _show(result: dict[str, Any]) -> None:
    currency = result["currency"]
    if not result["changes"]:
        say(f"{result['job']}: nothing was changed")
    for change in result["changes"]:
        effect = "" if change["effect"] is None else f"  {change['effect']:+,.2f} {currency}"
        say(f"{change['where']}: was {_text(change['was'])}, now {_text(change['now'])}{effect}")
    say(f"price before tax {result['price_before']:,.2f}, now {result['price_after']:,.2f} {currency}")
    for file in result["files"]:
        say(file)

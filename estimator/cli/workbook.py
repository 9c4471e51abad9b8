"""The verb that brings the office's changes back from a workbook: `readback`."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli.estimate import keeping
from estimator.cli.output import Keeping, Result, Verbs, say

if TYPE_CHECKING:
    from estimator.office.returned import Returned


def readback_verb(
    workbook: Annotated[
        Path,
        typer.Argument(metavar="WORKBOOK", help="The workbook as the office saved it.", show_default=False),
    ],
    job: Annotated[
        Path, typer.Option("--job", metavar="JOB", help="The job file it belongs to.", show_default=False)
    ],
    keep: Keeping = None,
    leave: Annotated[
        bool,
        typer.Option(
            "--leave-overwritten",
            help="Go on without figures typed over formulas; they are named, not taken.",
        ),
    ] = False,
) -> Result:
    """Take the office's changes from a workbook and keep them beside the job for the next estimate."""
    from estimator.intake.cells import cells_of
    from estimator.office.edits import applied, edits_path, save_edits
    from estimator.office.returned import returned

    side = keeping(keep)
    filled = cells_of(workbook)  # refused, if at all, before an estimate is worked out
    before, file = applied(job, side), edits_path(job)
    found = returned(before, filled, side, leave=leave)
    number, currency = before.desk.job.header.number, before.desk.job.header.currency
    if found.changes or found.edits or file.exists():
        save_edits(file, found.edits, number)
    files = [str(file)] if file.exists() else []
    said = (*before.desk.warnings, *found.warnings, *found.after.problems)
    return said, {"job": number, "currency": currency, **_plain(found), "files": files}


def _plain(found: "Returned") -> dict[str, Any]:
    before, after = found.before.totals, found.after.totals
    return {
        "changes": [
            {
                "key": one.edit.key,
                "where": one.where,
                "was": one.edit.was,
                "now": one.edit.now,
                "effect": one.effect and one.effect.price,
                "effect_total": one.effect and one.effect.total,
            }
            for one in found.changes
        ],
        "together": {"price": found.together.price, "total": found.together.total},
        "price_before": before.price,
        "price_after": after.price,
        "total_before": before.total,
        "total_after": after.total,
        "edits": len(found.edits),
    }


def _text(value: object) -> str:
    return "empty" if value is None else str(value)


def _moves(price: object, total: object, currency: str) -> str:
    return f"price {price:+,.2f}, total {total:+,.2f} {currency}"


def _show(result: dict[str, Any]) -> None:
    changes, currency = result["changes"], result["currency"]
    if not changes:
        say(f"{result['job']}: nothing was changed")
    for change in changes:
        alone = change["effect"] is not None
        effect = f": {_moves(change['effect'], change['effect_total'], currency)}" if alone else ""
        say(f"{change['where']}: was {_text(change['was'])}, now {_text(change['now'])}{effect}")
    if any(change["effect"] is None for change in changes):
        say(f"{len(changes)} changes are too many to price one by one")
    both = result["together"]
    if len(changes) > 1:
        say(f"together: {_moves(both['price'], both['total'], currency)}")
    for name, key in (("price before tax", "price"), ("total with tax", "total")):
        say(f"{name} {result[f'{key}_before']:,.2f}, now {result[f'{key}_after']:,.2f} {currency}")
    for file in result["files"]:
        say(file)


VERBS: Verbs = {"readback": (readback_verb, _show)}

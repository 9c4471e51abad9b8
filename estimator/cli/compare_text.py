"""How a comparison is printed: what is said differently, and what moved."""

from collections.abc import Mapping, Sequence
from typing import Any

from estimator.cli.archive_text import MISSING, money, percent, plain, short, table
from estimator.cli.output import say

Shown = Mapping[str, Any]
LONGEST = 48


def show_comparison(result: dict[str, Any]) -> None:
    """Print a comparison; parts in which nothing differs are left out."""
    before, after = result["before"], result["after"]
    for head, one in (("Before", before), ("After", after)):
        edits = f", {one['edits']} inputs as the office changed them" if one["edits"] else ""
        say(f"{head}: {plain(one['number'])}, {plain(one['label'])}, {one['date']}{edits}")
    if result["same"]:
        say("Nothing differs.")
        return
    _scope(result["scope"])
    _frames(result["frames"])
    _lines(result["quantities"], result["currency"])
    _moves("Labour, hours", result["labour"])
    _moves(f"Price, {result['currency']}", result["totals"], shares=("margin",))
    _moves(f"Options with tax, {result['currency']}", [m for m in result["options"] if m["change"]])
    _moves("Days", [m for m in result["days"] if m["change"]])
    _sound(result["absorption"])


def _scope(found: Sequence[Shown]) -> None:
    if found:
        say("")
        rows = [[short(d[k], LONGEST) for k in ("where", "was", "now")] for d in found]
        table(["What the job says", "Before", "After"], rows, ())


def _size(frame: Shown | None) -> str:
    if frame is None:
        return MISSING
    cloth = " ".join(plain(frame[k]) for k in ("fabric", "colour") if frame[k])
    return f"{frame['width']} × {frame['height']} × {frame['depth']} {cloth}"


def _frames(found: Sequence[Shown]) -> None:
    if found:
        say("")
        rows = [[f["name"], _size(f["before"]), _size(f["after"])] for f in found]
        table(["Frame", "Before", "After"], rows, ())


def _lines(found: Sequence[Shown], currency: str) -> None:
    if not found:
        return
    say("")
    sides = ("before", "after")
    rows = [
        [short(n["description"], LONGEST), n["unit"], *(f"{n['bought'][k]:,.2f}" for k in sides),
         *(money(n["cost"][k]) for k in sides), f"{n['cost']['change']:+,.2f}"]
        for n in found
    ]  # fmt: skip
    heads = ["Line", "", "Bought", "now", f"Cost {currency}", "now", "Change"]
    table(heads, rows, (2, 3, 4, 5, 6))


def _moves(title: str, moves: Sequence[Shown], shares: Sequence[str] = ()) -> None:
    if not moves:
        return
    say("")
    rows = []
    for m in moves:
        if m["key"] in shares:
            change = f"{100 * m['change']:+.1f}"
            rows.append([plain(m["label"]), percent(m["before"]), percent(m["after"]), change, ""])
        else:
            part = "" if m["share"] is None else f"{100 * m['share']:+.1f} %"
            figures = [money(m["before"]), money(m["after"]), f"{m['change']:+,.2f}"]
            rows.append([short(m["label"], LONGEST), *figures, part])
    table([title, "Before", "After", "Change", ""], rows, (1, 2, 3, 4))


def _sound(octaves: Sequence[Shown]) -> None:
    if not any(o["absorption_m2"]["before"] != o["absorption_m2"]["after"] for o in octaves):
        return
    say("")
    rows = [
        [f"{o['hz']} Hz", *(f"{o['absorption_m2'][k]:.2f}" for k in ("before", "after")),
         *(_span(o["time_s"][k]) for k in ("before", "after"))]
        for o in octaves
    ]  # fmt: skip
    table(["Treated room, estimated", "m² before", "m² after", "s before", "s after"], rows, (1, 2, 3, 4))


def _span(times: Sequence[float | None]) -> str:
    low, high = times
    return MISSING if low is None or high is None else f"{low:.2f}-{high:.2f}"

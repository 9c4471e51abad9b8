"""`battenbook cut`: lengths cut from sticks at the least cost; and what the cutting verbs read alike."""

import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeAlias, TypeVar

import typer

from estimator.cli.output import Force, Result, Verbs, progress_wanted, say
from estimator.core.errors import InputError, Problem, refuse, refuse_all
from estimator.core.units import Display, Nm, format_length, parse_length

if TYPE_CHECKING:
    from estimator.cutting.plans import SheetStock, Stick, StickPiece, StickPlan, StickStock


Progress = Callable[[float], None]
Read = TypeVar("Read")
Unit = Annotated[str, typer.Option(help="Unit of bare numbers in the list.")]
Metric = Annotated[bool, typer.Option("--metric", help="Print millimetres.")]
Out = Annotated[Path | None, typer.Option(metavar="FILE", help="Write the drawn plan (HTML).")]
_WAIT_S = 1.0


class Given:
    """What the user gave, read to the end so that every problem is told at once."""

    def __init__(self) -> None:
        """Begin without a problem."""
        self.problems: list[Problem] = []

    def read(self, read: Callable[[], Read], otherwise: Read) -> Read:
        """Return what `read` returns, and `otherwise` where it refuses; keep its problems."""
        try:
            return read()
        except InputError as error:
            self.problems += error.problems
            return otherwise

    def each(self, read: Callable[[str], Read], texts: Sequence[str]) -> list[Read]:
        """Return what `read` returns of each text it does not refuse; keep its problems."""
        found: list[Read] = []
        for text in texts:
            try:
                found.append(read(text))
            except InputError as error:
                self.problems += error.problems
        return found

    def refuse(self) -> None:
        """Refuse if there was a problem.

        Raises:
            InputError: with every problem kept.
        """
        refuse_all(self.problems)


def length_of(option: str, text: str) -> Nm:
    """Return a length given with an option.

    Raises:
        InputError: it is none.
    """
    try:
        return parse_length(text)
    except ValueError as error:
        raise refuse(option, str(error), "") from None


def display_of(text: str, *, metric: bool) -> Display:
    """Return how lengths are written: metric if asked for, or if `text`, a size given, is."""
    return "metric" if metric or text.rstrip().lower().endswith("m") else "imperial"


def priced(option: str, text: str, what: str, fix: str) -> tuple[str, Decimal, int | None]:
    """Return size, price and how many there are, None for any number, of stock written like ``SIZE=4.38@20``.

    Raises:
        InputError: it is none.
    """
    size, equals, rest = text.partition("=")
    price, at, limit = rest.partition("@")
    if not equals or (at and not (limit.strip().isascii() and limit.strip().isdigit())):
        raise refuse(option, f"{text!r} is not a {what} with a price", fix)
    try:
        amount = Decimal(price.strip())
    except InvalidOperation:
        amount = Decimal("NaN")
    if not amount.is_finite() or amount < 0 or len(price) > 20:  # noqa: PLR2004 - no price is that long
        raise refuse(option, f"{price!r} is not a price", fix)
    return size.strip(), amount, int(limit[:9]) if at else None


def sheet_of(text: str) -> "SheetStock":
    """Return the sheet written like ``48 in x 96 in=31.50``, with ``@12`` where only twelve can be had.

    Raises:
        InputError: it is none.
    """
    from estimator.cutting.plans import SheetStock

    fix = "Write it like '48 in x 96 in=31.50', or '48 in x 96 in=31.50@12' where only 12 can be had."
    size, price, limit = priced("--sheet", text, "size", fix)
    sides = size.replace("×", "x").lower().split("x")
    if len(sides) != 2:  # noqa: PLR2004 - two sides
        raise refuse("--sheet", f"{text!r} is not a size with a price", fix)
    width, height = (length_of("--sheet", side) for side in sides)
    return SheetStock(size, width, height, price, limit)


def measured(display: Display, **lengths: Nm) -> dict[str, Any]:
    """Return each length twice: as a tape reads it, and in whole nanometres under ``NAME_nm``."""
    found: dict[str, Any] = {}
    for name, length in lengths.items():
        found[name] = format_length(length, display)
        found[f"{name}_nm"] = length
    return found


@contextmanager
def progress_bar(label: str) -> Iterator[Progress | None]:
    """Give a function that shows the share of the work done, from one second on; None without a terminal."""
    if not progress_wanted():
        yield None
        return
    import sys

    began, shown = time.monotonic(), False

    def show(share: float) -> None:
        nonlocal shown
        if time.monotonic() - began > _WAIT_S:
            shown = True
            sys.stderr.write(f"\r{label} {share:4.0%}")
            sys.stderr.flush()

    try:
        yield show
    finally:
        if shown:
            sys.stderr.write("\n")


Pieces: TypeAlias = "tuple[list[StickPiece], list[Problem]]"
_BAR = 60
"""Characters of the longest stick when it is printed."""


def stick_of(text: str) -> "StickStock":
    """Return the stick written like ``96 in=4.38``, with ``@20`` where only twenty can be had.

    Raises:
        InputError: it is none.
    """
    from estimator.cutting.plans import StickStock

    fix = "Write it like '96 in=4.38', or '96 in=4.38@20' where only 20 can be had."
    size, price, count = priced("--stock", text, "length", fix)
    return StickStock(size, length_of("--stock", size), price, count)


def _pieces(path: Path, unit: str, longest: Nm) -> "Pieces":
    """Return the pieces, none over the longest usable length; 0 where that is not known."""
    from estimator.cutting.piece_list import STICK_COLUMNS, read_list
    from estimator.cutting.plans import StickPiece

    def unfit(sizes: tuple[Nm, ...]) -> tuple[str, str] | None:
        if not longest or sizes[0] <= longest:
            return None
        most = format_length(longest, "imperial"), format_length(longest, "metric")
        fix = f"The longest usable length is {most[0]} ({most[1]}); splice the piece or add longer stock."
        return "longer than any stick", fix

    listed = read_list(path, STICK_COLUMNS, unit, unfit)
    pieces: list[StickPiece] = []
    for row in listed.rows:
        pieces += [StickPiece(row.name, row.sizes[0])] * row.count
    return pieces, list(listed.warnings)


def _given(
    pieces: Path, stock: list[str], cuts: tuple[str, str], unit: str
) -> "tuple[list[StickStock], tuple[Nm, Nm], Pieces]":
    """Return sticks, saw cut and end trim, and the pieces with their warnings.

    Raises:
        InputError: with every problem of the options and the list.
    """
    given = Given()
    stocks = given.each(stick_of, stock)
    kerf = given.read(lambda: length_of("--kerf", cuts[0]), 0)
    trim = given.read(lambda: length_of("--end-trim", cuts[1]), 0)
    longest = max((one.length - trim for one in stocks), default=0) if len(stocks) == len(stock) else 0
    nothing: Pieces = [], []
    listed = given.read(lambda: _pieces(pieces, unit, longest), nothing)
    given.refuse()
    return stocks, (kerf, trim), listed


def _stick(number: int, stick: "Stick", display: Display) -> dict[str, Any]:
    return {
        "number": number,
        **measured(display, stock=stick.stock.length),
        "price": stick.stock.price,
        "pieces": [{"name": p.name, **measured(display, length=p.length)} for p in stick.pieces],
        **measured(display, offcut=stick.offcut),
    }


def _buy(plan: "StickPlan", display: Display) -> list[dict[str, Any]]:
    """Return what to buy: each stock with its count and cost."""
    counts: dict[StickStock, int] = {}
    for stick in plan.sticks:
        counts[stick.stock] = counts.get(stick.stock, 0) + 1
    return [
        {**measured(display, stock=s.length), "price": s.price, "count": n, "cost": s.price * n}
        for s, n in counts.items()
    ]


def _facts(result: dict[str, Any]) -> list[tuple[str, str]]:
    buy = ", ".join(f"{row['count']} × {row['stock']} at {row['price']}" for row in result["buy"])
    proof = "the least possible" if result["proven"] else f"no plan costs less than {result['bound']}"
    return [
        ("Sticks", f"{result['sticks']}: {buy}" if buy else "0"),
        ("Cost", f"{result['cost']} ({proof})"),
        ("Pieces", str(sum(len(stick["pieces"]) for stick in result["plan"]))),
        ("Patterns", str(result["patterns"])),
        ("Saw cut", result["kerf"]),
        ("End trim", result["end_trim"]),
        ("Found by", result["method"]),
    ]


def _draw(out: Path, plan: "StickPlan", result: dict[str, Any], display: Display, *, force: bool) -> None:
    from estimator.core.files import save
    from estimator.documents.cutting_drawings import bars, cutting_page

    page = cutting_page("Cutting plan of sticks", _facts(result), bars(plan, display))
    save(out, page.encode(), force=force)


def _bar(stick: dict[str, Any], longest: int) -> str:
    """Return a stick as a line of characters: ``[=====|===|..]``, dots for what is left over."""
    size = max(1, round(_BAR * stick["stock_nm"] / longest))
    left = round(size * stick["offcut_nm"] / stick["stock_nm"])
    used = sum(piece["length_nm"] for piece in stick["pieces"])
    marks, along, drawn = "", 0, 0
    for piece in stick["pieces"]:
        along += piece["length_nm"]
        end = round((size - left) * along / used)
        marks += "=" * max(1, end - drawn - 1) + "|"
        drawn = end
    return f"[{marks}{'.' * left}]"


def _show(result: dict[str, Any]) -> None:
    for name, value in _facts(result):
        say(f"{name + ':':<10}{value}")
    longest = max((stick["stock_nm"] for stick in result["plan"]), default=1)
    groups: list[tuple[dict[str, Any], int]] = []
    for stick in result["plan"]:
        if groups and _alike(groups[-1][0], stick):
            groups[-1] = (groups[-1][0], groups[-1][1] + 1)
        else:
            groups.append((stick, 1))
    for stick, count in groups:
        say("")
        say(f"{count} × {stick['stock']}  {_bar(stick, longest)}  {stick['offcut']} left over")
        say("    " + " | ".join(f"{piece['name']} {piece['length']}" for piece in stick["pieces"]))
    if result["file"]:
        say("")
        say(f"Drawn in {result['file']}")


def _alike(one: dict[str, Any], other: dict[str, Any]) -> bool:
    return all(one[key] == other[key] for key in ("stock_nm", "price", "pieces"))


def cut(
    pieces: Annotated[Path, typer.Argument(metavar="FILE", help="CSV with the columns length, count, name.")],
    stock: Annotated[
        list[str], typer.Option(help="Length and price, like '96 in=4.38' or '96 in=4.38@20'; repeat.")
    ],
    kerf: Annotated[str, typer.Option(help="Width of the saw cut.")] = "0 in",
    end_trim: Annotated[str, typer.Option(help="Cut off each stick first.")] = "0 in",
    unit: Unit = "",
    metric: Metric = False,
    out: Out = None,
    force: Force = False,
) -> Result:
    """Cut lengths from sticks at the least cost, with the bound that says how far from perfect it is."""
    from estimator.cutting.sticks.plan import plan_sticks
    from estimator.cutting.verify.sticks import verify_sticks

    stocks, (width, trim), (wanted, warnings) = _given(pieces, stock, (kerf, end_trim), unit)
    with progress_bar("cutting") as progress:
        plan = plan_sticks(wanted, stocks, width, trim, progress)
    faults = verify_sticks(plan, wanted, stocks, width, trim)
    if faults:
        raise RuntimeError(f"the plan does not verify: {faults[0]}")
    display = display_of(stock[0].partition("=")[0], metric=metric)
    result = {
        "cost": plan.cost,
        "sticks": len(plan.sticks),
        "bound": plan.bound,
        "proven": plan.proven,
        "patterns": plan.patterns,
        "method": plan.method,
        "verified": True,
        **measured(display, kerf=width, end_trim=trim),
        "buy": _buy(plan, display),
        "plan": [_stick(number, stick, display) for number, stick in enumerate(plan.sticks, 1)],
        "file": str(out) if out else None,
    }
    if out:
        _draw(out, plan, result, display, force=force)
    return warnings, result


VERBS: Verbs = {"cut": (cut, _show)}

"""`battenbook cut`: lengths cut from sticks at the least cost; and what the cutting verbs read alike."""

import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from decimal import Decimal, InvalidOperation
from itertools import chain, groupby
from pathlib import Path
from typing import Annotated, Any, TypeVar

import typer

from estimator.cli.output import Force, Result, Show, Verbs, progress_wanted, say
from estimator.core.errors import InputError, Problem, refuse, refuse_all
from estimator.core.units import Display, Nm, format_length, parse_length
from estimator.cutting.piece_list import STICK_COLUMNS, PieceList, read_list
from estimator.cutting.plans import SheetStock, Stick, StickPiece, StickPlan, StickStock

Progress = Callable[[float], None]
Facts = list[tuple[str, str]]
Unfit = Callable[[tuple[Nm, ...]], tuple[str, str] | None]
Plan = TypeVar("Plan")
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

    def pieces(
        self,
        make: Callable[..., Read],
        path: Path,
        columns: Sequence[str],
        unit: str,
        unfit: Unfit = lambda _: None,
    ) -> tuple[list[Read], Sequence[Problem]]:
        """Return the pieces of the list at `path`, each made of its name and sizes, and the warnings.

        Raises:
            InputError: with every problem kept, and those of the list.
        """
        listed = self.read(lambda: read_list(path, columns, unit, unfit), PieceList(()))
        refuse_all(self.problems)
        return [make(row.name, *row.sizes) for row in listed.rows for _ in range(row.count)], listed.warnings


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


def sheet_of(text: str) -> SheetStock:
    """Return the sheet written like ``48 in x 96 in=31.50``, with ``@12`` where only twelve can be had.

    Raises:
        InputError: it is none.
    """
    fix = "Write it like '48 in x 96 in=31.50', or '48 in x 96 in=31.50@12' where only 12 can be had."
    size, price, limit = priced("--sheet", text, "size", fix)
    sides = size.replace("×", "x").lower().split("x")
    if len(sides) != 2:  # noqa: PLR2004 - two sides
        raise refuse("--sheet", f"{text!r} is not a size with a price", fix)
    width, height = (length_of("--sheet", side) for side in sides)
    return SheetStock(size, width, height, price, limit)


def measured(display: Display, **lengths: Nm) -> dict[str, Any]:
    """Return each length twice: as a tape reads it, and in whole nanometres under ``NAME_nm``."""
    pairs = (((n, format_length(nm, display)), (f"{n}_nm", nm)) for n, nm in lengths.items())
    return dict(chain.from_iterable(pairs))


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


def made(
    label: str, plan: Callable[..., Plan], verify: Callable[..., Sequence[Problem]], *given: object
) -> Plan:
    """Return the plan of what was given, made with progress under `label`, and verified.

    Raises:
        InputError: it cannot be cut.
        RuntimeError: the plan does not verify.
    """
    with progress_bar(label) as progress:
        found = plan(*given, progress)
    faults = verify(found, *given)
    if faults:
        raise RuntimeError(f"the plan does not verify: {faults[0]}")
    return found


def draw(out: Path, title: str, facts: Facts, drawings: Sequence[tuple[str, str]], *, force: bool) -> None:
    """Write the page of a drawn plan."""
    from estimator.core.files import save
    from estimator.documents.cutting_drawings import cutting_page

    save(out, cutting_page(title, facts, drawings).encode(), force=force)


def shown(facts: Callable[[dict[str, Any]], Facts], rows: Callable[[dict[str, Any]], Iterable[str]]) -> Show:
    """Return what prints a plan: its facts, its rows, and where it is drawn."""

    def show(result: dict[str, Any]) -> None:
        for name, value in facts(result):
            say(f"{name + ':':<10}{value}")
        for row in (*rows(result), *(("", f"Drawn in {result['file']}") if result["file"] else ())):
            say(row)

    return show


def proof(result: dict[str, Any], otherwise: str = "no plan costs less than") -> str:
    """Return how far from perfect a plan is, in words."""
    return "the least possible" if result["proven"] else f"{otherwise} {result['bound']}"


def stick_of(text: str) -> StickStock:
    """Return the stick written like ``96 in=4.38``, with ``@20`` where only twenty can be had.

    Raises:
        InputError: it is none.
    """
    fix = "Write it like '96 in=4.38', or '96 in=4.38@20' where only 20 can be had."
    size, price, count = priced("--stock", text, "length", fix)
    return StickStock(size, length_of("--stock", size), price, count)


def _too_long(longest: Nm) -> Unfit:
    """Return what tells of pieces over the longest usable length; of none where that is 0, not known."""

    def unfit(sizes: tuple[Nm, ...]) -> tuple[str, str] | None:
        if not longest or sizes[0] <= longest:
            return None
        most = format_length(longest, "imperial"), format_length(longest, "metric")
        fix = f"The longest usable length is {most[0]} ({most[1]}); splice the piece or add longer stock."
        return "longer than any stick", fix

    return unfit


def _stick(number: int, stick: Stick, display: Display) -> dict[str, Any]:
    return {
        "number": number,
        **measured(display, stock=stick.stock.length),
        "price": stick.stock.price,
        "pieces": [{"name": p.name, **measured(display, length=p.length)} for p in stick.pieces],
        **measured(display, offcut=stick.offcut),
    }


def _buy(plan: StickPlan, display: Display) -> list[dict[str, Any]]:
    """Return what to buy: each stock with its count and cost."""
    return [
        {**measured(display, stock=s.length), "price": s.price, "count": n, "cost": s.price * n}
        for s, n in Counter(stick.stock for stick in plan.sticks).items()
    ]


def _facts(result: dict[str, Any]) -> Facts:
    buy = ", ".join(f"{row['count']} × {row['stock']} at {row['price']}" for row in result["buy"])
    return [
        ("Sticks", f"{result['sticks']}: {buy}" if buy else "0"),
        ("Cost", f"{result['cost']} ({proof(result)})"),
        ("Pieces", str(sum(len(stick["pieces"]) for stick in result["plan"]))),
        ("Patterns", str(result["patterns"])),
        ("Saw cut", result["kerf"]),
        ("End trim", result["end_trim"]),
        ("Found by", result["method"]),
    ]


def _rows(result: dict[str, Any]) -> Iterator[str]:
    """Yield two lines for each group of sticks that follow each other and are cut alike."""
    groups = groupby(
        result["plan"], key=lambda stick: [stick[k] for k in ("stock", "offcut", "price", "pieces")]
    )
    for (stock, offcut, _, pieces), alike in groups:
        yield ""
        yield f"{len(list(alike))} × {stock}, {offcut} left over"
        yield "    " + " | ".join(f"{piece['name']} {piece['length']}" for piece in pieces)


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
    from estimator.documents.cutting_drawings import bars

    given = Given()
    stocks = given.each(stick_of, stock)
    width = given.read(lambda: length_of("--kerf", kerf), 0)
    trim = given.read(lambda: length_of("--end-trim", end_trim), 0)
    longest = max((one.length - trim for one in stocks), default=0) if len(stocks) == len(stock) else 0
    wanted, warnings = given.pieces(StickPiece, pieces, STICK_COLUMNS, unit, _too_long(longest))
    plan = made("cutting", plan_sticks, verify_sticks, wanted, stocks, width, trim)
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
        draw(out, "Cutting plan of sticks", _facts(result), bars(plan, display), force=force)
    return warnings, result


VERBS: Verbs = {"cut": (cut, shown(_facts, _rows))}

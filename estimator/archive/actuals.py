"""What a job really took, read from a file: hours by task, cost by section.

JSON: ``{"hours": {"Cut and assemble": 6.5}, "costs": {"materials": 1300.00}}``.
CSV: a header ``kind,name,amount`` and rows such as ``hours,Cut and assemble,6.5`` or ``cost,materials,1300``.
"""

from collections.abc import Iterator
from decimal import Decimal, InvalidOperation
from pathlib import Path

from estimator.archive import files
from estimator.archive.events import Spent
from estimator.core.errors import Problem, refuse, refuse_all
from estimator.intake.files import text_of
from estimator.intake.structured import read_json, records

KINDS = {"hours": "hours", "hour": "hours", "cost": "costs", "costs": "costs"}
LARGEST = Decimal(10) ** 9
Row = tuple[str, str, str, object]


def load(path: Path) -> Spent:
    """Return the hours and costs in the file at `path`, which ends in .json or .csv.

    Raises:
        InputError: it cannot be read, or a row is no hours or cost of a name; every such row is named.
    """
    file, text = str(path), text_of(files.read_bytes(path), str(path))
    rows = list(_json_rows(text, file) if path.suffix.lower() == ".json" else _csv_rows(text, file))
    problems: list[Problem] = []
    read = [_amount(row, str(path), problems) for row in rows]
    if not rows:
        problems.append(Problem(str(path), "holds no hours and no cost", "Write one row at least."))
    refuse_all(problems)
    pairs = {kind: tuple((n, a) for k, n, a in read if k == kind) for kind in ("hours", "costs")}
    return Spent(pairs["hours"], pairs["costs"])


def _json_rows(text: str, file: str) -> Iterator[Row]:
    body = read_json(text, file, number=Decimal)
    if not isinstance(body, dict) or not all(isinstance(named, dict) for named in body.values()):
        raise refuse(file, "is not made of `hours` and `costs` by name", "Write each as an object.")
    for kind, named in body.items():
        for name, amount in named.items():
            yield f"{kind}.{name}", kind, name, amount


def _csv_rows(text: str, file: str) -> Iterator[Row]:
    for line, row in records(text, file, ("kind", "name", "amount")):
        yield f"row {line}", row["kind"], row["name"], row["amount"]


def _amount(row: Row, file: str, problems: list[Problem]) -> tuple[str, str, Decimal]:
    where, kind, name, value = row
    amount = Decimal(-1)
    if isinstance(value, str | int | Decimal) and not isinstance(value, bool):
        try:
            amount = Decimal(value)
        except InvalidOperation:
            amount = Decimal(-1)
    if not amount.is_finite() or not 0 <= amount <= LARGEST:
        problems.append(
            Problem(where, f"{value!r} is no amount", "Write a plain number, not negative.", file=file)
        )
    if kind.strip().lower() not in KINDS or not name.strip():
        problems.append(
            Problem(where, f"{kind!r} {name!r} is not known", "Write hours or cost, and a name.", file=file)
        )
    return KINDS.get(kind.strip().lower(), ""), name.strip(), amount

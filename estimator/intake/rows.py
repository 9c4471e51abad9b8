"""CSV from outside: rows as a spreadsheet program saves them, with the line each stands on."""

import csv
import io
from collections.abc import Iterator, Sequence

from estimator.core.errors import InputError, Problem

DELIMITERS = ",;\t"


def rows(text: str, file: str, delimiter: str = "") -> Iterator[tuple[int, list[str]]]:
    """Yield the rows that hold anything, white space round the cells left out, with the line each ends on.

    Args:
        text: of the file.
        file: its name in messages.
        delimiter: what stands between cells; left out, what the first row that holds anything has most of.

    Raises:
        InputError: a row that cannot be read, such as one with a quotation mark too few.
    """
    first = next((line for line in text.splitlines() if line.strip()), "")
    between = delimiter or max(DELIMITERS, key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=between, strict=True, skipinitialspace=True)
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                yield reader.line_num, [cell.strip() for cell in row]
    except csv.Error as error:
        what = f"this row cannot be read as CSV: {error}"
        fix = "Save the sheet as CSV, UTF-8."
        raise InputError([Problem("row", what, fix, file=file, line=reader.line_num)]) from None


def records(
    text: str, file: str, columns: Sequence[str], delimiter: str = ""
) -> Iterator[tuple[int, dict[str, str]]]:
    """Yield the rows below the heading by their headings, cells that are missing as ''; as `rows`.

    Raises:
        InputError: the heading lacks one of the `columns`, or as `rows`.
    """
    found = rows(text, file, delimiter)
    line, heading = next(found, (1, []))
    if missing := [c for c in columns if c not in heading]:
        what = f"the heading lacks {', '.join(missing)}"
        known = f"It has {', '.join(map(repr, heading)) or 'none'}; wanted: {', '.join(columns)}."
        raise InputError([Problem("heading", what, known, file=file, line=line)])
    for number, row in found:
        yield number, dict(zip(heading, [*row, *[""] * len(heading)], strict=False))

"""A labour file with new rates in it, its comments and everything else as they were."""

import re
from collections.abc import Iterator, Mapping
from decimal import Decimal

from estimator.catalogue.labour import LEARNED, LabourBook, Task
from estimator.job.lines import key_lines
from estimator.labour.learning import Learned
from estimator.labour.tasks import MINUTES

POINTS = ("low", "likely", "high")
LONGEST_SOURCE = 120
_LINE = re.compile(r"""(?P<head>\s*\w+\s*=\s*)(?P<value>"(?:\\.|[^"\\])*"|'[^']*'|[^\s#]+)(?P<rest>.*)""")


def with_rates(text: str, book: LabourBook, rates: Mapping[str, Learned]) -> str:
    """Return the text of a labour file with the three points and the sources of `rates` in it.

    The three points keep their shape: each is multiplied by new / old.

    Args:
        text: the file that `book` was read from, one key a line.
        book: its tasks.
        rates: what was learned, by task.

    Raises:
        ValueError: a rate does not stand on a line of its own.
    """
    places = key_lines(text)
    lines = text.splitlines(keepends=True)
    for task, key, value in _changes(book, rates):
        number = places[("task", task, key)] - 1
        found = _LINE.fullmatch(lines[number].rstrip("\r\n"))
        if found is None or found["head"].split("=")[0].strip() != key:
            raise ValueError(f"{key} of task {book.tasks[task].key!r} does not stand on a line of its own")
        ending = lines[number][len(lines[number].rstrip("\r\n")) :]
        lines[number] = found["head"] + value + found["rest"] + ending
    return "".join(lines)


def _changes(book: LabourBook, rates: Mapping[str, Learned]) -> Iterator[tuple[int, str, str]]:
    for n, task in enumerate(book.tasks):
        if task.key in rates:
            rate = rates[task.key]
            for point, minutes in zip(POINTS, _points(task, rate), strict=True):
                yield n, point, f"{minutes.quantize(Decimal('0.001')).normalize():f}"
            yield n, "source", f'"{_source(task, rate)}"'


def _points(task: Task, rate: Learned) -> tuple[Decimal, ...]:
    if not rate.old:
        return (rate.new * MINUTES,) * 3
    return tuple(getattr(task, point) * rate.new / rate.old for point in POINTS)


def _source(task: Task, rate: Learned) -> str:
    """Return where the rate comes from now, as it may stand in a TOML string."""
    before = task.source.rpartition("before that: ")[2][:LONGEST_SOURCE]
    plain = before.replace("\\", "\\\\").replace('"', '\\"')
    jobs = "1 job" if rate.jobs == 1 else f"{rate.jobs} jobs"
    return f"{LEARNED} {jobs}; before that: {plain}"

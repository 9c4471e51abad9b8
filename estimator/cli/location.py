"""A stage's problems told with the line of the job file they are about."""

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from estimator.core.errors import InputError, Problem

Place = Callable[[Iterable[Problem]], tuple[Problem, ...]]


@contextmanager
def at_lines(path: Path) -> Iterator[Place]:
    """Give a function that puts file and line to problems; a refusal inside the block gets them too.

    Args:
        path: the job file, which has been read before.

    Yields:
        The function.

    Raises:
        InputError: the block's own refusal, its problems with file and line.
    """
    from estimator.job.document import read_document
    from estimator.job.location import located

    def place(problems: Iterable[Problem]) -> tuple[Problem, ...]:
        return located(problems, document)

    document = read_document(path)
    try:
        yield place
    except InputError as error:
        raise InputError(place(error.problems)) from None

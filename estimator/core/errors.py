"""Problems: what is wrong, where, and what would be right; and the exceptions that carry them.

A stage that can refuse collects every `Problem` and raises one `BattenbookError`; a warning is a
`Problem` of severity 'warning' that travels with the result and appears in every output.
"""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import ClassVar, Literal

from estimator.core.characters import LONGEST_SHOWN, escaped

MOST_PROBLEMS = 500
LONGEST_ADVICE = 600
Severity = Literal["error", "warning", "caution"]


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing wrong, or one thing to watch; what is echoed of a file is shortened and made visible here.

    Attributes:
        where: the key path, frame, row or argument concerned, such as ``wall[2].opening[0].width``.
        what: what is wrong, in plain words.
        fix: what would be right.
        file: the file's name as given by the user, '' where there is none.
        line: line in that file, from 1; 0 where it is not known.
        severity: 'error' refuses, 'warning' is shown with the result, 'caution' is a hazard.
    """

    where: str
    what: str
    fix: str
    file: str = ""
    line: int = 0
    severity: Severity = "error"

    def __post_init__(self) -> None:
        """Bound what is shown: a refusal echoes what was read, a warning or caution is our own words."""
        refusal = self.severity == "error"
        object.__setattr__(self, "where", escaped(self.where, LONGEST_ADVICE))
        object.__setattr__(self, "what", escaped(self.what, LONGEST_SHOWN if refusal else LONGEST_ADVICE))
        object.__setattr__(self, "fix", escaped(self.fix, LONGEST_ADVICE))

    def __str__(self) -> str:
        """Return ``file:line: where: what. fix`` without the parts that are not known."""
        place = ":".join(p for p in (self.file, str(self.line) if self.line else "") if p)
        head = f"{place}: {self.where}" if place else self.where
        fix = f" {self.fix}" if self.fix else ""
        return f"{head}: {self.what.rstrip('.')}.{fix}"

    def as_dict(self) -> dict[str, str | int]:
        """Return the problem as the JSON object that ``--json`` prints."""
        return asdict(self)


class BattenbookError(Exception):
    """A refusal with every problem found; `exit_code` is what the program ends with."""

    exit_code: ClassVar[int] = 1

    def __init__(self, problems: Iterable[Problem]) -> None:
        found = tuple(problems)
        more = Problem("more", f"{len(found) - MOST_PROBLEMS:,} problems are not shown", "Mend these first.")
        self.problems = (*found[:MOST_PROBLEMS], more) if len(found) > MOST_PROBLEMS else found
        super().__init__("\n".join(map(str, self.problems)))


class InputError(BattenbookError):
    """The job, the catalogue or a list given by the user has problems (exit 3)."""

    exit_code = 3


class OutputError(BattenbookError):
    """The output could not be written, or does not recalculate (exit 4)."""

    exit_code = 4


class ArchiveError(BattenbookError):
    """The archive does not verify (exit 5)."""

    exit_code = 5


def refuse(where: str, what: str, fix: str = "") -> InputError:
    """Return an `InputError` of a single problem, to be raised by the caller."""
    return InputError([Problem(where, what, fix)])


def refuse_all(problems: Iterable[Problem]) -> None:
    """Refuse where there is any problem.

    Raises:
        InputError: with all of them.
    """
    found = tuple(problems)
    if found:
        raise InputError(found)

"""The slowest tests, in processor time, set-up and child processes with them.

Run ``python -m tests.benchmarks.slowest`` for the whole suite, or with tests or folders to see theirs; with
``--write`` for the whole suite into docs/validation/slowest-tests.md. One process, so that nothing is
worked out twice; a session works out a cutting plan once, which counts for the test that asks first.
"""

import resource
import sys
from collections.abc import Generator

import pytest

from tests.benchmarks.page_part import DOCS

PAGE = DOCS / "validation" / "slowest-tests.md"
ALL = ("-m", "slow or not slow")
LISTED = 20


def processor_s() -> float:
    """Return the processor time of this process and its children so far, seconds."""
    spent = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(one.ru_utime + one.ru_stime for one in spent)


class Spent:
    """Collects what each test takes."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}
        self.slow: set[str] = set()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, object, object]:
        begun = processor_s()
        done = yield
        self.seconds[item.nodeid] = processor_s() - begun
        if item.get_closest_marker("slow"):
            self.slow.add(item.nodeid)
        return done


def page(spent: Spent) -> str:
    """Return the page: totals, and the slowest tests."""
    whole, marked = sum(spent.seconds.values()), sum(spent.seconds[name] for name in spent.slow)
    rows = sorted(spent.seconds.items(), key=lambda row: -row[1])[:LISTED]
    lines = [
        "# The slowest tests",
        "",
        "Written by `python -m tests.benchmarks.slowest --write`: processor time of one process and its",
        "children, set-up included. Tests marked `slow` run only where they are asked for, and always in",
        "`.ci/run`.",
        "",
        f"{len(spent.seconds):,} tests, {whole:.0f} s; {len(spent.slow)} marked `slow`, {marked:.0f} s.",
        "",
        "| test | s | slow |",
        "| --- | ---: | --- |",
        *(f"| `{name}` | {taken:.1f} | {'slow' if name in spent.slow else ''} |" for name, taken in rows),
    ]
    return "\n".join(lines) + "\n"


def main(words: list[str]) -> int:
    """Run the tests named, or all; print or write the page."""
    spent, named = Spent(), [word for word in words if word != "--write"]
    code = pytest.main(["-q", "-p", "no:cacheprovider", *ALL, *named], plugins=[spent])
    text = page(spent)
    if "--write" in words:
        PAGE.write_text(text, encoding="utf-8")
    else:
        sys.stdout.write(text)
    return int(code)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

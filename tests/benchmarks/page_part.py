"""A part of a page between two marks, which a command writes and a test holds against what it would write."""

from pathlib import Path

DOCS = Path(__file__).parents[2] / "docs"


def marks(name: str) -> tuple[str, str]:
    """Return the marks of a part."""
    return f"<!-- {name}: start -->\n", f"<!-- {name}: end -->"


def part_of(page: Path, name: str) -> str:
    """Return what stands between the marks."""
    start, end = marks(name)
    return page.read_text(encoding="utf-8").partition(start)[2].partition(end)[0]


def write_part(page: Path, name: str, text: str) -> None:
    """Put text between the marks."""
    start, end = marks(name)
    head, _, rest = page.read_text(encoding="utf-8").partition(start)
    page.write_text(f"{head}{start}{text}{end}{rest.partition(end)[2]}", encoding="utf-8")

"""The text of the smallest example's papers, word for word.

Where a figure or a sentence is meant to change, run this file with BATTENBOOK_GOLDEN=write set, read the
difference, and say in the commit why each line moved.
"""

import os
from pathlib import Path

import pytest

from tests.documents.made import pages, text_of

GOLDEN = Path(__file__).parent / "golden"
KINDS = sorted(path.stem.removeprefix("one_panel_") for path in GOLDEN.glob("one_panel_*.txt"))
"""The papers whose text is kept; an empty file is the beginning of another."""


@pytest.mark.parametrize("kind", KINDS)
def test_the_text_is_as_it_was_read(kind: str) -> None:
    text = text_of(pages("one_panel")[kind]) + "\n"
    path = GOLDEN / f"one_panel_{kind}.txt"
    if os.environ.get("BATTENBOOK_GOLDEN") == "write":
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    assert text.splitlines() == path.read_text(encoding="utf-8").splitlines()

"""Two workbooks compared part by part; the first part that differs is shown like a diff.

``python -m tests.workbook.parts`` writes the golden workbook anew; its commit says why each number moved.
"""

import difflib
import io
import re
import zipfile
from pathlib import Path
from xml.etree.ElementTree import canonicalize

GOLDEN = Path(__file__).parents[1] / "golden" / "invented.xlsx"
NEVER_COMPARED = {"docProps/app.xml"}
"""Names the version of the library that wrote it."""


def _parts(raw: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(raw)) as file:
        return {name: file.read(name) for name in file.namelist() if name not in NEVER_COMPARED}


def _lines(part: bytes) -> list[str]:
    """Return XML as lines, one an element, however its writer spelled it."""
    return re.sub(r">(?=<[^/])", ">\n", canonicalize(part.decode())).split("\n")


def difference(old: bytes, new: bytes) -> str:
    """Return '' for workbooks alike, else what is missing, added, or the first differing part as a diff."""
    before, after = _parts(old), _parts(new)
    if before.keys() != after.keys():
        gone, come = sorted(before.keys() - after.keys()), sorted(after.keys() - before.keys())
        return f"parts gone: {gone}; parts added: {come}"
    for name in sorted(before):
        a, b = _lines(before[name]), _lines(after[name])
        if a != b:
            return "\n".join(difflib.unified_diff(a, b, f"old {name}", f"new {name}", n=1, lineterm=""))
    return ""


if __name__ == "__main__":
    from estimator.workbook.build import workbook_bytes
    from tests.workbook.books import everything

    GOLDEN.write_bytes(workbook_bytes(everything(), {"job_id": "DEMO-1", "date": "2026-11-25"}, "a4"))

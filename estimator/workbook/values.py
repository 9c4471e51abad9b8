"""The finishing pass: results beside formulas, relative links, fixed dates: the same bytes twice.

A formula without its result shows as blank in previewers and in whatever reads the file without a
spreadsheet program. Source of the cell's form: ISO/IEC 29500-1, 18.3.1.4 (c) and 18.3.1.96 (v).
"""

import datetime as dt
import io
import posixpath
import re
import zipfile
from collections.abc import Mapping
from decimal import Decimal
from xml.sax.saxutils import escape

from estimator.calc.expressions import Value
from estimator.workbook.texts import escaped
from estimator.workbook.validation import serial

Results = Mapping[str, Value | bool]
ZIP_DATE = (1980, 1, 1, 0, 0, 0)
_CELL = re.compile(r'<c r="([A-Z]+[0-9]+)"([^>]*)><f>(.*?)</f><v\s*(?:/>|></v>)</c>', re.DOTALL)
_TARGET = re.compile(r'Target="(/[^"]*)"')
_STAMP = re.compile(r"(<dcterms:(created|modified)[^>]*>)[^<]*(</dcterms:\2>)")


def _cached(value: Value | bool) -> tuple[str, str]:  # noqa: FBT001 - a cell's value
    if value is None:
        return "", "0"
    if isinstance(value, bool):
        return ' t="b"', str(int(value))
    if isinstance(value, str):
        return ' t="str"', escape(escaped(value))
    if isinstance(value, dt.date):
        return "", str(serial(value))
    if value == value.to_integral_value() and abs(value) < Decimal(2**53):
        return "", str(int(value))
    return "", repr(float(value))


def with_results(xml: str, results: Results) -> str:
    """Return a sheet's XML with the result of every formula in its cell.

    Raises:
        KeyError: a formula without a result.
    """

    def fill(match: re.Match[str]) -> str:
        address, attributes, formula = match.groups()
        kind, value = _cached(results[address])
        return f'<c r="{address}"{attributes}{kind}><f>{formula}</f><v>{value}</v></c>'

    return _CELL.sub(fill, xml)


def _relative(name: str, xml: str) -> str:
    base = posixpath.dirname(posixpath.dirname(name)) or "."
    return _TARGET.sub(lambda m: f'Target="{posixpath.relpath(m[1].lstrip("/"), base)}"', xml)


def finished(raw: bytes, results: Mapping[str, Results], stamp: str) -> bytes:
    """Return the workbook `raw` with every formula's result, and nothing that differs between two runs.

    Args:
        raw: the file as openpyxl wrote it.
        results: by part name (``xl/worksheets/sheet1.xml``), what each formula cell shows.
        stamp: date and time to note as made, ``2026-01-31T00:00:00Z``.
    """
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(raw)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            part = old.read(name)
            if name in results:
                part = with_results(part.decode(), results[name]).encode()
            elif name.endswith(".rels"):
                part = _relative(name, part.decode()).encode()
            elif name == "docProps/core.xml":
                part = _STAMP.sub(rf"\g<1>{stamp}\g<3>", part.decode()).encode()
            info = zipfile.ZipInfo(name, ZIP_DATE)
            info.compress_type, info.create_system, info.external_attr = zipfile.ZIP_DEFLATED, 0, 0
            new.writestr(info, part, compresslevel=6)
    return out.getvalue()

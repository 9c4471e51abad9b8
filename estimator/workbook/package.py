"""Open a workbook that came from outside: what is in it is checked before anything is read.

Source: ISO/IEC 29500-2 (a package is a ZIP file of parts; no DTD in any XML part).
"""

import io
import lzma
import re
import zipfile
import zlib
from pathlib import Path

from estimator.core.errors import InputError, Problem

LARGEST_FILE = 20 * 2**20
LARGEST_EXPANDED = 48 * 2**20
MOST_PARTS = 1000
_OLD = b"\xd0\xcf\x11\xe0"
_MACRO = re.compile(r"vbaProject|macrosheets|dialogsheets|activeX", re.IGNORECASE)
_DTD = re.compile(rb"<!\s*(DOCTYPE|ENTITY)", re.IGNORECASE)
_UTF8 = re.compile(rb"^(\xef\xbb\xbf)?\s*<")
_OTHER_CODE = re.compile(rb"^[^>]*encoding\s*=\s*[\"'](?!utf-?8|us-ascii)", re.IGNORECASE)
_DAMAGE = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, NotImplementedError, EOFError, RuntimeError,
    ValueError, OSError,
)  # fmt: skip
ASK = "Ask for the workbook anew, saved as .xlsx by the program it was made with."


def _named(path: Path, what: str, fix: str = ASK) -> InputError:
    return InputError([Problem(path.name, what, fix, file=str(path))])


def _check_size(path: Path, file: zipfile.ZipFile) -> None:
    infos = file.infolist()
    if len(infos) > MOST_PARTS:
        raise _named(path, f"has {len(infos):,} parts; a workbook of ours has fewer than {MOST_PARTS:,}")
    size = sum(info.file_size for info in infos)
    if size > LARGEST_EXPANDED:
        raise _named(path, f"unpacks to {size // 2**20:,} MB; at most {LARGEST_EXPANDED // 2**20} MB is read")
    if any(info.flag_bits & 1 for info in infos):
        raise _named(path, "has locked parts", "Save it without a password.")
    names = [info.filename for info in infos]
    if len(set(names)) != len(names):
        raise _named(path, "holds a part twice")


def _check_parts(path: Path, parts: dict[str, bytes]) -> None:
    types = parts.get("[Content_Types].xml", b"")
    if any(_MACRO.search(name) for name in parts) or b"macroEnabled" in types:
        raise _named(path, "holds macros", "Save it as .xlsx, without macros.")
    if any("externalLink" in name for name in parts):
        fix = "Break the links (menu Edit or Data), then save it again."
        raise _named(path, "holds links to other files", fix)
    for name, body in parts.items():
        if not name.endswith((".xml", ".rels", ".vml")):
            continue
        if _DTD.search(body):
            raise _named(path, f"declares entities in {name}, which no spreadsheet program does")
        if body and (not _UTF8.match(body) or _OTHER_CODE.match(body)):
            raise _named(path, f"has {name} in a code other than UTF-8")


def parts_of(path: Path) -> dict[str, bytes]:
    """Return the parts of the workbook at `path` by name, once they are known to be harmless.

    Raises:
        InputError: no workbook, too large, locked, with macros, links to other files or entities.
        OSError: the file cannot be read.
    """
    if not path.is_file():
        raise _named(path, "there is no such file", "Check the path.")
    if path.stat().st_size > LARGEST_FILE:
        raise _named(path, f"is larger than {LARGEST_FILE // 2**20} MB")
    raw = path.read_bytes()
    if raw.startswith(_OLD):
        raise _named(
            path, "is an old .xls file or locked by a password", "Save it as .xlsx, without password."
        )
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as file:
            _check_size(path, file)
            parts = {info.filename: file.read(info) for info in file.infolist()}
    except _DAMAGE as error:
        raise _named(path, "is no workbook, or a damaged one") from error
    _check_parts(path, parts)
    if "xl/workbook.xml" not in parts and not any(n.endswith("workbook.xml") for n in parts):
        raise _named(path, "is no workbook: it may be a document of another kind")
    return parts

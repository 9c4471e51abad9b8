"""Open a workbook that came from outside: how much is really in it is bounded while it is read.

Nothing is believed that the file says of itself: what a part unpacks to, how many its elements are and how
deep is counted as they come, so that a file of `LARGEST_FILE` is read or refused in little memory and time.

Source: ISO/IEC 29500-2 (a package is a ZIP file of parts, stored or deflated; no DTD in any XML part).
"""

import io
import re
import zipfile
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any
from xml.parsers.expat import ParserCreate, XMLParserType

from estimator.core.errors import InputError, Problem
from estimator.intake.files import read_bytes

LARGEST_FILE = 20_000_000
MOST_UNPACKED = 32_000_000
MOST_PARTS = 1000
MOST_ELEMENTS = 800_000
MOST_NAMES = 2_000
DEEPEST = 32
_CHUNK = 2**16
_LONGEST_TAG = 4 * _CHUNK
_MOST_PIECES = 64
"""Of 8 kB, as expat hands a text over: no cell holds so long a one."""
_ENTRY = b"PK\x01\x02"
_OLD = b"\xd0\xcf\x11\xe0"
_MACRO = re.compile(r"vbaProject|macrosheets|dialogsheets|activeX", re.IGNORECASE)
_CODES = {None, "utf-8", "us-ascii"}
ASK = "Ask for the workbook anew, saved as .xlsx by the program it was made with."

Opens = Mapping[str, Callable[[Mapping[str, str]], object]]
"""What to do where an element of that local name opens, told its attributes."""
Closes = Mapping[str, Callable[[str], object]]
"""What to do where an element of that local name closes, told the text since the last tag opened."""


class _ByLocalName(dict[str, Callable[[Any], object] | None]):
    """What to do by a name with its prefix, looked up by the name without one when it first comes."""

    def __init__(self, acts: Mapping[str, Callable[[Any], object]]) -> None:
        super().__init__()
        self.acts = acts

    def __missing__(self, name: str) -> Callable[[Any], object] | None:
        self[name] = act = self.acts.get(name.rpartition(":")[2])
        return act


class Package:
    """The parts of a workbook, each unpacked when it is walked, all within one allowance.

    Raises:
        InputError: no such file or no workbook, too large, locked, with macros or links to other files.
        zipfile.BadZipFile: a damaged one.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.unpacked = self.elements = self.depth = 0
        raw = read_bytes(path, str(path), LARGEST_FILE)
        if raw.startswith(_OLD):
            fix = "Save it as .xlsx, without password."
            raise self.refusal("is an old .xls file or locked by a password", fix)
        if raw.count(_ENTRY) > MOST_PARTS:
            raise self.refusal(f"has over {MOST_PARTS:,} parts; a workbook of ours has fewer")
        self.file = zipfile.ZipFile(io.BytesIO(raw))
        self.names = self.file.namelist()
        self._look_through(self.file.infolist())

    def refusal(self, what: str, fix: str = ASK) -> InputError:
        """Return the refusal of this file."""
        return InputError([Problem(self.path.name, what, fix, file=str(self.path))])

    def _look_through(self, infos: list[zipfile.ZipInfo]) -> None:
        types = b"".join(self.chunks("[Content_Types].xml")) if "[Content_Types].xml" in self.names else b""
        if any(info.flag_bits & 1 for info in infos):
            raise self.refusal("has locked parts", "Save it without a password.")
        if len(set(self.names)) != len(infos):
            raise self.refusal("holds a part twice")
        if any(_MACRO.search(name) for name in self.names) or b"macroEnabled" in types:
            raise self.refusal("holds macros", "Save it as .xlsx, without macros.")
        if any("externalLink" in name for name in self.names):
            fix = "Break the links (menu Edit or Data), then save it again."
            raise self.refusal("holds links to other files", fix)

    def chunks(self, part: str) -> Iterator[bytes]:
        """Yield a part's bytes, a little at a time.

        Raises:
            InputError: more than a workbook may hold, or packed in a way that cannot be unpacked bit by bit.
        """
        if self.file.getinfo(part).compress_type not in {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}:
            raise self.refusal(f"has {part} packed in a way that no spreadsheet program uses")
        with self.file.open(part) as stream:
            while chunk := stream.read(_CHUNK):
                self.unpacked += len(chunk)
                if self.unpacked > MOST_UNPACKED:
                    raise self.refusal(f"unpacks to more than {MOST_UNPACKED // 10**6} MB")
                yield chunk

    def walk(self, part: str, opens: Opens, closes: Closes) -> None:
        """Go through the elements of a part in order; there is nothing to go through where it is missing.

        Raises:
            InputError: entities, another code than UTF-8, elements too deep, too many or too long.
            xml.parsers.expat.ExpatError: it is no XML.
        """
        if part not in self.names:
            return
        pieces: list[str] = []
        parser = self._parser(part, opens, closes, pieces)
        self.depth = fed = 0
        for chunk in self.chunks(part):
            fed += len(chunk)
            parser.Parse(chunk)
            long = fed - parser.CurrentByteIndex > _LONGEST_TAG or len(pieces) > _MOST_PIECES
            if long or len(parser.intern) > MOST_NAMES:
                raise self.refusal(f"has tags or texts in {part} that no spreadsheet program writes")
        parser.Parse(b"", True)  # noqa: FBT003 - the module takes it by place only

    def _too_much(self) -> InputError:
        if self.depth > DEEPEST:
            return self.refusal(f"has elements over {DEEPEST} deep")
        return self.refusal(f"has over {MOST_ELEMENTS:,} elements; a workbook of ours has fewer")

    def _parser(self, part: str, opens: Opens, closes: Closes, pieces: list[str]) -> XMLParserType:
        opening, closing = _ByLocalName(opens), _ByLocalName(closes)

        def start(name: str, attributes: dict[str, str]) -> None:
            self.depth += 1
            self.elements += 1
            if self.depth > DEEPEST or self.elements > MOST_ELEMENTS:
                raise self._too_much()
            pieces.clear()
            if act := opening[name]:
                act(attributes)

        def end(name: str) -> None:
            self.depth -= 1
            if act := closing[name]:
                act("".join(pieces))

        def declared(_version: str, code: str | None, _alone: int) -> None:
            if (code and code.lower()) not in _CODES:
                raise self.refusal(f"has {part} in a code other than UTF-8")

        def entities(*_: object) -> None:
            raise self.refusal(f"declares entities in {part}, which no spreadsheet program does")

        parser = ParserCreate("UTF-8")
        parser.StartElementHandler, parser.EndElementHandler = start, end
        parser.CharacterDataHandler, parser.buffer_text = pieces.append, True
        parser.XmlDeclHandler, parser.StartDoctypeDeclHandler = declared, entities
        return parser

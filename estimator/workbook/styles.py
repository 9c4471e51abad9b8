"""How cells look. Every shade keeps its meaning in grey: inputs have a frame, checks say their word."""

from dataclasses import dataclass
from typing import Any

from openpyxl import Workbook
from openpyxl.cell.cell import Cell
from openpyxl.styles import Alignment, Border, Font, PatternFill, Protection, Side
from openpyxl.styles.cell_style import StyleArray
from openpyxl.styles.differential import DifferentialStyle
from openpyxl.utils.indexed_list import IndexedList
from openpyxl.worksheet.worksheet import Worksheet

FACE = "Arial"
INK, SPRUCE, GREY, BLUE = "222B2B", "24483E", "5E6B66", "1B3C73"
LINEN, STONE, LINE, FRAME = "FBF4DE", "DFE6E1", "C3CCC6", "8C8363"
SERIES = ("24483E", "D9BC85", "6F847D", "F2EBDD")
"""Fills of pictures, at least a sixth of the way from black to white apart when printed in grey."""
OK_INK, OK_FILL, LOOK_INK, LOOK_FILL = "1E5B2E", "D9ECDC", "7A1420", "EDB0A6"
FAINT_INK = "9AA5A0"


def _side(colour: str) -> Side:
    return Side(style="thin", color=colour)


def _fill(colour: str) -> PatternFill:
    return PatternFill("solid", fgColor=colour)


@dataclass(frozen=True)
class Look:
    """The look of a kind of cell."""

    font: Font = Font(name=FACE, size=10, color=INK)  # noqa: RUF009 - openpyxl's styles never change
    fill: PatternFill = PatternFill()  # noqa: RUF009
    border: Border = Border()  # noqa: RUF009
    locked: bool = True
    upright: str = "center"
    indent: int = 1


_UNDER = Border(bottom=_side(LINE))
_FRAMED = Border(left=_side(FRAME), right=_side(FRAME), top=_side(FRAME), bottom=_side(FRAME))
LOOKS: dict[str, Look] = {
    "title": Look(Font(name=FACE, size=16, bold=True, color=SPRUCE), indent=0),
    "purpose": Look(Font(name=FACE, size=10, color=GREY), indent=0),
    "role": Look(Font(name=FACE, size=9, bold=True, color=SPRUCE), indent=0),
    "table": Look(Font(name=FACE, size=12, bold=True, color=SPRUCE), upright="bottom", indent=0),
    "head": Look(Font(name=FACE, size=10, bold=True, color=INK), _fill(STONE), upright="bottom"),
    "unit": Look(Font(name=FACE, size=9, italic=True, color=GREY), _fill(STONE), Border(bottom=_side(GREY))),
    "side unit": Look(Font(name=FACE, size=9, italic=True, color=GREY), border=_UNDER),
    "strong unit": Look(Font(name=FACE, size=9, italic=True, color=GREY), border=Border(top=_side(INK))),
    "key": Look(Font(name=FACE, size=8, color=GREY)),
    "label": Look(border=_UNDER),
    "input": Look(
        Font(name=FACE, size=10, color=BLUE), _fill(LINEN), _FRAMED, locked=False
    ),
    "input sample": Look(Font(name=FACE, size=10, color=BLUE), _fill(LINEN), _FRAMED),
    "value": Look(Font(name=FACE, size=10, italic=True, color=INK), border=_UNDER),
    "formula": Look(border=_UNDER),
    "each": Look(border=_UNDER),
    "strong": Look(Font(name=FACE, size=10, bold=True, color=INK), border=Border(top=_side(INK))),
    "note": Look(Font(name=FACE, size=9, color=GREY)),
    "listed": Look(Font(name=FACE, size=10, underline="single", color=BLUE), border=_UNDER),
    "link": Look(Font(name=FACE, size=10, underline="single", color=BLUE), indent=0),
}  # fmt: skip
PAD = "_M"
"""Ends a number's format: room as wide as an M, for some programs lose a number's indent from the right."""
OK_STYLE = DifferentialStyle(font=Font(color=OK_INK), fill=PatternFill(bgColor=OK_FILL))
FAINT_STYLE = DifferentialStyle(font=Font(color=FAINT_INK))
LOOK_STYLE = DifferentialStyle(font=Font(color=LOOK_INK, bold=True), fill=PatternFill(bgColor=LOOK_FILL))


def style_of(cell: Any) -> StyleArray:  # noqa: ANN401 - no public type has it
    """Return the style of a cell, to be shared: ten times faster than setting six attributes a cell."""
    style: StyleArray = cell._style  # noqa: SLF001
    return style


def dress(cell: Any, style: StyleArray) -> None:  # noqa: ANN401
    """Give a cell a shared style."""
    cell._style = style  # noqa: SLF001


def set_plain(workbook: Workbook) -> None:
    """Let the face of the cells be the workbook's own: widths of columns are counted in its digits."""
    plain = Font(name=FACE, size=10)
    setattr(workbook, "_fonts", IndexedList([plain]))  # noqa: B010 - no public way has it
    getattr(workbook, "_named_styles")["Normal"].font = plain  # noqa: B009


class Styles:
    """The styles of one workbook, each made once and shared by its cells."""

    def __init__(self, sheet: Worksheet) -> None:
        self._sheet = sheet
        self._made: dict[tuple[str, str, str, bool], StyleArray] = {}

    def of(self, look: str, form: str = "General", side: str = "left", *, wrap: bool = False) -> StyleArray:
        """Return the shared style of a look with a number format and an alignment."""
        key = (look, form, side, wrap)
        if key not in self._made:
            self._made[key] = self._make(*key)
        return self._made[key]

    def size(self, look: str) -> float:
        """Return the size of a look's letters in points."""
        return float(LOOKS[look].font.size or 0.0)

    def is_bold(self, look: str) -> bool:
        """Return whether a look's letters are bold."""
        return bool(LOOKS[look].font.bold)

    def _make(self, look: str, form: str, side: str, wrap: bool) -> StyleArray:  # noqa: FBT001
        like, cell = LOOKS[look], Cell(self._sheet, row=1, column=1)
        cell.font, cell.fill, cell.border = like.font, like.fill, like.border
        number = side == "right" and "0" in form
        cell.number_format, indent = (form + PAD, 0) if number else (form, like.indent)
        cell.alignment = Alignment(horizontal=side, vertical=like.upright, wrap_text=wrap, indent=indent)
        cell.protection = Protection(locked=like.locked)
        return style_of(cell)

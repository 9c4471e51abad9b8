"""Rules about formulas: what they hold, what they look like down a column, which way they read."""

from collections import defaultdict
from collections.abc import Iterator

from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token
from openpyxl.utils.cell import coordinate_to_tuple

from estimator.core.errors import Problem
from tests.workbook.delivered import REFERENCE, Area, Delivered, Place, address, breach

FUNCTIONS = frozenset({
    "IF", "AND", "OR", "NOT", "IFERROR", "SUM", "SUMIFS", "COUNTIF", "COUNTIFS", "SUMPRODUCT", "INDEX",
    "MATCH", "VLOOKUP", "ROUND", "ROUNDUP", "ROUNDDOWN", "CEILING", "MAX", "MIN", "ROW", "ISNUMBER", "TEXT",
    "SQRT", "LN", "COUNTA", "_XLFN.ISFORMULA",
})  # fmt: skip
PLAIN = {"0", "1", "2"}
ROUNDERS = {"ROUND(", "ROUNDUP(", "ROUNDDOWN(", "CEILING("}
LONGEST = 120


def no_hidden_numbers(file: Delivered) -> Iterator[Problem]:
    """4. No number in a formula but 0, 1, 2 and rounding digits."""
    for place, tokens in file.tokens.items():
        stack: list[str] = []
        argument: list[int] = []
        for token in tokens:
            if token.subtype == Token.OPEN:
                stack.append(token.value)
                argument.append(0)
            elif token.subtype == Token.CLOSE:
                stack.pop()
                argument.pop()
            elif token.type == Token.SEP and argument:
                argument[-1] += 1
            elif token.subtype == Token.NUMBER and token.value not in PLAIN:
                digits = bool(stack) and stack[-1] in ROUNDERS and argument[-1] == 1 and token.value.isdigit()
                if not (digits and int(token.value) <= 6):
                    yield breach(address(place), f"holds the number {token.value}")


def _relative(text: str, place: Place) -> str:
    """Return a formula with its references as distances from its own cell."""
    out = []
    for token in Tokenizer(text).items:
        match = REFERENCE.match(token.value) if token.subtype == Token.RANGE else None
        if match is None:
            out.append(token.value)
            continue
        ends = []
        for end in match[3].split(":"):
            row, column = coordinate_to_tuple(end.replace("$", ""))
            fixed_column, fixed_row = end.startswith("$"), "$" in end[1:]
            at_row = f"R{row}" if fixed_row else f"R[{row - place[1]}]"
            at_column = f"C{column}" if fixed_column else f"C[{column - place[2]}]"
            ends.append(at_row + at_column)
        out.append(f"{match[1] or match[2] or ''}!{':'.join(ends)}")
    return "".join(out)


def one_formula_a_column(file: Delivered) -> Iterator[Problem]:
    """5. One formula a column (or a row of cases), identical in relative form; control sheets compare."""
    lines: dict[tuple[str, str, int], dict[str, Place]] = defaultdict(dict)
    for place, text in file.formulas.items():
        block = file.block_of(place)
        if block is None or file.role(place[0]) == "Control":
            continue
        line = (place[0], block.table, place[2] if block.down else place[1])
        lines[line].setdefault(_relative(text, place), place)
    for (_, table, _), forms in lines.items():
        if len(forms) > 1:
            first, other = list(forms.values())[:2]
            yield breach(address(other), f"of table {table} differs in form from {address(first)}")


def short_formulas(file: Delivered) -> Iterator[Problem]:
    """6. No formula is longer than 120 characters."""
    for place, text in file.formulas.items():
        if len(text) > LONGEST + 1:
            yield breach(address(place), f"is {len(text) - 1} characters long: {text}")


def no_nested_if(file: Delivered) -> Iterator[Problem]:
    """7. No IF stands in another."""
    for place, tokens in file.tokens.items():
        depth: list[str] = []
        for token in tokens:
            if token.subtype == Token.OPEN:
                if token.value == "IF(" and "IF(" in depth:
                    yield breach(address(place), "nests IF")
                depth.append(token.value)
            elif token.subtype == Token.CLOSE:
                depth.pop()


def known_functions(file: Delivered) -> Iterator[Problem]:
    """8. Only functions that every engine tried computes alike; none volatile."""
    for place, tokens in file.tokens.items():
        for token in tokens:
            if token.type == Token.FUNC and token.subtype == Token.OPEN:
                name = token.value.rstrip("(").upper()
                if name not in FUNCTIONS:
                    yield breach(address(place), f"uses {name}")


def nothing_twice(file: Delivered) -> Iterator[Problem]:
    """9. Nothing is calculated twice: no two formulas read the same cells in the same way."""
    seen: dict[str, Place] = {}
    for place, tokens in file.tokens.items():
        if file.role(place[0]) == "Control" or len(tokens) < 2:
            continue
        parts = []
        for token in tokens:
            area = file.area(token.value, place[0]) if token.subtype == Token.RANGE else None
            parts.append(str(area) if area else token.value)
        text = "".join(parts)
        if text in seen:
            yield breach(
                address(place), f"calculates again what {address(seen[text])} does: {file.formulas[place]}"
            )
        seen.setdefault(text, place)


def _flows(file: Delivered, place: Place, area: Area) -> bool:
    sheet, row, column = place
    if area.sheet != sheet:
        return file.order[area.sheet] < file.order[sheet]
    block = file.block_of(place)
    if block is None or area.bottom <= block.keys:
        return True
    if area.top > block.last:
        return False
    return area.right < column if block.down else area.bottom < row


def one_direction(file: Delivered) -> Iterator[Problem]:
    """11. Flow is left to right and top to bottom; no forward reference between sheets (control may)."""
    for place, areas in file.reads.items():
        if file.role(place[0]) == "Control":
            continue
        for area in areas:
            if area.sheet not in file.order or not _flows(file, place, area):
                yield breach(address(place), f"reads against the flow: {file.formulas[place]}")

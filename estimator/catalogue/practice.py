"""Reading a shop's practice: TOML values with range and source, laid over the shipped ones."""

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Annotated

from pydantic import AfterValidator, Field

from estimator.catalogue import price_list
from estimator.catalogue.records import Dimension, Firm, Practice, PracticeChoice, PracticeValue
from estimator.core.errors import Problem
from estimator.core.units import METRE, factor, own_unit, read_amount
from estimator.job.document import Document, nearest, sentences, validated
from estimator.job.fields import FileName, Line, Many, Record

Scalar = Annotated[str, Field(max_length=60)]


class ValueRow(Record):
    """A value as a practice file writes it. A shop's own file needs `value` and `source` only."""

    value: Scalar
    source: Line
    label: Line | None = None
    dimension: Dimension | None = None
    group: Line | None = None
    min: Scalar | None = None
    max: Scalar | None = None


class ChoiceRow(Record):
    """A choice as a practice file writes it. A shop's own file needs `value` and `source` only."""

    value: Line
    source: Line
    label: Line | None = None
    group: Line | None = None
    options: Many[Line] = ()
    kind: Annotated[str, AfterValidator(price_list.kind)] | None = None


class FirmRow(Record):
    """Who the shop is, as its papers say it."""

    name: Line
    address: Many[Line] = ()
    """Lines of the address."""
    country: Annotated[str, Field(pattern="^[A-Z]{2}$")] | None = None
    """ISO 3166-1, two letters."""
    registration: Line | None = None
    """Company registration."""
    phone: Line | None = None
    email: Line | None = None
    archive: Line | None = None
    """Folder in which quotes are filed: a whole path, or from the folder of the practice file."""

    def firm(self) -> Firm:
        """Return it as the papers use it."""
        texts = {k: getattr(self, k) or "" for k in ("country", "registration", "phone", "email", "archive")}
        return Firm(self.name, self.address, **texts)


class PracticeFile(Record):
    """A practice file, whole."""

    name: Line
    over: FileName | None = None
    """The practice that holds where this file says nothing: shipped ones by name, such as "metric", or a file
    beside this one; left out, the shipped one. A value or choice named here needs only what is otherwise."""
    firm: FirmRow | None = None
    values: Mapping[str, ValueRow] = Field(default_factory=dict)
    choices: Mapping[str, ChoiceRow] = Field(default_factory=dict)


def _read(text: str, dimension: Dimension) -> tuple[int | float, Decimal, str]:
    """Return a value in the program's own unit, and the number and unit as written."""
    amount = read_amount(text, dimension)
    if dimension == "length":
        return round(amount.own * METRE), amount.number, amount.unit
    whole = dimension == "count" and amount.own.denominator == 1
    return int(amount.own) if whole else float(amount.own), amount.number, amount.unit


def _written(value: float, dimension: Dimension, unit: str) -> str:
    """Return a value of the program's own unit as it would be written in `unit`."""
    own = value / METRE if dimension == "length" else value
    return f"{own / float(factor(unit)):.6g} {unit}".rstrip()


def _value(key: str, row: ValueRow, dimension: Dimension, base: PracticeValue | None) -> PracticeValue:
    value, number, unit = _read(row.value, dimension)
    low = _read(row.min, dimension)[0] if row.min else (base.low if base else 0)
    high = _read(row.max, dimension)[0] if row.max else (base.high if base else value)
    if not low <= value <= high:
        least, most = (_written(limit, dimension, unit) for limit in (low, high))
        raise ValueError(f"{row.value!r} is outside its range; write {least} to {most}")
    label = row.label or (base.label if base else key)
    group = row.group or (base.group if base else "other")
    own = "nm" if dimension == "length" else own_unit(dimension)
    return PracticeValue(
        key, label, dimension, value, own, low, high, row.source, group, row.value, number, unit
    )


def _choice(key: str, row: ChoiceRow, base: PracticeChoice | None) -> PracticeChoice:
    options = row.options or (base.options if base else ())
    if options and row.value not in options:
        raise ValueError(f"{row.value!r} is no choice here; write one of {', '.join(options)}")
    kind = row.kind or (base.kind if base else "")
    label = row.label or (base.label if base else key)
    group = row.group or (base.group if base else "other")
    return PracticeChoice(key, label, row.value, options, kind, row.source, group)


def read_practice(document: Document, base: Practice | None = None) -> tuple[Practice, list[Problem]]:
    """Return the practice of a file, laid over `base`, and what is wrong with it.

    Args:
        document: the file.
        base: the shipped practice, which gives label, dimension, group and range; None when the
            shipped file itself is read.

    Raises:
        InputError: the file's form is wrong.
    """
    rows = validated(PracticeFile, document)
    values = dict(base.values) if base else {}
    choices = dict(base.choices) if base else {}
    problems: list[Problem] = []
    for key, row in rows.values.items():
        problems += _put_value(key, row, values, document, own=base is None)
    for key, line in rows.choices.items():
        problems += _put_choice(key, line, choices, document, own=base is None)
    firm = rows.firm.firm() if rows.firm else (base.firm if base else Firm())
    practice = Practice(rows.name, MappingProxyType(values), MappingProxyType(choices), firm)
    return practice, problems


def _put_value(
    key: str, row: ValueRow, values: dict[str, PracticeValue], document: Document, *, own: bool
) -> list[Problem]:
    base = values.get(key)
    dimension = row.dimension or (base.dimension if base else None)
    if base is None and (not own or dimension is None):
        return [document.problem(("values", key), "there is no such practice value", nearest(key, values))]
    if base is not None and row.dimension not in {None, base.dimension}:
        what = f"{row.dimension!r} is another dimension than the shipped {base.dimension!r}"
        return [document.problem(("values", key, "dimension"), what, "Leave the line out.")]
    try:
        values[key] = _value(key, row, dimension or "count", base)
    except ValueError as error:
        return [document.problem(("values", key, "value"), *sentences(error))]
    return []


def _put_choice(
    key: str, row: ChoiceRow, choices: dict[str, PracticeChoice], document: Document, *, own: bool
) -> list[Problem]:
    base = choices.get(key)
    if base is None and not own:
        return [document.problem(("choices", key), "there is no such choice", nearest(key, choices))]
    try:
        choices[key] = _choice(key, row, base)
    except ValueError as error:
        return [document.problem(("choices", key, "value"), *sentences(error))]
    return []

"""The reference of the catalogue's files, made from what reads them."""

from collections.abc import Iterable, Iterator

from estimator.catalogue.labour import LabourBook
from estimator.catalogue.layers import shipped
from estimator.catalogue.load import PRICES, shipped_practice
from estimator.catalogue.price_list import ALWAYS, COLUMNS
from estimator.catalogue.records import KINDS
from estimator.catalogue.terms import Terms
from estimator.core.units import known_units
from estimator.job.schema import tables_of

_FORMS = {
    "key": "key", "product": "key; rows of one product are its sizes and packs", "kind": "see below",
    "description": "text", "section": "text, the order's heading", "cost code": "`06 10 00`",
    "supplier": "text", "item code": "text", "buy unit": "text, such as `stick`, `box`, `yd`",
    "content": "what one buy unit holds, with its unit", "price": "`12.50`, for one buy unit, tax left out",
    "currency": "ISO 4217 code, the same in every row", "price date": "`2026-03-02`",
    "thickness": "length; of a screw or nail its shank", "width": "length; of frame stock the frame's depth",
    "length": "length; of a foot its reach", "gauge": "text", "density": "kg/m^3",
    "specific gravity": "number; a member without density gets it from this",
    "airflow resistivity": "Pa*s/m^2", "airflow resistance": "Pa*s/m",
    "cloth mass": "g/m^2 or oz/yd^2", "mass": "mass of one", "absorption": "six numbers, 125 to 4000 Hz",
    "absorption source": "text", "repeat": "length of the pattern along the roll",
    "nap": "`yes` or `no`", "railroad": "`yes` or `no`: may be turned a quarter", "rated load": "force",
    "charged": "`pack`, or `use`: a job pays for the part it uses up; cut stock always by the pack",
    "lead days": "working days", "source": "where the row comes from",
}  # fmt: skip

_OPENING = """# The catalogue: prices, practice, terms, labour rates

Made from the program itself by `battenbook schema --of catalogue --markdown`.

A job names four files: `prices`, `practice`, `terms`, `labour`. Each is a shipped one by its name, or your
own by its path from the job file's folder. **All shipped prices, wages and rates are invented for the
demonstration; tax rates are for you to confirm.** Nothing is converted between currencies: a price list in
another currency than the job is refused."""


def _names(names: Iterable[str]) -> str:
    return ", ".join(f"`{name}`" for name in names)


def _prices() -> Iterator[str]:
    yield "## Price list"
    yield (
        f"Shipped: {_names(PRICES)}. A CSV file that a spreadsheet opens and saves: comma, semicolon or tab "
        "between cells, UTF-8, the first row the headings, in any order. Lengths carry their units."
    )
    rows = ["| column | what stands in it | |", "| --- | --- | --- |"]
    rows += [f"| `{n}` | {_FORMS[n]} | {'in every row' if n in ALWAYS else ''} |" for n in COLUMNS]
    yield "\n".join(rows)
    kinds = ["| kind | content in | besides |", "| --- | --- | --- |"]
    kinds += [f"| `{k}` | {known_units(v.content)} | {', '.join(v.needs)} |" for k, v in KINDS.items()]
    yield "\n".join(kinds)


def _practice() -> Iterator[str]:
    practice = shipped_practice()
    yield "## Shop practice"
    yield (
        f"Shipped: {_names(shipped('practice'))}. Your own TOML file has a `name`, and a table for each "
        "value you do otherwise, with its source; it is laid over the shipped one, or "
        'over what `over` names, such as `over = "metric"`:'
    )
    yield '```toml\nname = "Our shop"\n\n[values.saw_kerf]\nvalue = "3/32 in"\nsource = "our blade"\n```'
    yield 'How far paint goes may also be written as its data sheet has it: `"65 % solids at 5 mil"` dry.'
    yield (
        "Who quotes stands in a table of its own, and on every paper; only `name` is needed. `archive` is "
        "the folder in which quotes are filed, counted from the practice file:"
    )
    yield (
        '```toml\n[firm]\nname = "Our shop"\naddress = ["1 Our Street", "Our Town"]\ncountry = "CA"\n'
        'registration = "…"\nphone = "…"\nemail = "…"\narchive = "../archive"\n```'
    )
    rows = ["| key | | shipped | source |", "| --- | --- | --- | --- |"]
    rows += [f"| `{v.key}` | {v.label} | {v.text} | {v.source} |" for v in practice.values.values()]
    yield "\n".join(rows)
    yield "Choices are written in `[choices.KEY]`; those of a kind name a product of that kind."
    rows = ["| key | | shipped | one of |", "| --- | --- | --- | --- |"]
    for choice in practice.choices.values():
        known = _names(choice.options) or f"a {choice.kind}"
        rows.append(f"| `{choice.key}` | {choice.label} | `{choice.value}` | {known} |")
    yield "\n".join(rows)


def catalogue_reference() -> str:
    """Return the reference of price list, shop practice, client terms and labour rates, Markdown."""
    terms = f"Shipped: {_names(shipped('terms'))}."
    parts = [_OPENING, *_prices(), *_practice(), "## Client terms", terms, tables_of(Terms, 3)]
    return "\n\n".join([*parts, "## Labour rates", "Shipped: `default`.", tables_of(LabourBook, 3)]) + "\n"

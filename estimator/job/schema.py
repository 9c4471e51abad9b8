"""The job file's JSON Schema, for editors, and the reference for people made from it.

What stands under each attribute of a record, read from its source only when a reference is asked for.

Reading it while the models are built would cost every run a part of its start that only the reference needs.
"""

import ast
import inspect
import itertools
import textwrap
from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import BaseModel, create_model

from estimator.job.description import job_file
from estimator.job.fields import Record

DIALECT = "https://json-schema.org/draft/2020-12/schema"
Schema = Mapping[str, Any]


def file_schema(model: type[BaseModel], title: str) -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a TOML file that `model` reads, dates as text."""
    return {"$schema": DIALECT, **described(model.model_json_schema(), model), "title": title}


def job_schema() -> dict[str, Any]:
    """Return the JSON Schema of a job file."""
    return file_schema(job_file(), "battenbook job file")


def tables_of(model: type[BaseModel], level: int = 2) -> str:
    """Return the reference of a TOML file's tables, Markdown, headings from `level` on."""
    root = file_schema(model, "")
    return "\n\n".join(_sections("", root, root, "#" * level))


def _target(schema: Schema, root: Schema) -> tuple[str, Schema] | None:
    """Return the name and schema of the table a value refers to, looking through arrays and alternatives."""
    if "$ref" in schema:
        name = schema["$ref"].rsplit("/", 1)[1]
        return name, root["$defs"][name]
    nested = [
        schema.get("items"),
        *schema.get("prefixItems", []),
        *schema.get("patternProperties", {}).values(),
    ]
    branches = [*schema.get("anyOf", []), *schema.get("oneOf", []), *filter(None, nested)]
    return next((found for branch in branches if (found := _target(branch, root))), None)


def _form(schema: Schema, root: Schema) -> str:
    """Return what may be written for a value, in a few words."""
    branches = [*schema.get("anyOf", []), *schema.get("oneOf", [])]
    if branches:
        forms = [_form(branch, root) for branch in branches if branch.get("type") != "null"]
        return " or ".join(dict.fromkeys(forms))
    if "const" in schema or "enum" in schema:
        return ", ".join(map(_quoted, schema.get("enum", [schema.get("const")])))
    if schema.get("type") == "array":
        inner = schema.get("items") or schema["prefixItems"][0]
        return f"array of {_form(inner, root)}{_limits(schema)}"
    if "patternProperties" in schema:
        return f"table of {_form(next(iter(schema['patternProperties'].values())), root)}"
    return "table" if "$ref" in schema else f"{_plain(schema)}{_limits(schema)}"


def _quoted(value: object) -> str:
    return f'`"{value}"`' if isinstance(value, str) else f"`{value}`"


def _plain(schema: Schema) -> str:
    if schema.get("format") == "date":
        return "date"
    title = str(schema.get("title", ""))
    if title[:1].islower() or title.startswith("ISO"):
        return title
    names = {"integer": "whole number", "number": "number", "boolean": "`true` or `false`"}
    return names.get(schema.get("type", ""), "text")


def _limits(schema: Schema) -> str:
    words = (
        ("exclusiveMinimum", "over {}"), ("minimum", "from {}"), ("exclusiveMaximum", "under {}"),
        ("maximum", "to {}"), ("minItems", "at least {}"), ("maxItems", "at most {}"),
    )  # fmt: skip
    found = [text.format(f"{schema[key]:g}") for key, text in words if key in schema]
    return f" ({', '.join(found)})" if found else ""


def _default(name: str, table: Schema) -> str:
    schema = table["properties"][name]
    if name in table.get("required", []):
        return "must be given"
    value = schema.get("default")
    if value in (None, [], {}) or isinstance(value, dict):
        return ""
    return f"`{str(value).lower()}`" if isinstance(value, bool) else _quoted(value) if value != 0 else "none"


def _rows(table: Schema, root: Schema) -> Iterator[str]:
    yield "| key | what may be written | left out | |"
    yield "| --- | --- | --- | --- |"
    for name, schema in table["properties"].items():
        about = " ".join(str(schema.get("description", "")).split())
        form = _form(schema, root).replace("|", "\\|")
        yield f"| `{name}` | {form} | {_default(name, table)} | {about} |"


def _sections(path: str, table: Schema, root: Schema, mark: str, *, many: bool = False) -> Iterator[str]:
    heading = f"[[{path}]]" if many else f"[{path}]"
    yield f"{mark} `{heading}`" if path else f"{mark} The file"
    yield " ".join(str(table.get("description", "")).split())
    yield "\n".join(_rows(table, root))
    for name, schema in table["properties"].items():
        found = _target(schema, root)
        if found is None:
            continue
        below = f"{path}.{name}" if path else name
        inner = below if "patternProperties" not in schema else f"{below}.NAME"
        yield from _sections(inner, found[1], root, mark, many=schema.get("type") == "array")


_OPENING = """# The job file

Made from the program's own models by `battenbook schema --markdown`; the same as JSON Schema, for editors,
by `battenbook schema`.

A job file is TOML. **Lengths** are text with their units: `"60 in"`, `"5 ft 2 1/2 in"`, `"5'2-1/2\\""`,
`"1473 mm"`, `"1.473 m"`; a bare number is refused. **Money** is text: `"150.00"`. **Percentages** are text:
`"12.5 %"`. **Dates** are written without quotes: `2026-03-02`. **Names** have letters, digits, spaces,
points, hyphens and underscores. Keys that are not listed here are refused, with the nearest that is known.

`battenbook check FILE` names everything that is wrong in one run: file, line, key, what, and what would be
right."""


def reference() -> str:
    """Return the reference of the job file, Markdown: every table, key, form and default."""
    return f"{_OPENING}\n\n{tables_of(job_file())}\n"


def attribute_texts(model: type[BaseModel]) -> dict[str, str]:
    """Return the text under each attribute of a model by the attribute's name, its bases' included."""
    found: dict[str, str] = {}
    for base in reversed(model.__mro__):
        if base is not BaseModel and issubclass(base, BaseModel):
            found.update(_own(base))
    return found


def _own(model: type[BaseModel]) -> Iterator[tuple[str, str]]:
    if model.__module__ == create_model.__module__:
        return  # made from the table of kinds, which describes its attributes
    tree = ast.parse(textwrap.dedent(inspect.getsource(model)))
    body = tree.body[0].body if isinstance(tree.body[0], ast.ClassDef) else []
    for statement, after in itertools.pairwise(body):
        if not (isinstance(statement, ast.AnnAssign) and isinstance(statement.target, ast.Name)):
            continue
        if isinstance(after, ast.Expr) and isinstance(after.value, ast.Constant):
            yield statement.target.id, inspect.cleandoc(str(after.value.value))


def described(schema: Mapping[str, Any], model: type[BaseModel]) -> dict[str, Any]:
    """Return a model's JSON Schema with every attribute's text as its property's description."""
    models = {m.__name__: m for m in _records(Record)}
    tables = {name: _with_texts(table, models.get(name)) for name, table in schema.get("$defs", {}).items()}
    return {**_with_texts(schema, model), **({"$defs": tables} if tables else {})}


def _with_texts(table: Mapping[str, Any], model: type[BaseModel] | None) -> dict[str, Any]:
    if model is None or "properties" not in table:
        return dict(table)
    texts = attribute_texts(model)
    aliases = {field.alias or name: name for name, field in model.model_fields.items()}
    rows = {
        key: {**row, "description": texts[aliases[key]]} if aliases.get(key) in texts else row
        for key, row in table["properties"].items()
    }
    return {**table, "properties": rows}


def _records(model: type[BaseModel]) -> Iterator[type[BaseModel]]:
    for child in model.__subclasses__():
        yield child
        yield from _records(child)

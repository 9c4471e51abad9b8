"""What stands under each attribute of a record, read from its source only when a reference is asked for.

Reading it while the models are built would cost every run a part of its start that only the reference needs.
"""

import ast
import inspect
import itertools
import textwrap
from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import BaseModel, create_model

from estimator.job.fields import Record


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

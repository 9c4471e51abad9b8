"""Reading the archive's JSON records: what was written, or one problem that names the file."""

import json
from collections.abc import Callable, Mapping
from decimal import InvalidOperation
from typing import Any, TypeVar

from estimator.core.errors import InputError, Problem

SCHEMA = 1
FIX = "Restore it from a backup."
Record = TypeVar("Record")


def dump(body: Mapping[str, Any]) -> str:
    """Return `body` as JSON text with the schema's number in front; amounts as text, no cent lost."""
    return json.dumps({"schema": SCHEMA, **body}, default=str, ensure_ascii=False, indent=2) + "\n"


def load(content: str | bytes, where: str, read: Callable[[Mapping[str, Any]], Record]) -> Record:
    """Return what `read` makes of the JSON object in `content`.

    Raises:
        InputError: it is no JSON object, of another schema, or `read` found a field missing or unfit.
    """
    try:
        body = json.loads(content)
        schema = body.pop("schema")
        if schema != SCHEMA:
            raise ValueError(f"is of schema {schema!r}, this program reads {SCHEMA}")  # noqa: TRY301 - told below
        return read(body)
    except KeyError as error:
        raise InputError([Problem(where, f"has no field {error}", FIX)]) from None
    except (TypeError, ValueError, InvalidOperation, AttributeError, RecursionError) as error:
        raise InputError([Problem(where, f"cannot be read: {error or type(error).__name__}", FIX)]) from None


def text(value: object) -> str:
    """Return `value`, which is a text.

    Raises:
        TypeError: it is something else.
    """
    if not isinstance(value, str):
        raise TypeError(f"{value!r} is no text")
    return value

"""Reading the archive's JSON records: what was written, or one problem that names the file."""

import json
from collections.abc import Callable, Mapping
from functools import cache
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError
from pydantic_core import from_json

from estimator.core.errors import InputError, Problem

SCHEMA = 1
FIX = "Restore it from a backup."
Record = TypeVar("Record")


def dump(body: Mapping[str, Any]) -> str:
    """Return `body` as JSON text with the schema's number in front; amounts as text, no cent lost."""
    return json.dumps({"schema": SCHEMA, **body}, default=str, ensure_ascii=False, indent=2) + "\n"


def load(
    content: str | bytes,
    where: str,
    kind: type[Record],
    known: Callable[[Mapping[str, Any]], None] = lambda _: None,
) -> Record:
    """Return the record that the JSON object in `content` is.

    Args:
        content: as it was written.
        where: its file, for the problem.
        kind: a dataclass whose annotations say what each field may hold.
        known: asked first; raises a ValueError where the object is not what was written.

    Raises:
        InputError: it is no JSON object, of another schema, or a field is missing or unfit.
    """
    try:
        body = from_json(content)
        schema = body.pop("schema")
        if schema != SCHEMA:
            raise ValueError(f"is of schema {schema!r}, this program reads {SCHEMA}")  # noqa: TRY301 - told below
        known(body)
        record: Record = _form(kind).validate_python(body)  # type: ignore[arg-type]
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        what = f"{'.'.join(map(str, first['loc']))}: {first['msg']}"
    except (AttributeError, KeyError, TypeError, ValueError) as error:
        what = f"{error}"
    else:
        return record
    raise InputError([Problem(where, f"cannot be read: {what}", FIX)])


@cache
def _form(kind: Any) -> TypeAdapter[Any]:  # noqa: ANN401 - as the class given
    return TypeAdapter(kind)

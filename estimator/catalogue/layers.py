"""Files that lie over others: a client's terms over the shop's, a union's wages over the shop's labour.

A file says with ``over`` what it lies over: a shipped file by its name, or one beside it. What it leaves out
holds as it stands there; that file may not lie over another itself.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeGuard

from estimator.catalogue.shelf import DATA, on_shelf
from estimator.core.errors import InputError
from estimator.intake.structured import KeyPath
from estimator.job.document import Document, nearest, read_document, sentences

LAYERED = ("practice", "terms", "labour")
"""What may lie over another of its kind."""


def shipped(kind: str, shelf: Path = DATA) -> tuple[str, ...]:
    """Return the names of the shipped files of a kind, those on a shelf among them."""
    if kind == "labour":
        return ("default",)
    return tuple(sorted({path.stem for on in (DATA, shelf) for path in (on / kind).glob("*.toml")}))


def on_shelf_as(kind: str, name: str) -> str:
    """Return where a shipped file of a kind stands on a shelf."""
    return "labour.toml" if kind == "labour" else f"{kind}/{name}.toml"


def known(kind: str, shelf: Path = DATA) -> dict[str, Path]:
    """Return the shipped files of a kind by name."""
    return {name: on_shelf(on_shelf_as(kind, name), shelf) for name in shipped(kind, shelf)}


def _is_path(name: str) -> bool:
    return "/" in name or "\\" in name or name.endswith((".toml", ".csv"))


def place(name: str, files: Mapping[str, Path], base: Path) -> tuple[Path, str]:
    """Return where a shipped name or a path from `base` points, and the file's name in messages.

    Raises:
        ValueError: no shipped file of that name, or no file at that path.
    """
    if name in files:
        return files[name], files[name].name
    if not _is_path(name):
        raise ValueError(f"there is nothing shipped by the name {name!r}; {nearest(name, files)}")
    path = base / name.replace("\\", "/")
    if not path.is_file():
        raise ValueError(f"there is no file {name!r}; the path is from the job file's folder")
    return path, name


def under(document: Document, path: Path, kind: str, shelf: Path = DATA) -> tuple[Path, str] | None:
    """Return the file that another lies over, and its name in messages; None for none.

    Args:
        document: the file as read from `path`.
        path: where it is.
        kind: one of `LAYERED`.
        shelf: where shipped files are.

    Raises:
        InputError: there is no such file.
    """
    name = document.data.get("over")
    if not isinstance(name, str):
        return None
    files = known(kind, shelf)
    if name not in files and name != Path(name).name:
        what = f"{name!r} is not beside this file"
        raise InputError([document.problem(("over",), what, f"Put the shop's {kind} into the same folder.")])
    try:
        return place(name, files, path.resolve().parent)
    except ValueError as error:
        raise InputError([document.problem(("over",), *sentences(error))]) from None


def beneath(document: Document, path: Path, kind: str, shelf: Path = DATA) -> Document | None:
    """Return the file that another lies over, read; None for none; arguments as `under`.

    Raises:
        InputError: it cannot be read, or lies over another itself.
    """
    found = under(document, path, kind, shelf)
    if found is None:
        return None
    shop = read_document(*found)
    if "over" in shop.data:
        what = f"{found[1]} is laid over another file itself"
        raise InputError([document.problem(("over",), what, f"Name the shop's own {kind}.")])
    return shop


def merged(own: Document, shop: Document) -> Document:
    """Return a document laid over another: tables key by key, rows that have a ``key`` by that.

    Problems name the lines of `own`.
    """
    data: dict[str, Any] = {**shop.data}
    moved: dict[KeyPath, KeyPath] = {}
    for name, value in own.data.items():
        before = shop.data.get(name)
        if isinstance(value, dict) and isinstance(before, dict):
            data[name] = {**before, **value}
        elif _keyed(value) and _keyed(before):
            data[name], places = _rows(value, before)
            moved |= {(name, here): (name, there) for here, there in places}
        else:
            data[name] = value
    lines = {(*moved.get(path[:2], path[:2]), *path[2:]): line for path, line in own.lines.items()}
    return replace(own, data=data, lines=lines)


def _keyed(value: object) -> TypeGuard["Rows"]:
    return isinstance(value, list) and all(isinstance(row, dict) and "key" in row for row in value)


Rows = list[dict[str, Any]]


def _rows(own: Rows, shop: Rows) -> tuple[Rows, list[tuple[int, int]]]:
    """Return the rows of the shop with those of `own` in their places; and from where to where each went."""
    rows, at = [*shop], {row["key"]: n for n, row in enumerate(shop)}
    places = list(_placed(own, at, len(shop)))
    for here, there in places:
        new = own[here]
        if there < len(rows):
            rows[there] = {**rows[there], **new}
        else:
            rows.append(new)
    return rows, places


def _placed(own: Rows, at: dict[Any, int], end: int) -> Iterator[tuple[int, int]]:
    for here, row in enumerate(own):
        known_at = at.get(row["key"])
        yield here, end if known_at is None else known_at
        end += known_at is None

"""A catalogue of the shipped price list and practice, and jobs written as the job file has them."""

import functools
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

import estimator.catalogue
from estimator.catalogue.practice import read_practice
from estimator.catalogue.price_list import read_price_list
from estimator.catalogue.records import Catalogue
from estimator.job.description import Job
from estimator.job.document import read_document

DATA = Path(estimator.catalogue.__file__).parent / "data"
STANDARD = {
    "member": "member-2x2", "board": "board-48-1.5", "fabric": "fabric-plain", "casing": "casing-half",
    "finish": "paint-trim",
}  # fmt: skip
_NO_TERMS: Any = object()  # the layout reads no terms
_NO_LABOUR: Any = object()  # nor labour rates
BOX_ROOM = [
    {"name": "north", "length": "14 ft"}, {"name": "east", "length": "10 ft"},
    {"name": "south", "length": "14 ft"}, {"name": "west", "length": "10 ft"},
]  # fmt: skip


@functools.cache
def shipped() -> Catalogue:
    practice, _ = read_practice(read_document(DATA / "practice" / "default.toml"))
    return Catalogue.of(read_price_list(DATA / "prices.csv"), practice, _NO_TERMS, _NO_LABOUR)


def write_job(**tables: Any) -> Job:
    """Return a job in a square-cornered room 14 x 10 ft, 8 ft high, with these tables besides."""
    room: Mapping[str, Any] = {
        "name": "Room", "use": "rehearsal", "height": "8 ft", "wall": BOX_ROOM, **tables.pop("room", {}),
    }  # fmt: skip
    header = {"number": "1", "title": "t", "client": "c", "date": "2026-03-02", "currency": "CAD"}
    data: dict[str, Any] = {"schema": 1, "job": header, "room": room, "make-up": {"standard": STANDARD}}
    return Job.model_validate({**data, **tables}, strict=False)


@pytest.fixture
def catalogue() -> Catalogue:
    return shipped()


@pytest.fixture
def job() -> Callable[..., Job]:
    return write_job

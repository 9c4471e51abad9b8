"""A catalogue of the shipped price list and practice, and jobs written as the job file has them."""

import functools
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import estimator.catalogue
from estimator.catalogue.practice import read_practice
from estimator.catalogue.price_list import read_price_list
from estimator.catalogue.records import Catalogue, Practice
from estimator.core.units import INCH
from estimator.job.description import Job, job_file
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


PINNED = {
    "stud_spacing": 24 * INCH, "minimum_piece": 6 * INCH, "frame_width_max": 96 * INCH,
    "frame_height_max": 120 * INCH, "wrap_pull": 2 * INCH, "scribe_extra": INCH // 4, "casing_gap": 0,
    "fixing_spacing": 16 * INCH, "fixing_bite_min": INCH, "fixing_past_face_max": 5 * INCH // 4,
    "box_stud_near": 2 * INCH, "vent_clearance": INCH, "heater_clearance": 12 * INCH,
    "backing_stud_spacing": 16 * INCH, "backing_gypsum_thickness": INCH // 2, "recess_clearance": INCH // 8,
    "hanger_inset": 6 * INCH, "hanger_spacing": 48 * INCH, "level_line": 48 * INCH,
}  # fmt: skip
"""The hand calculations go by these, whatever the shipped practice says."""


@functools.cache
def shipped(**choices: str) -> Catalogue:
    """Return the shipped price list with the practice of the hand calculations, and these choices."""
    read, _ = read_practice(read_document(DATA / "practice" / "default.toml"))
    values = {key: replace(v, value=PINNED.get(key, v.value)) for key, v in read.values.items()}
    chosen = {"corner_rule": "mitre", "casing_corner": "butt", "bevel_rule": "half", **choices}
    rules = {key: replace(c, value=chosen.get(key, c.value)) for key, c in read.choices.items()}
    practice = Practice("pinned", values, rules)
    return Catalogue.of(read_price_list(DATA / "prices.csv"), practice, _NO_TERMS, _NO_LABOUR)


def write_job(**tables: Any) -> Job:
    """Return a job in a square-cornered room 14 x 10 ft, 8 ft high, with these tables besides."""
    room: Mapping[str, Any] = {
        "name": "Room", "use": "rehearsal", "height": "8 ft", "wall": BOX_ROOM, **tables.pop("room", {}),
    }  # fmt: skip
    header = {"number": "1", "title": "t", "client": "c", "date": "2026-03-02", "currency": "CAD"}
    data: dict[str, Any] = {"schema": 1, "job": header, "room": room, "make-up": {"standard": STANDARD}}
    return job_file().model_validate({**data, **tables}, strict=False)

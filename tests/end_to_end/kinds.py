"""A job with every kind of piece, and every place where each has to show: what a new kind is held to."""

import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from pathlib import Path

import openpyxl
import pytest

from estimator.acoustics.survey import treatment
from estimator.archive.gather import gather, summary_of
from estimator.calc.expressions import Value
from estimator.catalogue.load import load
from estimator.core.units import metres
from estimator.documents.site import site
from estimator.job.description_pieces import PIECES
from estimator.layout.records import Frame
from estimator.pipeline import Estimate, Scope, estimate
from estimator.tables.compare import compare, party
from estimator.tables.figures import explained, figures
from tests.documents.made import text_of

ROOM = """
schema = 1
[job]
number = "2026-001"
title = "Every kind"
client = "Nobody (invented)"
date = 2026-03-02
currency = "CAD"
[room]
name = "Room"
use = "rehearsal"
height = "8 ft"
target_s = 0.4
[[room.wall]]
name = "north"
length = "14 ft"
[[room.wall.opening]]
name = "W"
kind = "window"
left = "90 in"
bottom = "36 in"
width = "40 in"
height = "30 in"
[[room.wall]]
name = "east"
length = "10 ft"
[[room.wall]]
name = "south"
length = "14 ft"
[[room.wall]]
name = "west"
length = "10 ft"
[make-up.standard]
member = "member-2x2"
board = "board-48-1.5"
fabric = "fabric-plain"
casing = "casing-half"
finish = "paint-trim"
primer = "primer-wood"
"""
PIECE_ROWS: dict[str, tuple[str, ...]] = {
    "wall": (
        'name = "N"\non = "west"\nfrom = "48 in"\nto = "96 in"\nband = { bottom = "30 in", height = "3 ft" }',
    ),
    "corner": (
        'name = "T"\nbetween = ["north", "east"]\nleg = "12 in"\nheight = "48 in"',
        'name = "U"\nbetween = ["south", "west"]\nleg = "12 in"\nheight = "48 in"\nkind = "solid"',
    ),
    "recess": ('name = "R"\nwall = "north"\nopening = "W"\ndepth = "4 in"',),
    "screen": ('name = "S"\nwidth = "30 in"\nheight = "48 in"\nfeet = "foot-steel-28"',),
    "cloud": (
        'name = "K"\nwidth = "24 in"\nlength = "48 in"\ndrop = "8 in"\nat = { x = "84 in", y = "60 in" }',
    ),
}
"""One piece a kind at least, both forms of a trap; make-ups are added."""
OTHER = """
[[screen]]
name = "Z"
width = "24 in"
height = "24 in"
feet = "foot-steel-28"
make-up = "standard"
"""


def job_text(rows: Mapping[str, tuple[str, ...]]) -> str:
    """Return a job with these pieces, and for each an option that leaves it out."""
    pieces = [f'[[{key}]]\n{row}\nmake-up = "standard"\n' for key, some in rows.items() for row in some]
    names = re.findall(r'^name = "(.*)"$', "\n".join(pieces), re.MULTILINE)
    options = [f'[[option]]\nname = "without {n}"\ntitle = "Without {n}"\ndrop = ["{n}"]\n' for n in names]
    return "\n".join((ROOM, *pieces, *options))


def estimate_of(text: str, folder: Path) -> Estimate:
    """Return the estimate of a job as its file says it."""
    folder.mkdir(exist_ok=True)
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    job, catalogue, _ = load(path)
    return estimate(job, catalogue)


@dataclass(frozen=True)
class Walked:
    """An estimate with everything that is made of it."""

    made: Estimate
    folder: Path

    @cached_property
    def files(self) -> dict[str, bytes]:
        """Return what is filed of it, in memory."""
        _, files = gather(self.folder / "job.toml", self.made)
        return {name: file.read_bytes() if isinstance(file, Path) else file for name, file in files.items()}

    @cached_property
    def sheets(self) -> dict[str, list[str]]:
        """Return the texts of every sheet of the workbook."""
        book = openpyxl.load_workbook(io.BytesIO(self.files["2026-001-workbook.xlsx"]), read_only=True)
        return {
            s.title: [c for row in s.iter_rows(values_only=True) for c in row if isinstance(c, str)]
            for s in book
        }

    @cached_property
    def papers(self) -> dict[str, str]:
        """Return the text of every paper."""
        pages = {name: page for name, page in self.files.items() if name.endswith(".html")}
        return {
            name.split("-")[-1].removesuffix(".html"): text_of(page.decode()) for name, page in pages.items()
        }

    @cached_property
    def against(self) -> set[str]:
        """Return the frames that a comparison with another job names."""
        other = estimate_of(ROOM + OTHER, self.folder / "other")
        found = compare(self.made, other, (party("this", self.made), party("other", other)))
        return {change.name for change in found.frames}

    @cached_property
    def heard(self) -> dict[str, float]:
        """Return what each frame covers or has in the room, m2 of its front as far as it is counted."""
        scope, found = self.made.scope, dict[str, float]()
        put = treatment(scope.job, scope.layout, self.made.catalogue)
        sizes = {f.name: metres(f.width) * metres(f.height) for f in scope.layout.frames}
        found |= {patch.name: patch.area_m2 for patch in put.patches}
        return found | {body.name: sizes[body.name] for body in put.bodies if any(body.absorption_m2)}

    def hardware(self, frame: str) -> tuple[Value, Value, Value]:
        """Return how much hardware a frame has: by layout, by the workbook's count, and as bought."""
        tables, layout = self.made.scope.takeoff.tables, self.made.scope.layout
        drawn = sum((Decimal(h.count) for h in layout.hardware if h.frame == frame), Decimal(0))
        table, trail = tables["hardware"], tables["count_trail"]
        counted = dict(zip(table["key"].values, table["pieces"].values, strict=True)).get(frame, Decimal(0))
        kinds = {self.made.catalogue.kind(h.product) for h in layout.hardware if h.frame == frame}
        rows = zip(*(trail[k].values for k in ("source", "what", "quantity")), strict=True)
        bought = sum((q for s, what, q in rows if s == frame and what in kinds), Decimal(0))
        return drawn, counted, bought


SHEETS = (
    "Frames", "Absorption", "Layout", "Needs", "Trail of frames", "Sticks", "Boards", "Cloth", "Treatment",
)  # fmt: skip
"""Sheets that show every frame."""


def missing(walked: Walked) -> Iterator[str]:
    """Yield the name of each place in which a frame is not found, with the frame and its kind."""
    for frame in walked.made.scope.layout.frames:
        for place, there in (*_figures(frame, walked), *_sheets(frame, walked), *_papers(frame, walked)):
            if not there:
                yield f"{frame.kind} {frame.name}: {place}"
    filed, frames = summary_of(walked.made).area_m2, walked.made.scope.layout.frames
    faces = sum(metres(f.width) * metres(f.height) * len(PIECES[f.kind].faces) for f in frames)
    if float(filed) != pytest.approx(faces, abs=1e-4):
        yield f"area as filed: {filed} m2, of all faces {faces:.4f}"
    for name, option in walked.made.options.items():
        yield from _option(name, option, walked)


def _figures(frame: Frame, walked: Walked) -> Iterator[tuple[str, bool]]:
    made = walked.made
    rows = figures(made)["frames"]
    yield (
        "JSON",
        {"name": frame.name, "kind": frame.kind}.items()
        <= next(r for r in rows if r["name"] == frame.name).items(),
    )
    yield "explain", frame.name in _sources(made, "member:member-2x2")
    yield "explain of the cloth", frame.name in _sources(made, "fabric:fabric-plain:")
    yield "comparison", frame.name in walked.against
    front = metres(frame.width) * metres(frame.height)
    yield "room", walked.heard.get(frame.name) == pytest.approx(front)
    yield "mass", frame.mass_kg > 0
    yield "archive", f"[[{frame.kind}]]" in walked.files["job.toml"].decode()
    held = walked.hardware(frame.name)
    yield f"hardware by layout, workbook and purchase {held}", len(set(held)) == 1
    yield "what holds it", bool(frame.fixings) or any(held)


def _sources(made: Estimate, line: str) -> set[str]:
    (one,) = explained(made, line)["lines"]
    return {step["source"] for step in one["trail"]}


def _sheets(frame: Frame, walked: Walked) -> Iterator[tuple[str, bool]]:
    whole = re.compile(rf"(?<!\w){frame.name}(?!\w)")
    held = ("Weights", "Hardware") if any(walked.hardware(frame.name)) else ("Fixings",)
    for title in (*SHEETS, *held):
        yield f"sheet {title}", any(whole.search(text) for text in walked.sheets[title])


def _papers(frame: Frame, walked: Walked) -> Iterator[tuple[str, bool]]:
    kind, papers = PIECES[frame.kind], walked.papers
    yield (
        "quote",
        bool(re.search(rf"^{frame.host} \| \d+ ({kind.word}|{kind.words})\b", papers["quote"], re.MULTILINE)),
    )
    yield "shop", bool(re.search(rf"^{frame.name}\b", papers["shop"], re.MULTILINE))
    if frame.placement.covers == frame.placement.wall != "":
        yield "marking out", bool(re.search(rf"^{frame.name} \|", papers["site"], re.MULTILINE))
        return
    yield "site", f"{frame.name}: {kind.word}, " in papers["site"]
    (piece,) = (p for p in site(walked.made)["pieces"] if p["name"] == frame.name)
    yield "placing", bool(piece["where"])
    yield "sketch", piece["sketch"].startswith("<svg")


def _option(name: str, option: Scope, walked: Walked) -> Iterator[str]:
    """Yield what is wrong with an option without one piece: that is there, another is not, no less price."""
    left_out = name.removeprefix("without ")
    hosts, kept = ({f.host for f in s.layout.frames} for s in (walked.made.scope, option))
    if kept != hosts - {left_out}:
        yield f"{left_out}: option without it builds {sorted(kept)}"
    prices = [walked.made.pricing.totals(n) for n in range(len(walked.made.options) + 1)]
    price = next(p.price for p in prices if p.case == name)
    if price >= prices[0].price:
        yield f"{left_out}: option without it costs {price}, with it {prices[0].price}"

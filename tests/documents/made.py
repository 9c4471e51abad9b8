"""The papers of the examples, made once for all tests of documents; and what tests read from them."""

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

from estimator.catalogue.load import load
from estimator.documents.canvas import ASCENT_EM, DESCENT_EM, PaperBox, text_width
from estimator.documents.change_order import change_order
from estimator.documents.files import Wishes, papers, usual_paper
from estimator.documents.render import rendered, shipped
from estimator.pipeline import Estimate, estimate
from tests.examples import estimate_of

ROOT = Path(__file__).parents[2]
EXAMPLES = ("one_panel", "voice_booth", "rehearsal_room", "chapel_annex")
KINDS = tuple(sorted({page.stem for page in shipped().glob("*.html")} - {"base", "change_order"}))
SVG = "{http://www.w3.org/2000/svg}"


def estimate_of_text(text: str, folder: Path) -> Estimate:
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    job, catalogue, _ = load(path)
    return estimate(job, catalogue)


def pages_of(made: Estimate, wishes: Wishes | None = None) -> dict[str, str]:
    """Return every paper by kind, the change order from the estimate to itself with them."""
    pages = papers(made, wishes or Wishes())
    number = made.job.header.number
    found = {k: pages[f"{number}-{k}.html"].decode() for k in KINDS}
    context = {**change_order(made, made), "paper": usual_paper(made.units.display)}
    changed = rendered({"change_order.html": context})["change_order.html"]
    return {**found, "change_order": changed}


@cache
def pages(name: str) -> dict[str, str]:
    return pages_of(estimate_of(name))


def drawings(page: str) -> list[ET.Element]:
    """Return every drawing of a page, read as strict XML."""
    return [ET.fromstring(text) for text in re.findall(r"<svg\b.*?</svg>", page, re.DOTALL)]  # noqa: S314 - ours


@dataclass(frozen=True)
class Letters:
    text: str
    box: PaperBox


def letters(drawing: ET.Element) -> Iterator[Letters]:
    """Yield every text of a drawing with the box it takes, from its attributes."""
    size = float(drawing.get("font-size", "0"))
    yield from _letters(drawing, "start", size)


def _letters(element: ET.Element, anchor: str, size: float) -> Iterator[Letters]:
    anchor = element.get("text-anchor", anchor)
    size = float(element.get("font-size", size))
    if element.tag.removeprefix(SVG) == "text":
        yield Letters(element.text or "", _box(element, anchor, size))
    for child in element:
        yield from _letters(child, anchor, size)


def _box(element: ET.Element, anchor: str, size: float) -> PaperBox:
    x, y = float(element.get("x", "nan")), float(element.get("y", "nan"))
    wide = text_width(element.text or "", size)
    left = {"start": 0.0, "middle": -wide / 2, "end": -wide}[anchor]
    if "rotate(-90" in element.get("transform", ""):
        return PaperBox(x - ASCENT_EM * size, y - left - wide, size * (ASCENT_EM + DESCENT_EM), wide)
    return PaperBox(x + left, y - ASCENT_EM * size, wide, size * (ASCENT_EM + DESCENT_EM))


def view_of(drawing: ET.Element) -> PaperBox:
    return PaperBox(*(float(n) for n in drawing.get("viewBox", "").split()))


class Text(HTMLParser):
    """Reads a page's text, drawings and styles left out; refuses tags that do not close in order."""

    EMPTY = frozenset({"meta", "br", "rect", "line", "circle", "polygon", "polyline", "path", "img", "link"})

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.parts: list[str] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:  # noqa: ARG002
        if tag not in self.EMPTY:
            self.open.append(tag)
        if tag in {"p", "tr", "li", "h1", "h2", "h3", "h4", "dd", "div", "figcaption", "caption"}:
            self.parts.append("\n")
        elif tag in {"td", "th", "dt", "br"}:
            self.parts.append(" | " if tag != "br" else " / ")

    def handle_startendtag(self, tag: str, attrs: object) -> None:
        pass

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        last = self.open.pop()
        assert last == tag, f"</{tag}> closes <{last}> near {''.join(self.parts)[-80:]!r}"

    def handle_data(self, data: str) -> None:
        if not {"style", "svg", "title"} & set(self.open):
            self.parts.append(re.sub(r"\s+", " ", data))


def text_of(page: str) -> str:
    """Return a page's text, a line for each row, paragraph and heading."""
    reader = Text()
    reader.feed(page)
    assert not reader.open, f"never closed: {reader.open}"
    lines = (re.sub(r"\s+", " ", line).strip(" |") for line in "".join(reader.parts).split("\n"))
    return "\n".join(line for line in lines if line)

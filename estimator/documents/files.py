"""Everything an estimate writes, into one folder: the workbook, and beside it the papers."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import cast

from estimator.core.errors import Problem, refuse_all
from estimator.core.files import new_folder, save_all
from estimator.core.units import Display
from estimator.documents.change_order import change_order
from estimator.documents.order import order
from estimator.documents.pdf import Way, pdfs
from estimator.documents.quote import PriceBy, heading, quote
from estimator.documents.render import rendered
from estimator.documents.shop import shop
from estimator.documents.site import site
from estimator.pipeline import Estimate
from estimator.tables.book import book_of
from estimator.workbook.build import workbook_bytes
from estimator.workbook.pages import Paper

PAPERS = ("letter", "a4")
PRICES_BY = ("sum", "section", "wall")


@dataclass(frozen=True, slots=True)
class Wishes:
    """How the papers are wanted.

    Attributes:
        paper: 'letter' or 'a4'; '' for what the job's display units go with.
        price_by: how the quote shares its price: 'sum', 'section' or 'wall'.
        templates: an office's own templates; None for the shipped ones.
        order_prices: the order to suppliers carries what we expect to pay.
        pdf: how a PDF of each paper is made as well; None for none.
    """

    paper: str = ""
    price_by: str = "sum"
    templates: Path | None = None
    order_prices: bool = False
    pdf: Way | None = None


def usual_paper(display: Display) -> Paper:
    """Return the paper that display units go with: ISO A4 with metric ones, Letter with inches."""
    return "a4" if display == "metric" else "letter"


def _paper(estimate: Estimate, wishes: Wishes) -> Paper:
    return cast("Paper", wishes.paper) if wishes.paper else usual_paper(estimate.units.display)


def contents(estimate: Estimate, wishes: Wishes) -> dict[str, bytes]:
    """Return every file of an estimate by name.

    Raises:
        InputError: an unknown paper or sharing of the price, or text that no workbook can hold.
        OutputError: a template that cannot be filled.
    """
    _known(wishes)
    header = estimate.job.header
    properties = {
        "job_id": header.number,
        "title": f"{header.number} {header.title}",
        "date": header.date.isoformat(),
    }
    book = workbook_bytes(book_of(estimate), properties, _paper(estimate, wishes))
    pages = papers(estimate, wishes)
    printed = pdfs(pages, wishes.pdf) if wishes.pdf else {}
    return {f"{header.number}-workbook.xlsx": book, **pages, **printed}


def _known(wishes: Wishes) -> None:
    refuse_all(
        [
            Problem(where, f"{given!r} is not known here", f"Write {' or '.join(known)}.")
            for where, given, known in (
                ("--paper", wishes.paper, ("", *PAPERS)),
                ("--price-by", wishes.price_by, PRICES_BY),
            )
            if given not in known
        ]
    )


def papers(estimate: Estimate, wishes: Wishes) -> dict[str, bytes]:
    """Return each paper by file name, one self-contained HTML file each.

    Raises:
        OutputError: a template that cannot be filled.
    """
    number, paper = estimate.job.header.number, _paper(estimate, wishes)
    contexts = {
        "quote.html": quote(estimate, cast("PriceBy", wishes.price_by)),
        "order.html": order(estimate, prices=wishes.order_prices),
        "shop.html": shop(estimate),
        "site.html": site(estimate),
        "survey.html": heading(estimate),
    }
    filled = rendered({n: {**c, "paper": paper} for n, c in contexts.items()}, wishes.templates)
    return {f"{number}-{name}": page.encode() for name, page in filled.items()}


def change_order_page(before: Estimate, after: Estimate, wishes: Wishes) -> bytes:
    """Return the change order from what was agreed to what is now wanted.

    Raises:
        InputError: an unknown paper.
        OutputError: a template that cannot be filled.
    """
    _known(wishes)
    name, context = "change_order.html", {**change_order(before, after), "paper": _paper(after, wishes)}
    return rendered({name: context}, wishes.templates)[name].encode()


def write_all(
    estimate: Estimate,
    out: Path,
    wishes: Wishes,
    *,
    force: bool,
    more: Mapping[Path, bytes] = MappingProxyType({}),
) -> tuple[Path, ...]:
    """Write workbook and papers into `out`, and what `more` there is to go there; all of them or none.

    Raises:
        OutputError: a file is there already without `force`, or the disk refused; nothing is written.
    """
    files = {**{out / name: body for name, body in contents(estimate, wishes).items()}, **more}
    with new_folder(out):
        save_all(files, force=force)
    return tuple(files)

"""From a job and its estimate to what is filed: the one place where the archive meets the other rooms."""

import datetime as dt
from decimal import Decimal
from pathlib import Path

from estimator import __version__
from estimator.archive.names import safe_name
from estimator.archive.reopen import CATALOGUE, EDITS, SHELF
from estimator.archive.summary import FiledFirm, FiledTotals, PaymentStep, QuoteLine, Summary, TaxLine
from estimator.catalogue.layers import LAYERED, on_shelf_as, under
from estimator.catalogue.load import shelf_of, sources
from estimator.catalogue.shelf import DATA, TABLES, on_shelf
from estimator.core.money import rounded
from estimator.documents.files import Wishes, contents
from estimator.job.document import read_document
from estimator.office.edits import edits_path
from estimator.pipeline import Estimate

PERCENT = Decimal(100)
AREA_PLACES = 4
LONGEST_STEM = 64


def gather(
    job_path: Path, estimate: Estimate, wishes: Wishes | None = None
) -> tuple[Summary, dict[str, Path | bytes]]:
    """Return the record of a job's quote, and the files to keep with it, each by its name in the folder.

    Args:
        job_path: the job file; where it is a link, the real one is filed.
        estimate: what it comes to.
        wishes: how the papers are wanted.

    Returns:
        The record, its revision left to the archive; and job file, the office's edits if any, price list,
        practice, terms and labour rates as used, the tables that every estimate reads, workbook and papers.
        What lies over another file of the shop is filed with that in a folder of their own, as they lay
        beside each other.
    """
    job, edits = job_path.resolve(), edits_path(job_path)
    stem = safe_name(job.stem, "job", LONGEST_STEM)
    files: dict[str, Path | bytes] = {f"{stem}.toml": job}
    if edits.is_file():
        files[f"{stem}{EDITS}"] = edits.resolve()
    used, shelf = sources(estimate.job.header, job.parent), shelf_of(estimate.job.header, job.parent)
    catalogue = {f"{key}{path.suffix}": path for key, path in used.items()}
    for kind in LAYERED:
        found = under(read_document(used[kind]), used[kind], kind, shelf)
        if found and {DATA, shelf} & set(found[0].parents):
            files[f"{SHELF}{on_shelf_as(kind, found[0].stem)}"] = found[0]
        elif found:
            del catalogue[f"{kind}{used[kind].suffix}"]
            catalogue |= {f"{kind}/{safe_name(path.name)}": path for path in (found[0], used[kind])}
    files |= {f"{CATALOGUE}{name}": path.resolve() for name, path in catalogue.items()}
    files |= {f"{SHELF}{name}": on_shelf(name, shelf) for name in TABLES}
    return summary_of(estimate), {**files, **contents(estimate, wishes or Wishes())}


def summary_of(estimate: Estimate) -> Summary:
    """Return the record of an estimate's base; the price is shared over its sections, by cost."""
    header, t = estimate.job.header, estimate.totals
    firm = estimate.catalogue.practice.firm
    return Summary(
        number=header.number,
        revision=None,
        client=header.client,
        title=header.title,
        site=header.site,
        date=header.date,
        currency=header.currency,
        totals=FiledTotals(
            t.materials,
            t.labour,
            t.other + t.at_cost,
            t.overhead,
            t.contingency,
            t.cost,
            t.profit,
            t.margin,
            t.price,
            t.total,
        ),
        taxes=tuple(TaxLine(x.name, x.rate * PERCENT, x.base, x.amount, x.number) for x in t.taxes),
        payments=tuple(PaymentStep(f"{p.label}, {p.when}", p.amount) for p in t.payments),
        area_m2=rounded(estimate.scope.layout.covered_m2, AREA_PLACES),
        days=Decimal(estimate.scope.schedule.days_on_site),
        lines=tuple(
            QuoteLine(name, name, Decimal(1), "sum", amount) for name, amount in estimate.shares.section
        ),
        program=__version__,
        valid_until=header.date + dt.timedelta(days=estimate.pricing.valid_days),
        hours=tuple(estimate.scope.labour.hours.items()),
        firm=FiledFirm(firm.name, firm.address, firm.country, firm.registration),
    )

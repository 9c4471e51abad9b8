"""An input of every column, changed one by one: each figure is then a fresh run's, or a check says 'look'.

In the metric example. `sweep` does it for the price, with every input of every example.
"""

from collections.abc import Iterator
from functools import cache

import pytest

from estimator.calc.tables import Book, Table
from estimator.catalogue.load import load
from estimator.catalogue.records import Catalogue
from estimator.core.errors import InputError
from estimator.job.description import Job
from estimator.pipeline import estimate
from estimator.tables.book import book_of
from tests.end_to_end.office import EXAMPLES, Change, Office, changes, same, without_days

CONTROL = {
    "checks", "master", "as_run", "as_run_choices", "days_as_run", "bindings", "guards", "rows_kept",
    "emptied", "prices_kept", "labour_rates_kept",
}  # fmt: skip
DECIDED = {"schedule": ("plan_days", "plan_shop_days", "plan_site_days", "plan_trips", "plan_returns")}
"""What only the program finds, by table: where it moves a check says 'look', as no formula follows."""


@cache
def described(name: str) -> tuple[Job, Catalogue]:
    """Return an example whose price does not follow the day plan, which only the program makes."""
    job, catalogue, _ = load(EXAMPLES / name / "job.toml")
    return job, without_days(catalogue)


def one_of_each(book: Book) -> Iterator[Change]:
    """Yield a change of one number or choice of every column."""
    seen = set()
    for change in changes(book):
        column, text = (change.field.table, change.field.key), isinstance(change.field.values[0], str)
        if column not in seen and (change.field.choices or not text):
            seen.add(column)
            yield change


def follows(office: Office, fresh: Book) -> bool:
    """Return whether every figure is that of a fresh run, each table of the same shape."""
    tables = (table for sheet in office.book.sheets for table in sheet.tables if table.key not in CONTROL)
    return all(_same(office, table, fresh) for table in tables)


def _same(office: Office, table: Table, fresh: Book) -> bool:
    formulas = [f for f in table.fields if f.exprs or f.key in DECIDED.get(table.key, ())]
    if not formulas:
        return True
    new = fresh.table(table.key)
    return new.count == table.count and all(
        same(value, office.value(field, i))
        for field in formulas
        for i, value in enumerate(new[field.key].values)
    )


@pytest.mark.slow
@pytest.mark.parametrize(("name", "least"), [("voice_booth", 60)])
def test_nothing_is_wrong_in_silence(name: str, least: int) -> None:
    job, catalogue = described(name)
    office = Office(book_of(estimate(job, catalogue)))
    silent, followed, refused = [], 0, []
    for change in one_of_each(office.book):
        try:
            fresh = book_of(estimate(job, catalogue, {change.key: change.value}))
        except InputError:
            refused.append(change.key)
            continue
        office.put(change)
        right, looks = follows(office, fresh), office.looks()
        followed += right and not looks
        if not right and not looks:
            silent.append(f"{change.key} = {change.value}")
    assert silent == []
    assert len(refused) <= 1  # a tax on purchases that is worked out on the price cannot be
    assert followed >= least  # options follow prices, packs, wages, rates and terms, and nothing else

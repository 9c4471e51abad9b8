"""A filed quote opened again comes to what it was filed at; what is not whole is not opened."""

import datetime as dt
from decimal import Decimal as D
from pathlib import Path

import pytest

from estimator.archive.gather import gather
from estimator.archive.reopen import reopen
from estimator.archive.store import file_quote
from estimator.catalogue.load import DATA, load
from estimator.core.errors import ArchiveError, InputError
from estimator.office.edits import Edit, edits_path, load_edits, save_edits
from estimator.pipeline import estimate

EXAMPLES = Path(__file__).parents[2] / "examples"
NOW = dt.datetime(2026, 3, 2, tzinfo=dt.UTC)


@pytest.fixture(params=["one_panel", "voice_booth"])
def filed(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Return the folder of a filed example."""
    path = EXAMPLES / request.param / "job.toml"
    job, catalogue, _ = load(path)
    quote, sources = gather(path, estimate(job, catalogue))
    return tmp_path / file_quote(tmp_path, quote, sources, NOW).folder


def test_it_comes_to_what_it_was_filed_at(filed: Path) -> None:
    opened = reopen(filed)
    assert set(opened.instead.header) == {"prices", "practice", "terms", "labour"}
    job, catalogue, _ = load(opened.job, instead=opened.instead)
    totals = estimate(job, catalogue).totals
    assert (totals.price, totals.total) == (opened.quote.totals.price, opened.quote.totals.total)


def test_a_missing_file_is_named(filed: Path) -> None:
    (filed / "catalogue" / "labour.toml").unlink()
    with pytest.raises(ArchiveError, match=r"labour\.toml: is missing"):
        reopen(filed)


def test_a_changed_file_is_named(filed: Path) -> None:
    (filed / "job.toml").write_text("schema = 1\n")
    with pytest.raises(ArchiveError, match=r"job\.toml: is damaged"):
        reopen(filed)


def test_a_quote_filed_without_a_job_cannot_be_opened(tmp_path: Path) -> None:
    path = EXAMPLES / "one_panel" / "job.toml"
    job, catalogue, _ = load(path)
    quote, _ = gather(path, estimate(job, catalogue))
    place = tmp_path / file_quote(tmp_path, quote, {"quote.html": b"x"}, NOW).folder
    with pytest.raises(InputError, match="without a job file"):
        reopen(place)


LAID_OVER = {
    "terms": ("terms/default.toml", 'over = "shop.toml"\nprofit = { margin = "31 %" }\n', ("HST", "GST")),
    "labour": (
        "labour.toml", 'over = "shop.toml"\n[[wage]]\nkey = "joiner"\nwage = 51\n',
        ("wage = 24.00", "wage = 99.00"),
    ),
    "practice": (
        "practice/metric.toml", 'over = "shop.toml"\n[values.coats]\nvalue = "3"\nsource = "x"\n',
        ('value = "3.2 mm"', 'value = "9 mm"'),
    ),
}  # fmt: skip
"""By kind: the shop's own file, what lies over it, and how the shop's file is changed after the quote."""


@pytest.mark.parametrize("kind", LAID_OVER)
def test_what_lies_over_a_file_of_the_shop_is_filed_and_opened_with_it(tmp_path: Path, kind: str) -> None:
    name, own, later = LAID_OVER[kind]
    shop = (DATA / name).read_text(encoding="utf-8")
    (tmp_path / "shop.toml").write_text(shop, encoding="utf-8")
    head = "" if kind == "practice" else "schema = 1\n"
    (tmp_path / "own.toml").write_text(f'{head}name = "Own (invented)"\n{own}', encoding="utf-8")
    text = (EXAMPLES / "one_panel" / "job.toml").read_text(encoding="utf-8")
    path = tmp_path / "job.toml"
    path.write_text(text.replace('"CAD"', f'"CAD"\n{kind} = "own.toml"', 1), encoding="utf-8")
    job, catalogue, _ = load(path)
    quote, sources = gather(path, estimate(job, catalogue))
    place = tmp_path / "a" / file_quote(tmp_path / "a", quote, sources, NOW).folder
    assert later[0] in shop
    (tmp_path / "shop.toml").write_text(shop.replace(*later), encoding="utf-8")
    opened = reopen(place)
    job, catalogue, _ = load(opened.job, instead=opened.instead)
    assert getattr(catalogue, kind).name == "Own (invented)"
    assert estimate(job, catalogue).totals.price == quote.totals.price


def test_a_quote_filed_before_tables_were_is_opened_with_those_shipped(tmp_path: Path) -> None:
    path = EXAMPLES / "one_panel" / "job.toml"
    job, catalogue, _ = load(path)
    quote, sources = gather(path, estimate(job, catalogue))
    older = {name: source for name, source in sources.items() if not name.startswith("catalogue/shipped/")}
    opened = reopen(tmp_path / file_quote(tmp_path, quote, older, NOW).folder)
    job, catalogue, _ = load(opened.job, instead=opened.instead)
    assert estimate(job, catalogue).totals.price == quote.totals.price


def test_a_job_that_is_a_link_with_a_long_name_is_filed_with_its_edits_and_opened(tmp_path: Path) -> None:
    """The job and its files are where the real file is: names count from there, edits stand there."""
    real = tmp_path / "shop" / f"{'long ' * 30}job.toml"
    real.parent.mkdir()
    text = (EXAMPLES / "one_panel" / "job.toml").read_text(encoding="utf-8")
    real.write_text(text.replace('"CAD"', '"CAD"\nprices = "ours.csv"', 1), encoding="utf-8")
    (real.parent / "ours.csv").write_bytes((DATA / "prices.csv").read_bytes())
    save_edits(edits_path(real), [Edit("waste.percent.boards", None, D(5))], "2026-001")
    link = tmp_path / "desk" / "current.toml"
    link.parent.mkdir()
    link.symlink_to(real)
    assert edits_path(link) == edits_path(real)
    job, catalogue, _ = load(link)
    quote, sources = gather(link, estimate(job, catalogue))
    folder = tmp_path / "a" / file_quote(tmp_path / "a", quote, sources, NOW).folder
    opened = reopen(folder)
    assert load_edits(edits_path(opened.job), "2026-001") == load_edits(edits_path(real), "2026-001")
    assert len(load_edits(edits_path(opened.job), "2026-001")) == 1
    job, catalogue, _ = load(opened.job, instead=opened.instead)
    assert estimate(job, catalogue).totals.price == quote.totals.price

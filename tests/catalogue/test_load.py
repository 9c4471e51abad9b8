"""A job with the catalogue it names: paths from the job file's folder, and all problems in one run."""

import shutil
from pathlib import Path

import pytest

from estimator.catalogue.load import DATA, load, load_catalogue
from estimator.core.errors import InputError, Problem
from estimator.job.load import load_job

EXAMPLES = Path(__file__).parents[2] / "examples"
JOBS = sorted(path.parent.name for path in EXAMPLES.glob("*/job.toml"))


def _job(folder: Path, *changes: tuple[str, str]) -> Path:
    text = (EXAMPLES / "one_panel" / "job.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return path


def _problems(path: Path) -> tuple[Problem, ...]:
    with pytest.raises(InputError) as caught:
        load(path, "job.toml")
    return caught.value.problems


@pytest.mark.parametrize("name", JOBS)
def test_every_example_agrees_with_its_catalogue(name: str) -> None:
    job, catalogue, warnings = load(EXAMPLES / name / "job.toml")
    assert warnings == ()
    assert {item.currency for item in catalogue.items} == {job.header.currency}


def test_the_catalogue_alone() -> None:
    path = EXAMPLES / "one_panel" / "job.toml"
    job, _ = load_job(path)
    catalogue = load_catalogue(job, path.parent)
    assert catalogue.item("member-2x2-8").product == "member-2x2"
    assert [item.key for item in catalogue.sizes("paint-trim")] == ["paint-trim-qt", "paint-trim-gal"]
    assert catalogue.kind("casing-half") == "casing"
    with pytest.raises(InputError, match="no such product"):
        catalogue.sizes("gold")


def test_paths_count_from_the_job_files_folder(tmp_path: Path) -> None:
    (tmp_path / "shop").mkdir()
    (tmp_path / "jobs").mkdir()
    shutil.copy(DATA / "prices.csv", tmp_path / "shop" / "ours.csv")
    (tmp_path / "shop" / "ours.toml").write_text(
        'name = "Ours"\n[values.saw_kerf]\nvalue = "3/32 in"\nsource = "our blade"\n', encoding="utf-8"
    )
    keys = 'currency = "CAD"\nprices = "../shop/ours.csv"\npractice = "../shop/ours.toml"'
    _, catalogue, _ = load(_job(tmp_path / "jobs", ('currency = "CAD"', keys)))
    assert catalogue.prices_name == "../shop/ours.csv"
    assert catalogue.practice.values["saw_kerf"].source == "our blade"


def test_a_file_that_is_not_there_is_named_at_its_line(tmp_path: Path) -> None:
    path = _job(tmp_path, ('currency = "CAD"', 'currency = "CAD"\nprices = "none.csv"\nterms = "hts"'))
    first, second = _problems(path)
    assert (first.where, first.line) == ("job.prices", 11)
    assert (second.where, second.line) == ("job.terms", 12)


def test_faults_of_the_job_and_of_all_its_files_come_in_one_run(tmp_path: Path) -> None:
    keys = 'currency = "CAD"\nterms = "t.toml"\npractice = "p.toml"\nlabour = "l.toml"'
    for name in ("t", "p", "l"):
        (tmp_path / f"{name}.toml").write_text("oops", encoding="utf-8")
    path = _job(
        tmp_path, ('currency = "CAD"', keys), ('on = "north"', 'on = "nort"'), ("fabric-plain", "silk")
    )
    assert {(p.file, p.where) for p in _problems(path)} == {
        ("job.toml", "wall[0].on"),
        ("job.toml", "make-up.standard.fabric"),
        ("t.toml", "file"),
        ("p.toml", "file"),
        ("l.toml", "file"),
    }


@pytest.mark.parametrize(("key", "shipped"), [("terms", "terms/none.toml"), ("labour", "labour.toml")])
def test_terms_and_wages_in_another_currency_are_refused(tmp_path: Path, key: str, shipped: str) -> None:
    text = (DATA / shipped).read_text(encoding="utf-8")
    own = text.replace("schema = 1\n", 'schema = 1\ncurrency = "USD"\n', 1)
    (tmp_path / "own.toml").write_text(own, encoding="utf-8")
    path = _job(tmp_path, ('currency = "CAD"', f'currency = "CAD"\n{key} = "own.toml"'))
    (problem,) = _problems(path)
    assert (problem.where, problem.line) == ("job.currency", 10)
    assert "in USD" in problem.what


def test_old_prices_warn_and_do_not_refuse(tmp_path: Path) -> None:
    # The shipped prices are of 2026-01-15; practice names prices over 180 days old: from 2026-07-15 on.
    for day, count in (("2026-07-14", 0), ("2026-07-15", 1)):
        _, _, warnings = load(_job(tmp_path, ("2026-03-02", day)))
        assert [w.severity for w in warnings] == ["warning"] * count


def test_a_tax_out_of_force_warns(tmp_path: Path) -> None:
    _, _, warnings = load(_job(tmp_path, ("2026-03-02", "2009-01-01")))
    assert any("'HST' is not in force" in warning.what for warning in warnings)


def test_metric_and_imperial_stock_that_look_alike_are_told_apart(tmp_path: Path) -> None:
    prices = (DATA / "prices.csv").read_text(encoding="utf-8")
    (tmp_path / "p.csv").write_text(
        prices.replace(",1 1/2 in,24 in,48 in,", ",38 mm,24 in,48 in,"), encoding="utf-8"
    )
    (problem,) = _problems(_job(tmp_path, ('currency = "CAD"', 'currency = "CAD"\nprices = "p.csv"')))
    assert "38 mm" in problem.what
    assert "38.1 mm" in problem.what
    assert problem.fix.startswith("Write a gap of 0.1 mm")


def test_a_price_list_without_hardware_covers_is_good_enough(tmp_path: Path) -> None:
    rows = (DATA / "prices.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    kept = [row for row in rows if not row.startswith("guard-")]
    assert len(kept) == len(rows) - 1
    (tmp_path / "older.csv").write_text("".join(kept), encoding="utf-8")
    _, catalogue, _ = load(_job(tmp_path, ('currency = "CAD"', 'currency = "CAD"\nprices = "older.csv"')))
    assert "guard-hardware" not in catalogue.by_product

"""Random jobs: every spreadsheet program works out what the engine does, and the rules hold.

The nightly command ``python -m tests.benchmarks.engines_agree`` compares hundreds; here are a few.
"""

import pytest

from tests.benchmarks.engines_agree import Made, differences, drawn, written
from tests.workbook.recalculate import Engine, gnumeric
from tests.workbook.rules import breaches

COUNT, SEED = 6, 5
pytestmark = pytest.mark.slow
FULL_RULES = 2


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> list[Made]:
    return list(written(drawn(COUNT, SEED), tmp_path_factory.mktemp("drawn"), 0))


def wrong(made: list[Made], engine: Engine) -> list[str]:
    return [f"{p.where} {p.what}" for _, p in differences(made, engine)]


def test_most_drawn_jobs_are_taken_on_and_they_differ(made: list[Made]) -> None:
    assert len(made) >= COUNT - 2
    assert len({text.job for text, _, _ in made}) == len(made)
    displays = {line for text, _, _ in made for line in text.job.splitlines() if line.startswith("display")}
    assert len(displays) == 2


def test_ironcalc_agrees(made: list[Made]) -> None:
    assert wrong(made, "ironcalc") == []


@pytest.mark.libreoffice
def test_libreoffice_agrees(made: list[Made]) -> None:
    assert wrong(made, "libreoffice") == []


@pytest.mark.skipif(gnumeric() is None, reason="gnumeric is not installed here")
def test_gnumeric_agrees(made: list[Made]) -> None:
    assert wrong(made, "gnumeric") == []


def test_rules_hold(made: list[Made]) -> None:
    smallest = sorted(made, key=lambda m: m[2].stat().st_size)[:FULL_RULES]
    assert [breaches(path.read_bytes()) for _, _, path in smallest] == [{}] * FULL_RULES

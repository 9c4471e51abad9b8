"""Each broken example names everything wrong with it in one run, in the words that stand beside it."""

from pathlib import Path

import pytest

from estimator.catalogue.load import load
from estimator.core.errors import InputError

BROKEN = Path(__file__).parents[2] / "examples" / "broken"
NAMES = sorted(path.name for path in BROKEN.iterdir())


def test_there_are_broken_jobs() -> None:
    assert len(NAMES) > 12


@pytest.mark.parametrize("name", NAMES)
def test_a_broken_job_says_what_is_expected(name: str) -> None:
    folder = BROKEN / name
    with pytest.raises(InputError) as caught:
        load(folder / "job.toml", "job.toml")
    expected = (folder / "expected.txt").read_text(encoding="utf-8").splitlines()
    assert [str(problem) for problem in caught.value.problems] == expected


@pytest.mark.parametrize("name", NAMES)
def test_every_refusal_names_file_line_what_and_fix(name: str) -> None:
    with pytest.raises(InputError) as caught:
        load(BROKEN / name / "job.toml", "job.toml")
    for problem in caught.value.problems:
        length = len((BROKEN / name / problem.file).read_bytes().splitlines())
        assert 1 <= problem.line <= length
        assert problem.where
        assert problem.what
        assert problem.fix.endswith((".", "?"))

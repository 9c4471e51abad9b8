"""Reading files: anything at all may stand behind the path, and what comes back is a Problem."""

import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.core.errors import InputError, Problem
from estimator.job.description import job_file
from estimator.job.document import parse_document, read_document, validated
from estimator.job.load import load_job


def _problem(path: Path) -> Problem:
    with pytest.raises(InputError) as caught:
        load_job(path, "job.toml")
    (problem,) = caught.value.problems
    assert problem.file == "job.toml"
    return problem


def _write(tmp_path: Path, content: bytes) -> Path:
    path = tmp_path / "job.toml"
    path.write_bytes(content)
    return path


def test_a_missing_file(tmp_path: Path) -> None:
    assert "no such file" in _problem(tmp_path / "none.toml").what


def test_a_folder(tmp_path: Path) -> None:
    assert "folder" in _problem(tmp_path).what


def test_a_path_with_a_nul() -> None:
    assert "no such file" in _problem(Path("a\0b")).what


def test_a_pipe_does_not_block(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert "no such file" in _problem(tmp_path / "pipe").what


def test_ten_megabytes(tmp_path: Path) -> None:
    assert "over 1 MB" in _problem(_write(tmp_path, b"a = 1\n" * 1_700_000)).what


def test_another_encoding_names_the_line(tmp_path: Path) -> None:
    problem = _problem(_write(tmp_path, 'schema = 1\ntitle = "Sälchen"\n'.encode("latin-1")))
    assert (problem.line, problem.what) == (2, "byte 0xe4 is not UTF-8 text")


def test_a_byte_order_mark_is_read_over(tmp_path: Path) -> None:
    assert read_document(_write(tmp_path, b"\xef\xbb\xbfschema = 1\n")).data == {"schema": 1}


@pytest.mark.parametrize("opening", ["[", "{a="])
def test_deep_nesting(tmp_path: Path, opening: str) -> None:
    problem = _problem(_write(tmp_path, b"a = " + opening.encode() * 100_000))
    assert "nested too deeply" in problem.what or "not TOML" in problem.what


def test_nesting_that_toml_still_reads_finds_its_lines_or_the_first(tmp_path: Path) -> None:
    text = "\n\na = " + "[" * 300 + "]" * 300
    with pytest.raises(InputError) as caught:
        load_job(_write(tmp_path, text.encode()))
    assert all(p.line >= 1 for p in caught.value.problems)


@pytest.mark.parametrize(
    ("text", "line", "part"),
    [
        ('a = 1\nb = "open\nc = 3', 2, "quotation mark"),
        ("a = 1\n\0", 2, "not TOML"),
        ("a = 1\na = 2", 2, "not TOML"),
        ("a = 2026-02-30", 1, "not TOML"),
        ("a = 1\nb = [", 2, "end of the file"),
        ("x = " + "9" * 5000, 1, "not TOML"),
    ],
)
def test_text_that_is_not_toml(text: str, line: int, part: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_document(text, "job.toml")
    (problem,) = caught.value.problems
    assert problem.line == line
    assert part in str(problem)


@given(st.text(max_size=200))
def test_any_text_is_refused_without_a_fault(text: str) -> None:
    with pytest.raises(InputError):
        validated(job_file(), parse_document(text, "job.toml"))


@given(st.binary(max_size=60))
def test_any_bytes_are_refused_without_a_fault(tmp_path_factory: pytest.TempPathFactory, raw: bytes) -> None:
    path = tmp_path_factory.mktemp("raw") / "job.toml"
    path.write_bytes(raw)
    with pytest.raises(InputError):
        load_job(path)

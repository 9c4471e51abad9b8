"""An office's own template shows data and no more: it reaches nothing, changes nothing, and it ends."""

import os
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from estimator.cli.app import gather
from estimator.core.errors import OutputError, Problem
from estimator.documents.files import Wishes, papers
from estimator.documents.quote import heading
from estimator.documents.render import Bounds, copy_templates, filled_apart, rendered, shipped
from tests.documents.made import EXAMPLES, ROOT
from tests.examples import estimate_of

SMALL = Bounds(processor_s=2, memory_bytes=128 << 20, characters=100_000)
CONTEXT = {**heading(estimate_of("one_panel")), "names": ["a", "b"], "paper": "a4"}


def refusal(text: str | bytes, folder: Path, context: dict[str, Any] | None = None) -> Problem:
    """Return the one problem of a template with its text in the third line."""
    body = text if isinstance(text, bytes) else text.encode()
    (folder / "own.html").write_bytes(b"<p>\n</p>\n" + body)
    with pytest.raises(OutputError) as refused:
        filled_apart((folder, shipped()), {"own.html": context or CONTEXT}, SMALL)
    (problem,) = refused.value.problems
    assert refused.value.exit_code == 4
    return problem


@pytest.mark.parametrize(
    "text",
    [
        "{{ ''.__class__.__mro__[1].__subclasses__() }}",
        "{{ cycler.__init__.__globals__.os.popen('touch broken-out').read() }}",
        "{{ lipsum.__globals__['os'].system('touch broken-out') }}",
        "{{ self.__init__.__globals__ }}",
        "{{ (''|attr('__class__')).mro() }}",
        "{{ ('{0.__class__.__init__.__globals__}').format(firm) }}",
        "{{ firm.__class__ }}",
        "{{ firm.model_dump() }}",
        "{{ names.append('c') }}",
        "{{ names.clear() }}",
    ],
)
def test_nothing_leads_into_the_program_or_changes_what_is_shown(text: str, tmp_path: Path) -> None:
    problem = refusal(text, tmp_path)
    assert "unsafe" in problem.what or "no attribute" in problem.what or "not safely" in problem.what
    assert (problem.file, problem.line) == (str(tmp_path / "own.html"), 3)
    assert not Path("broken-out").exists()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{{ 1 / 0 }}", "division by zero"),
        ("{{ 1 + 'a' }}", "unsupported operand"),
        ("{{ no_such_name }}", "'no_such_name' is undefined"),
        ("{{ firm.no_such }}", "has no attribute 'no_such'"),
        ("{{ 'a' | no_such }}", "No filter named 'no_such'"),
        ("{% if %}", "Expected an expression"),
        ("{% for %}", "Expected"),
        ("{% include 'own.html' %}", "without end"),
        ("{% extends 'own.html' %}", "without end"),
        ("{% macro m() %}{{ m() }}{% endmacro %}{{ m() }}", "without end"),
        ("{% include 'no-such.html' %}", "no-such.html"),
        (b"caf\xe9", "not UTF-8"),
        ("{{ range(10 ** 9) }}", "Range too big"),
    ],
)
def test_a_mistake_is_told_with_its_file_and_line(text: str | bytes, said: str, tmp_path: Path) -> None:
    problem = refusal(text, tmp_path)
    assert said in problem.what
    assert (problem.file, problem.line) == (str(tmp_path / "own.html"), 3)


@pytest.mark.parametrize(
    "name", ["../secret.html", "/etc/hostname", "out.html", "beside/secret.html", "pipe"]
)
def test_no_file_outside_the_folder_is_read(name: str, tmp_path: Path) -> None:
    own, beside = tmp_path / "own", tmp_path / "beside"
    own.mkdir()
    beside.mkdir()
    (tmp_path / "secret.html").write_text("secret")
    (beside / "secret.html").write_text("secret")
    (own / "out.html").symlink_to(tmp_path / "secret.html")
    (own / "beside").symlink_to(beside)
    os.mkfifo(own / "pipe")
    problem = refusal(f"{{% include {name!r} %}}", own)
    assert "leads out of the folder" in problem.what or name in problem.what
    assert problem.line == 3


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{{ " + "(" * 5000 + "1" + ")" * 5000 + " }}", "nested too deep"),
        ("{% for a in names %}" * 25 + "{% endfor %}" * 25, "too many statically nested blocks"),
    ],
)
def test_what_cannot_even_be_read_is_told_with_its_file(text: str, said: str, tmp_path: Path) -> None:
    problem = refusal(text, tmp_path)
    assert said in problem.what
    assert problem.file == str(tmp_path / "own.html")


LOOP = "{% for a in range(99999) %}" * 3 + "{% endfor %}" * 3


@pytest.mark.skipif(sys.platform != "linux", reason="time and memory are counted by Linux here")
@pytest.mark.parametrize(
    ("text", "said"),
    [
        (LOOP, "takes more than 2 s"),
        ("{% macro m(n) %}{% if n %}{{ m(n - 1) }}{{ m(n - 1) }}{% endif %}{% endmacro %}{{ m(60) }}", "2 s"),
        ("{{ range(99999) | map('center', 9999) | list | length }}", "too much memory"),
        ("{{ 'x' * 10 ** 9 }}", "too much memory"),
        ("{{ '%1000000000d' % 1 }}", "too much memory"),
        ("{{ 'x' | center(10 ** 9) | length }}", "too much memory"),
        (
            "{% set n = namespace(t='x') %}{% for a in range(40) %}{% set n.t = n.t ~ n.t %}{% endfor %}",
            "too much memory",
        ),
        ("{% for a in range(99999) %}{{ a }}, {% endfor %}", "more than 100,000 characters"),
        ("{{ names[0] * 100001 }}", "more than 100,000 characters"),
    ],
)
def test_it_ends_within_its_bounds(text: str, said: str, tmp_path: Path) -> None:
    problem = refusal(text, tmp_path)
    assert said in problem.what
    assert (problem.file, problem.line) == (str(tmp_path / "own.html"), 3)


class Breaking:
    """Ends the process that reads it."""

    def __init__(self, end: Callable[[int], None], how: int) -> None:
        self.end, self.how = end, how

    def __reduce__(self) -> tuple[Any, ...]:
        return self.end, (self.how,)


@pytest.mark.parametrize(
    ("end", "how", "said"),
    [
        (signal.raise_signal, signal.SIGKILL, "takes more than 2 s"),
        (signal.raise_signal, signal.SIGSEGV, "broke the program"),
        (os._exit, 1, "broke the program"),
    ],
)
def test_a_filling_that_is_ended_from_outside_is_told(
    end: Callable[[int], None], how: int, said: str, tmp_path: Path
) -> None:
    problem = refusal("", tmp_path, {"it": Breaking(end, how)})
    assert said in problem.what
    assert problem.file == str(tmp_path)


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_shipped_templates_as_an_offices_own_make_the_same_pages(name: str, tmp_path: Path) -> None:
    copy_templates(tmp_path)
    made = estimate_of(name)
    assert papers(made, Wishes(templates=tmp_path)) == papers(made, Wishes())


def test_the_mark_that_some_editors_put_first_is_no_text(tmp_path: Path) -> None:
    (tmp_path / "survey.html").write_bytes(b"\xef\xbb\xbf" + (shipped() / "survey.html").read_bytes())
    assert rendered({"survey.html": CONTEXT}, tmp_path) == rendered({"survey.html": CONTEXT})


def test_the_command_names_file_and_line_and_writes_nothing(tmp_path: Path) -> None:
    copy_templates(tmp_path / "own")
    broken = tmp_path / "own" / "site.html"
    text = broken.read_text(encoding="utf-8").replace("{% block body %}", "{% block body %}{{ 1 / 0 }}")
    broken.write_text(text, encoding="utf-8")
    line = text[: text.index("1 / 0")].count("\n") + 1
    job = str(ROOT / "examples/one_panel/job.toml")
    words = ["estimate", job, "--out", str(tmp_path / "out"), "--templates", str(tmp_path / "own")]
    done = CliRunner().invoke(gather(), words)
    assert done.exit_code == 4
    assert f"error: {broken}:{line}: template: cannot be filled: division by zero." in done.stderr
    assert not (tmp_path / "out").exists()

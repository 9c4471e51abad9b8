"""The pages are true: the tutorial runs as printed, links lead somewhere, verbs and tests named exist."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from estimator.cli.verbs import VERBS, commands_of
from tests.tutorial import PAGE, commands, followed, run

ROOT = Path(__file__).parents[1]
PAGES = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md"), *(ROOT / "examples").rglob("*.md")])
_LINK = re.compile(r"\[[^\]]*\]\(([^)\s]+)\)")
_VERB = re.compile(r"(?:`|^|\$ |; |&& |/)battenbook ([a-z-]+)(?: ([a-z]+))?", re.MULTILINE)
_TEST = re.compile(r"`(?:tests/)?((?:[a-z_]+/)?test_\w+)(?:\.py)?`")


def named(path: Path) -> str:
    return str(path.relative_to(ROOT))


def anchors(page: Path) -> set[str]:
    """Return the anchors of a page's headings, as they are made for the web."""
    heads = re.findall(r"^#+ (.+)$", page.read_text(encoding="utf-8"), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


def links(page: Path) -> Iterator[str]:
    text = re.sub(r"```.*?```", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    yield from (link for link in _LINK.findall(text) if "://" not in link and not link.startswith("mailto:"))


@pytest.mark.parametrize("page", PAGES, ids=named)
def test_every_relative_link_leads_somewhere(page: Path) -> None:
    broken = []
    for link in links(page):
        target, _, anchor = link.partition("#")
        to = (page.parent / target).resolve() if target else page
        if not to.exists() or (anchor and anchor not in anchors(to)):
            broken.append(link)
    assert broken == []


@pytest.mark.parametrize("page", PAGES, ids=named)
def test_every_verb_named_exists(page: Path) -> None:
    groups = {"archive", "prices", "templates"}
    unknown = []
    for verb, sub in _VERB.findall(page.read_text(encoding="utf-8")):
        known = verb in VERBS
        if known and verb in groups and sub:
            known = sub in commands_of(VERBS[verb][0])[verb].commands
        if not known:
            unknown.append(f"{verb} {sub}")
    assert unknown == []


@pytest.mark.parametrize("page", PAGES, ids=named)
def test_every_test_named_exists(page: Path) -> None:
    missing = [
        name
        for name in _TEST.findall(page.read_text(encoding="utf-8"))
        if not (ROOT / "tests" / f"{name}.py").exists()
        and ("/" in name or not list((ROOT / "tests").rglob(f"{name}.py")))
    ]
    assert missing == []


def test_the_readme_names_every_page_a_reader_needs() -> None:
    linked = set(links(ROOT / "README.md"))
    pages = {f"docs/{p.name}" for p in (ROOT / "docs").glob("*.md")} - {"docs/CHANGELOG.md"}
    assert pages - linked == set()


def test_the_tutorial_prints_what_its_commands_print(tmp_path: Path) -> None:
    page = PAGE.read_text(encoding="utf-8")
    assert followed(page, tmp_path) == page, "run: python -m tests.tutorial --write"


def test_the_tutorial_s_runner_notices_another_output(tmp_path: Path) -> None:
    page = "```console\n$ echo one\ntwo\n```\n"
    assert followed(page, tmp_path) == "```console\n$ echo one\none\n```\n"
    assert list(commands("$ echo one\ntwo\n$ echo three\n")) == [("echo one", "two\n"), ("echo three", "")]
    assert run("exit 3; echo no", tmp_path) == ""


@pytest.mark.parametrize("page", sorted((ROOT / "docs" / "decisions").glob("*.md")), ids=lambda p: p.stem)
def test_a_decision_is_short(page: Path) -> None:
    assert len(page.read_text(encoding="utf-8").splitlines()) <= 40


def test_the_changes_open_with_numbers() -> None:
    text = (ROOT / "docs" / "CHANGELOG.md").read_text(encoding="utf-8")
    first = text.split("\n## ")[1].splitlines()[2]
    assert first.startswith("**Numbers changed**")

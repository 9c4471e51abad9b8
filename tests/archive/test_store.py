"""A filed quote: whole, browsable, never overwritten, and one number to one quote."""

import datetime as dt
import hashlib
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from estimator.archive import ledger, store
from estimator.archive.store import file_quote
from estimator.archive.summary import Summary, read_quote
from estimator.archive.verify import verify
from estimator.core.errors import ArchiveError, InputError, OutputError

Make = Callable[..., Summary]
Sources = dict[str, Path]


def test_the_folder_can_be_read_without_the_program(
    tmp_path: Path, make_quote: Make, sources: Sources, filed: dt.datetime
) -> None:
    done = file_quote(tmp_path / "a", make_quote(), sources, filed)
    folder = tmp_path / "a/2026/Harbour Street Clinic/2026-014-r0"
    assert done == store.Filed("2026-014", 0, "2026/Harbour Street Clinic/2026-014-r0", 5)
    names = sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file())
    assert names == ["documents/quote.html", "job.toml", "manifest.json", "prices.csv", "summary.json"]
    body = json.loads((folder / "manifest.json").read_text())
    assert body["totals"]["total"] == "5457.90"
    assert body["program"] == "0.1.0"
    assert {f["name"]: f["sha256"] for f in body["files"]}["job.toml"] == hashlib.sha256(
        b'number = "2026-014"\n'
    ).hexdigest()
    assert [p.name for p in (tmp_path / "a").iterdir() if not p.name.startswith(".")] == ["2026"]


def test_what_is_filed_is_never_overwritten(
    tmp_path: Path, make_quote: Make, sources: Sources, filed: dt.datetime
) -> None:
    file_quote(tmp_path / "a", make_quote(), sources, filed)
    before = _snapshot(tmp_path / "a")
    for other in ({}, {"client": "Somebody Else"}, {"date": dt.date(2027, 1, 2)}, {"number": "2026‐014"}):
        with pytest.raises(OutputError, match="filed already"):
            file_quote(tmp_path / "a", make_quote(**other), sources, filed)
    assert _snapshot(tmp_path / "a") == before


def _snapshot(root: Path) -> dict[str, bytes]:
    return {p.relative_to(root).as_posix(): p.read_bytes() for p in root.rglob("*") if p.is_file()}


def test_numbers_and_revisions_are_given_when_asked(
    tmp_path: Path, make_quote: Make, filed: dt.datetime
) -> None:
    root = tmp_path / "a"
    assert file_quote(root, make_quote(number="", revision=None), {}, filed).number == "2026-0001"
    assert file_quote(root, make_quote(number="", revision=None), {}, filed).number == "2026-0002"
    assert file_quote(root, make_quote(number="2026-0002", revision=None), {}, filed).revision == 1
    assert file_quote(root, make_quote(number="2026-0002", revision=9), {}, filed).revision == 9
    assert file_quote(root, make_quote(number="2026-0002", revision=None), {}, filed).revision == 10


def test_the_latest_is_the_highest_revision_whatever_the_clock_says(
    tmp_path: Path, make_quote: Make, filed: dt.datetime
) -> None:
    root = tmp_path / "a"
    file_quote(root, make_quote(revision=1, title="new"), {}, filed - dt.timedelta(days=4000))
    file_quote(root, make_quote(revision=0, title="old"), {}, filed)
    file_quote(root, make_quote(revision=2, title="newest", date=dt.date(1999, 1, 1)), {}, filed)
    revision, folder = store.find_revision(root, "2026-014")
    assert (revision, read_quote(folder).title) == (2, "newest")
    assert read_quote(store.find_revision(root, "2026-014", 0)[1]).title == "old"


@pytest.mark.parametrize(
    "client",
    ["../../../tmp/evil", "/etc", "..", "a" * 200, "CON", "x\x00y", "Acme／..／..", "‥", "Acme. . ."],
)
def test_no_client_leaves_the_archive(
    tmp_path: Path, make_quote: Make, filed: dt.datetime, client: str
) -> None:
    root = tmp_path / "in/a"
    file_quote(root, make_quote(client=client), {}, filed)
    outside = [p for p in tmp_path.rglob("*") if p.is_file() and root not in p.parents]
    assert outside == []
    assert len(list(root.glob("2026/*/2026-014-r0/manifest.json"))) == 1
    assert verify(root).problems == ()
    assert read_quote(store.find_revision(root, "2026-014")[1]).client == client


def test_a_client_in_other_capitals_keeps_its_folder(
    tmp_path: Path, make_quote: Make, filed: dt.datetime
) -> None:
    file_quote(tmp_path, make_quote(client="ACME"), {}, filed)
    file_quote(tmp_path, make_quote(client="Acme", number="2"), {}, filed)
    assert [p.name for p in (tmp_path / "2026").iterdir()] == ["ACME"]


@pytest.mark.parametrize(
    "name", ["../x", "/x", "manifest.json", "Summary.JSON", "papers/x", "a/../../b", "CON", "a\\b", ""]
)
def test_unfit_names_of_files_are_refused(
    tmp_path: Path, make_quote: Make, sources: Sources, filed: dt.datetime, name: str
) -> None:
    with pytest.raises(InputError):
        file_quote(tmp_path / "a", make_quote(), {name: sources["job.toml"]}, filed)
    assert not (tmp_path / "a").exists()


def test_two_files_in_other_capitals_are_refused(
    tmp_path: Path, make_quote: Make, sources: Sources, filed: dt.datetime
) -> None:
    twins = {"Job.toml": sources["job.toml"], "job.toml": sources["job.toml"]}
    with pytest.raises(InputError, match="stands for the same"):
        file_quote(tmp_path / "a", make_quote(), twins, filed)


def test_links_are_not_followed(
    tmp_path: Path, make_quote: Make, sources: Sources, filed: dt.datetime
) -> None:
    secret = tmp_path / "secret"
    secret.write_text("not yours")
    link = tmp_path / "link.pdf"
    link.symlink_to(secret)
    with pytest.raises(InputError, match="symbolic link"):
        file_quote(tmp_path / "a", make_quote(), {"x.pdf": link}, filed)
    outside = tmp_path / "outside"
    outside.mkdir()
    (tmp_path / "a/2026").mkdir()
    (tmp_path / "a/2026/Harbour Street Clinic").symlink_to(outside)
    with pytest.raises(OutputError, match="symbolic link"):
        file_quote(tmp_path / "a", make_quote(), sources, filed)
    assert list(outside.iterdir()) == []


@pytest.mark.parametrize("kind", ["missing", "folder", "pipe"])
def test_a_source_that_is_no_file_files_nothing(
    tmp_path: Path, make_quote: Make, filed: dt.datetime, kind: str
) -> None:
    source = tmp_path / kind
    if kind == "folder":
        source.mkdir()
    elif kind == "pipe":
        os.mkfifo(source)
    with pytest.raises(InputError):
        file_quote(tmp_path / "a", make_quote(), {"x": source}, filed)
    assert list((tmp_path / "a").glob("2026/**/*")) == []
    assert list((tmp_path / "a/.battenbook/filing").iterdir()) == []


def test_a_record_that_does_not_add_up_is_not_filed(
    tmp_path: Path, make_quote: Make, filed: dt.datetime
) -> None:
    with pytest.raises(InputError, match="add up"):
        file_quote(tmp_path / "a", make_quote(taxes=()), {}, filed)
    assert not (tmp_path / "a").exists()


@pytest.mark.parametrize("number", ["...", "///", "\u200b"])
def test_a_number_of_nothing_is_refused(
    tmp_path: Path, make_quote: Make, filed: dt.datetime, number: str
) -> None:
    with pytest.raises(InputError, match="nothing to file it by"):
        file_quote(tmp_path / "a", make_quote(number=number), {}, filed)


def test_a_quote_that_has_not_changed_is_not_filed_again(
    tmp_path: Path, make_quote: Make, sources: Sources, filed: dt.datetime
) -> None:
    quote = make_quote(revision=None)
    inputs: dict[str, Path | bytes] = {**sources, "quote.xlsx": b"made"}
    assert file_quote(tmp_path / "a", quote, inputs, filed).revision == 0
    with pytest.raises(OutputError, match="nothing has changed since"):
        file_quote(tmp_path / "a", quote, inputs, filed)
    assert file_quote(tmp_path / "a", quote, {**inputs, "quote.xlsx": b"made anew"}, filed).revision == 1
    assert file_quote(tmp_path / "a", quote, inputs, filed).revision == 2
    assert verify(tmp_path / "a").problems == ()


def test_no_archive_says_so(tmp_path: Path) -> None:
    with pytest.raises(ArchiveError, match="no archive here"):
        store.find_revision(tmp_path / "none", "1")


WRITER = """
import sys, datetime, json
from pathlib import Path
from estimator.archive import summary
from estimator.archive.store import file_quote
from estimator.core.errors import OutputError
root, text, times, revision = Path(sys.argv[1]), Path(sys.argv[2]).read_text(), int(sys.argv[3]), sys.argv[4]
quote = summary.from_json(text)
for _ in range(times):
    try:
        done = file_quote(root, quote, {}, datetime.datetime(2026, 1, 1))
        print(done.number, done.revision)
    except OutputError as error:
        print("refused", error.problems[0].what)
"""


def _race(tmp_path: Path, quote: Summary, times: int) -> list[str]:
    from estimator.archive import summary  # noqa: PLC0415 - only here

    text = tmp_path / "quote.json"
    text.write_text(summary.to_json(quote))
    command = [sys.executable, "-c", WRITER, str(tmp_path / "a"), str(text), str(times), "-"]
    writers = [subprocess.Popen(command, stdout=subprocess.PIPE, text=True) for _ in range(4)]
    lines = [line for w in writers for line in w.communicate(timeout=120)[0].splitlines()]
    assert [w.returncode for w in writers] == [0, 0, 0, 0]
    return lines


def test_four_writers_never_share_a_number(tmp_path: Path, make_quote: Make) -> None:
    lines = _race(tmp_path, make_quote(number="", revision=None), 10)
    assert sorted(lines) == [f"2026-{n:04d} 0" for n in range(1, 41)]
    assert len(list(ledger.folders(ledger.Place(tmp_path / "a")))) == 40
    assert verify(tmp_path / "a").problems == ()


def test_four_writers_of_one_number_file_it_once(tmp_path: Path, make_quote: Make) -> None:
    lines = _race(tmp_path, make_quote(), 1)
    assert sorted(lines) == ["2026-014 0"] + ["refused revision 0 is filed already"] * 3

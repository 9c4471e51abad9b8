"""One writer for all: a file or a set of files, each whole, all or none, whatever the disk does."""

import errno
import os
import stat
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from estimator.core.errors import OutputError
from estimator.core.files import journal, new_folder, save, save_all

CALLS = ("open", "write", "fsync", "close", "replace")
ROOM_BYTES = 256 * 1024


def held(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()}


def attempt(files: dict[Path, bytes]) -> str:
    """Return what a writer says that is refused; '' where it is done or interrupted."""
    try:
        save_all(files, force=True)
    except OutputError as refused:
        return str(refused)
    except KeyboardInterrupt:
        pass
    return ""


def faults(
    patch: pytest.MonkeyPatch, nth: int, error: BaseException, *, after: bool, calls: tuple[str, ...] = CALLS
) -> list[str]:
    """Let the nth call of the system fail, before it did its work or after; return the calls seen."""
    seen: list[str] = []

    def failing(name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **more: Any) -> Any:
            seen.append(name)
            if len(seen) != nth:
                return real(*args, **more)
            if after or name == "close":
                real(*args, **more)
            raise error

        return call

    for name in calls:
        patch.setattr(os, name, failing(name, getattr(os, name)))
    return seen


def test_a_file_is_whole_and_not_replaced_unless_told_to(tmp_path: Path) -> None:
    out = tmp_path / "x.csv"
    save(out, b"one")
    with pytest.raises(OutputError, match="is there already"):
        save(out, b"two")
    assert out.read_bytes() == b"one"
    save(out, b"two", force=True)
    assert held(tmp_path) == {"x.csv": b"two"}


@pytest.mark.parametrize("after", [False, True])
@pytest.mark.parametrize("error", [OSError(errno.ENOSPC, "No space left on device"), KeyboardInterrupt()])
def test_whatever_call_fails_all_are_old_or_all_are_new(
    quick_path: Path, error: BaseException, *, after: bool
) -> None:
    old = {"a.html": b"old a", "c.html": b"old c"}
    new = {"a.html": b"new a", "b.html": b"new b", "c.html": b"new c"}
    outcomes = set()
    for nth in range(1, 200):
        for path in quick_path.iterdir():
            path.unlink()
        for name, content in old.items():
            (quick_path / name).write_bytes(content)
        with pytest.MonkeyPatch.context() as patch:
            seen = faults(patch, nth, error, after=after)
            said = attempt({quick_path / name: content for name, content in new.items()})
        hit = len(seen) >= nth
        if said:
            assert "No space left" in said, (nth, seen)
            assert "battenbook-" not in said, (nth, seen)
            assert str(quick_path) in said, (nth, seen)
        assert held(quick_path) == (old if hit else new), (nth, seen)
        outcomes.add(hit)
        if not hit:
            break
    assert outcomes == {True, False}


def test_a_rename_that_is_refused_midway_puts_the_old_files_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a").write_bytes(b"old")
    faults(
        monkeypatch, 3, PermissionError(errno.EACCES, "Permission denied"), after=False, calls=("replace",)
    )
    with pytest.raises(OutputError, match=r"c: Permission denied.*Nothing was written") as refused:
        save_all({tmp_path / name: b"new" for name in "abc"}, force=True)
    assert refused.value.exit_code == 4
    assert held(tmp_path) == {"a": b"old"}


def test_what_cannot_be_put_back_is_kept_and_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a").write_bytes(b"old")
    real, seen = os.replace, []

    def once(source: Path, target: Path) -> None:
        seen.append(target)
        if len(seen) > 1:
            raise OSError(errno.EIO, "Input/output error")
        real(source, target)

    monkeypatch.setattr(os, "replace", once)
    with pytest.raises(OutputError, match=r"a: is the new one.*kept as") as refused:
        save_all({tmp_path / name: b"new" for name in "ab"}, force=True)
    kept = Path(refused.value.problems[0].fix.split()[-1].rstrip("."))
    assert kept.read_bytes() == b"old"
    assert held(tmp_path) == {"a": b"new", kept.name: b"old"}


def test_every_obstacle_is_found_before_anything_is_written(tmp_path: Path) -> None:
    (tmp_path / "fine").write_bytes(b"old")
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    places = ("fine", "folder", "pipe", "nowhere/x", "fine/x", "n" * 300)
    with pytest.raises(OutputError) as refused:
        save_all({tmp_path / name: b"new" for name in places}, force=True)
    said = {Path(p.where).name: p.what for p in refused.value.problems}
    assert said == {
        "folder": "is a folder",
        "pipe": "is no regular file",
        "x": "Not a directory",
        "n" * 300: "File name too long",
    } | {"x": said["x"]}
    assert [p.what for p in refused.value.problems if "nowhere" in p.where] == [
        f"there is no folder {tmp_path / 'nowhere'}"
    ]
    assert held(tmp_path) == {"fine": b"old"}


def test_a_link_stays_and_what_it_leads_to_is_replaced(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "real/x").write_bytes(b"old")
    (tmp_path / "x").symlink_to("real/x")
    save(tmp_path / "x", b"new", force=True)
    assert (tmp_path / "x").is_symlink()
    assert held(tmp_path / "real") == {"x": b"new"}
    (tmp_path / "null").symlink_to(os.devnull)
    with pytest.raises(OutputError, match="no regular file"):
        save(tmp_path / "null", b"new", force=True)
    assert stat.S_ISCHR(Path(os.devnull).stat().st_mode)


def test_a_file_that_is_replaced_keeps_its_mode_and_a_new_one_has_the_usual(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"old")
    (tmp_path / "a").chmod(0o640)
    before = os.umask(0o027)
    try:
        save_all({tmp_path / "a": b"new", tmp_path / "b": b"new"}, force=True)
    finally:
        os.umask(before)
    assert [stat.S_IMODE((tmp_path / name).stat().st_mode) for name in "ab"] == [0o640, 0o640]


# The superuser may write anywhere, so once all is imported the process becomes nobody.
AS_NOBODY = """
import os, sys
from pathlib import Path
from estimator.core.errors import OutputError
from estimator.core.files import save_all
if os.geteuid() == 0:
    os.setgid(65534)
    os.setuid(65534)
try:
    save_all({Path(name): b"new" for name in sys.argv[1:]}, force=True)
except OutputError as error:
    print(error)
"""


@pytest.fixture
def open_folder(tmp_path: Path) -> Iterator[Path]:
    """Give a folder that everybody may read."""
    for folder in (tmp_path, *tmp_path.parents):
        if folder.stat().st_uid == os.geteuid() and folder.name.startswith(("pytest-", "popen-", "test_")):
            folder.chmod(folder.stat().st_mode | stat.S_IXOTH | stat.S_IROTH)
    yield tmp_path
    tmp_path.chmod(0o755)


@pytest.mark.skipif(os.name == "nt", reason="rights are not kept this way there")
def test_what_may_not_be_written_is_named_and_stays(open_folder: Path) -> None:
    mine, locked = open_folder / "mine", open_folder / "locked"
    for folder in (mine, locked):
        folder.mkdir()
        (folder / "a").write_bytes(b"old")
    mine.chmod(0o777)
    locked.chmod(0o555)
    (mine / "a").chmod(0o444)
    (locked / "a").chmod(0o666)
    for names, said in (
        (("mine/b", "mine/a"), "mine/a: may not be written"),
        (("mine/b", "locked/a"), "locked/a: Permission denied"),
    ):
        done = subprocess.run(
            [sys.executable, "-c", AS_NOBODY, *(str(open_folder / n) for n in names)],
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        assert said in done.stdout
        assert held(mine) == held(locked) == {"a": b"old"}


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """Give a disk of a few blocks."""
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={ROOM_BYTES}", "tmpfs", str(tmp_path)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if done.returncode:
        pytest.skip(f"no small disk can be made here: {done.stderr.strip()}")
    yield tmp_path
    subprocess.run(["umount", str(tmp_path)], check=True)


@pytest.mark.skipif(sys.platform != "linux", reason="a disk in memory is made by Linux's mount")
def test_a_full_disk_names_the_file_and_keeps_the_old_ones(small_disk: Path) -> None:
    old = {"a": b"a" * 1000, "b": b"b" * 1000}
    save_all({small_disk / name: body for name, body in old.items()})
    with pytest.raises(OutputError, match=rf"{small_disk}/b: No space left on device\. Make room"):
        save_all({small_disk / "a": b"A", small_disk / "b": b"B" * ROOM_BYTES}, force=True)
    assert held(small_disk) == old


def test_a_folder_made_for_files_goes_when_they_cannot_be_written(tmp_path: Path) -> None:
    out = tmp_path / "new/deep"
    with pytest.raises(OutputError, match="is a folder"), new_folder(out):
        save(out, b"", force=True)
    assert list(tmp_path.iterdir()) == []
    with new_folder(out):
        save(out / "x", b"")
    assert held(out) == {"x": b""}
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(OutputError, match="file"), new_folder(tmp_path / "file"):
        pass


def test_a_journal_holds_what_has_its_place(tmp_path: Path) -> None:
    with journal() as written:
        save(tmp_path / "a", b"")
        with pytest.raises(OutputError):
            save_all({tmp_path / "b": b"", tmp_path / "a": b""})
    save(tmp_path / "c", b"")
    assert written == [tmp_path / "a"]

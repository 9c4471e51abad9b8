"""The archive's own file operations: new, whole, or refused with a reason."""

from pathlib import Path

import pytest

from estimator.archive import files
from estimator.core.errors import OutputError


def test_nothing_is_written_over(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"a")
    (tmp_path / "b").write_bytes(b"b")
    with pytest.raises(FileExistsError):
        files.write_new(tmp_path / "a", b"x")
    with pytest.raises(FileExistsError):
        files.copy_new(tmp_path / "b", tmp_path / "a")
    with pytest.raises(FileExistsError):
        files.rename_new(tmp_path / "b", tmp_path / "a")
    assert (tmp_path / "a").read_bytes() == b"a"


def test_a_folder_is_a_real_folder(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    (tmp_path / "link").symlink_to(tmp_path)
    for name in ("file", "link"):
        with pytest.raises(OutputError):
            files.make_folder(tmp_path / name)
    with pytest.raises(OutputError, match="symbolic link"):
        files.real_folders(tmp_path, tmp_path / "link/below")


def test_a_large_file_is_copied_whole(tmp_path: Path) -> None:
    content = bytes(range(256)) * 5000 * 3  # more than three blocks
    (tmp_path / "a").write_bytes(content)
    sha256, size = files.copy_new(tmp_path / "a", tmp_path / "b")
    assert (tmp_path / "b").read_bytes() == content
    assert (sha256, size) == files.digest(tmp_path / "a")

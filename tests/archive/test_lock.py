"""One writer at a time, however many ask; no lock that a dead or another user's program left stops one."""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from estimator.archive.filing import locked
from estimator.core.errors import OutputError

# Reads a number, adds one and writes it back, without which lock two would read the same.
COUNTER = """
import sys
from pathlib import Path
from estimator.archive.filing import locked
folder = Path(sys.argv[1])
with locked(folder / "lock"):
    number = int((folder / "number").read_text())
    (folder / "number").write_text(str(number + 1))
"""
# Takes the lock and is gone without giving it back, as a pulled plug would have it.
DEAD = """
import os, sys
from pathlib import Path
from estimator.archive.filing import locked
with locked(Path(sys.argv[1])):
    os._exit(9)
"""

# Becomes nobody once all is imported, and takes the lock.
OTHER = """
import os, sys
from pathlib import Path
from estimator.archive.filing import locked
os.setegid(65534)
os.seteuid(65534)
with locked(Path(sys.argv[1]), 0):
    print("taken")
"""


@pytest.mark.slow
def test_fifty_processes_at_once_take_turns(tmp_path: Path) -> None:
    (tmp_path / "number").write_text("0")
    command = [sys.executable, "-c", COUNTER, str(tmp_path)]
    asking = [subprocess.Popen(command) for _ in range(50)]
    assert [one.wait(timeout=300) for one in asking] == [0] * 50
    assert (tmp_path / "number").read_text() == "50"


def test_a_lock_left_by_a_dead_process_is_free(tmp_path: Path) -> None:
    left = tmp_path / "lock"
    assert subprocess.run([sys.executable, "-c", DEAD, str(left)], check=False).returncode == 9
    assert left.exists()
    with locked(left, 0):
        pass


def test_a_second_writer_waits_and_then_says_who_is_in_the_way(tmp_path: Path) -> None:
    with locked(tmp_path / "lock"), pytest.raises(OutputError, match="another program"):  # noqa: SIM117
        with locked(tmp_path / "lock", 0.05):
            pass
    with locked(tmp_path / "lock", 0):
        pass


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only the superuser can")
def test_the_lock_that_one_user_made_is_taken_by_another_of_the_shop() -> None:
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o755)
        lock = Path(name) / "lock"
        with locked(lock):
            pass
        command = [sys.executable, "-c", OTHER, str(lock)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        assert (done.returncode, done.stdout) == (0, "taken\n"), done.stderr

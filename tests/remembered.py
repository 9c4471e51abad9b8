"""What a test session works out once, shared by its workers: the cutting plans of rooms, and workbooks.

A plan is a pure function of frozen records and nearly all of an estimate's time, and most tests estimate the
same few jobs. Planners are tested without this: only whole rooms are cut by remembered plans, which are
verified anew. The writer is tested without this too: only what writes a workbook beside its papers has it
remembered.
"""

import hashlib
import pickle
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

from estimator.cutting import room

P = ParamSpec("P")
R = TypeVar("R")


def remembered(work: Callable[P, R], folder: Path) -> Callable[P, R]:
    """Return `work`, done once for the same arguments in every process that shares the folder."""
    folder.mkdir(exist_ok=True)

    def recall(*args: P.args, **named: P.kwargs) -> R:
        path = folder / hashlib.sha256(pickle.dumps((args, named))).hexdigest()
        if not path.exists():
            with tempfile.NamedTemporaryFile(dir=folder, delete=False) as whole:
                whole.write(pickle.dumps(work(*args, **named)))
            Path(whole.name).replace(path)
        found: R = pickle.loads(path.read_bytes())  # noqa: S301 - written by this session
        return found

    return recall


def plans_in(folder: Path | str, put: Callable[[Any, str, Any], None] = setattr) -> None:
    """Cut whole rooms by plans remembered in a folder; `put` sets an attribute of a module."""
    for name in [name for name in vars(room) if name.startswith("plan_")]:
        put(room, name, remembered(getattr(room, name), Path(folder) / name))

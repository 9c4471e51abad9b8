"""Papers from templates: an office's own copies first, filled in a process of their own.

That process has bounds on time, memory and size. Bounds of this kind only hold from outside: one expression
can ask for a terabyte, one loop for a century. The system counts processor time and memory where it can
(POSIX; memory: Linux); elsewhere a clock ends it.
"""

import json
import os
import pickle
import signal
import subprocess
import sys
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, is_dataclass
from functools import lru_cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from estimator.core.errors import OutputError, Problem
from estimator.core.files import new_folder, save_all
from estimator.documents.sandbox import Sandbox, TooMuch

if sys.platform != "win32":
    import resource

_HERE = Path(__file__).parents[1]
_MEMORY = Path("/proc/self/statm")
_PATIENCE = 10
"""How much longer than its processor time a filling may take on a busy machine, or where none is counted."""
_LONGER_S = 5
"""How much later the system ends what does not end by itself."""

Contexts = Mapping[str, Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class Bounds:
    """What filling the templates of one job may take.

    Attributes:
        processor_s: processor time, in seconds.
        memory_bytes: memory beyond what the program itself has.
        characters: of one page.
    """

    processor_s: int = 30
    memory_bytes: int = 512 << 20
    characters: int = 20_000_000


def filled_apart(folders: tuple[Path, ...], contexts: Contexts, bounds: Bounds) -> dict[str, str]:
    """Return each filled template by name.

    Args:
        folders: where templates are, the first that has one being taken.
        contexts: what each may show, by its name.
        bounds: what it may take.

    Raises:
        OutputError: a template cannot be filled, or takes too much.
    """
    try:
        done = subprocess.run(  # noqa: S603 - our own program
            [sys.executable, "-P", "-m", __name__],
            input=pickle.dumps((folders, _plain(contexts), bounds)),
            capture_output=True,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, (str(_HERE.parent), *sys.path)))},
            timeout=_PATIENCE * bounds.processor_s,
            check=True,
        )
    except subprocess.SubprocessError as error:
        raise OutputError([_broken_off(folders, bounds, error)]) from error
    answer = json.loads(done.stdout)
    if "problems" in answer:
        raise OutputError([Problem(**problem) for problem in answer["problems"]])
    return dict(answer["pages"])


def _plain(value: Any) -> Any:  # noqa: ANN401 - whatever a page shows
    """Return a value with every record as its names and values alone: no code goes along, and no method."""
    if isinstance(value, Mapping):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    if isinstance(value, Problem) or not (is_dataclass(value) or hasattr(value, "model_dump")):
        return value
    names = [n for n, _ in value] if isinstance(value, Iterable) else dir(value)
    shown = {name: getattr(value, name) for name in names if not name.startswith("_")}
    return SimpleNamespace(**{n: _plain(one) for n, one in shown.items() if not callable(one)})


def _broken_off(folders: tuple[Path, ...], bounds: Bounds, error: subprocess.SubprocessError) -> Problem:
    late = isinstance(error, subprocess.TimeoutExpired)
    if late or (isinstance(error, subprocess.CalledProcessError) and error.returncode == -signal.SIGKILL):
        what = _late(bounds)
    else:
        what = "it broke the program that fills it, as one does that needs too much memory"
    return Problem("template", f"cannot be filled: {what}", "Take the shipped ones.", str(folders[0]))


def _late(bounds: Bounds) -> str:
    return f"it takes more than {bounds.processor_s} s"


def _bind(bounds: Bounds) -> None:
    """Take on the bounds, as far as the system keeps them."""
    if sys.platform == "win32":
        return

    def late(_signal: int, _frame: object) -> None:
        raise TooMuch(_late(bounds))

    used = resource.getrusage(resource.RUSAGE_SELF)
    end = int(used.ru_utime + used.ru_stime) + bounds.processor_s
    signal.signal(signal.SIGXCPU, late)
    resource.setrlimit(resource.RLIMIT_CPU, (end, end + _LONGER_S))
    if _MEMORY.exists():
        now = int(_MEMORY.read_text(encoding="ascii").split()[0]) * resource.getpagesize()
        resource.setrlimit(resource.RLIMIT_AS, (now + bounds.memory_bytes,) * 2)


def main() -> None:
    """Fill what standard input asks for; answer on standard output."""
    folders, contexts, bounds = pickle.load(sys.stdin.buffer)  # noqa: S301 - from `filled_apart`
    _bind(bounds)
    answer: dict[str, object]
    try:
        sandbox = Sandbox(folders)
        filled = {name: sandbox.fill(name, one, bounds.characters) for name, one in contexts.items()}
        answer = {"pages": filled}
    except OutputError as error:
        answer = {"problems": [problem.as_dict() for problem in error.problems]}
    sys.stdout.write(json.dumps(answer))


def shipped() -> Path:
    """Return the folder of the shipped templates: in the package, or beside it in a checkout."""
    packed = _HERE / "_templates"
    return packed if packed.is_dir() else _HERE.parent / "templates"


def copy_templates(folder: Path) -> tuple[Path, ...]:
    """Copy the shipped templates into `folder` for an office to edit.

    Raises:
        OutputError: a file of the same name is there already; nothing is copied.
    """
    copies = {folder / p.name: p.read_bytes() for p in sorted(shipped().iterdir()) if p.is_file()}
    with new_folder(folder):
        save_all(copies)
    return tuple(copies)


@lru_cache(maxsize=1)
def _own() -> Sandbox:
    """Return the shipped templates, each compiled once."""
    return Sandbox((shipped(),))


def rendered(contexts: Contexts, folder: Path | None = None) -> dict[str, str]:
    """Return filled templates by name.

    Args:
        contexts: what each may show, by the template's name.
        folder: an office's own templates, looked in first; None for the shipped ones only.

    Raises:
        OutputError: there is no such folder; a template is missing or broken, or takes too much.
    """
    if folder is None:
        return {name: _own().fill(name, context) for name, context in contexts.items()}
    if not folder.is_dir():
        raise OutputError([Problem(str(folder), "is no folder", "Name a folder of templates.")])
    return filled_apart((folder, shipped()), contexts, Bounds())


if __name__ == "__main__":
    main()

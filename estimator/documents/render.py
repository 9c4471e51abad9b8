"""Papers from templates: an office's own copies first, each filled apart from the program."""

from functools import lru_cache
from pathlib import Path

from estimator.core.errors import OutputError, Problem
from estimator.core.files import new_folder, save_all
from estimator.documents.apart import Bounds, Contexts, filled_apart
from estimator.documents.sandbox import Sandbox

_HERE = Path(__file__).parents[1]


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

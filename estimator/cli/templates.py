"""Verb `templates copy`: the papers' templates, for an office to edit."""

from pathlib import Path
from typing import Annotated, Any

import typer

from estimator.cli.output import Result, Verbs, say


def copy(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder for the copies.", show_default=False)],
) -> Result:
    """Copy the shipped templates to edit them; use them with `estimate --templates FOLDER`."""
    from estimator.documents.render import copy_templates

    return (), {"files": [str(path) for path in copy_templates(folder)]}


def _show(result: dict[str, Any]) -> None:
    for file in result["files"]:
        say(file)


VERBS: Verbs = {"copy": (copy, _show)}

"""Verb `templates copy`: the papers' templates, for an office to edit."""

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli.options import Debug, Json
from estimator.cli.output import run, say
from estimator.cli.verbs import Group

if TYPE_CHECKING:
    from estimator.core.errors import Problem


def register(app: typer.Typer) -> None:
    """Add the verb to the program."""
    templates = typer.Typer(cls=Group, help=_group.__doc__, no_args_is_help=True)
    templates.callback()(_group)
    templates.command("copy")(copy)
    app.add_typer(templates, name="templates")


def _group() -> None:
    """Copy the papers' templates, for an office to edit."""


def copy(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder for the copies.", show_default=False)],
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Copy the shipped templates to edit them; use them with `estimate --templates FOLDER`."""

    def work() -> "tuple[Iterable[Problem], dict[str, Any]]":
        from estimator.documents.render import copy_templates

        return (), {"files": [str(path) for path in copy_templates(folder)]}

    run(work, _show, as_json=as_json, debug=debug)


def _show(result: dict[str, Any]) -> None:
    for file in result["files"]:
        say(file)

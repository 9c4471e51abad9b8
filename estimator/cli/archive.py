"""``battenbook archive``: its verbs, those that file, those that read and those that prove."""

import typer

from estimator.cli import archive_filing, archive_proving, archive_reading
from estimator.cli.archive_verb import verb
from estimator.cli.verbs import Group

commands = typer.Typer(
    cls=Group,
    help="File quotes, invoices and payments; see what is open; prove that nothing changed.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def register(app: typer.Typer) -> None:
    """Add ``archive`` and its sub-commands to the command."""
    app.add_typer(commands, name="archive")


_ALL = {**archive_filing.VERBS, **archive_reading.VERBS, **archive_proving.VERBS}
for _name, (_work, _show) in _ALL.items():
    commands.command(_name)(verb(_work, _show))

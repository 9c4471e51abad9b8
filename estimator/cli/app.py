"""The command's verbs, gathered. Each module in `VERBS` registers its own functions."""

import importlib

import typer

app = typer.Typer(
    name="battenbook",
    help="From a survey to a priced workbook and papers for fabric-covered sound-absorbing walls.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,  # plain help answers in half the time
)

VERBS: tuple[str, ...] = (
    "job",
    "estimate",
    "room",
    "absorb",
    "workbook",
    "compare",
    "reprice",
    "archive",
    "learn",
    "prices",
    "cut",
    "cut_sheets",
    "cut_roll",
    "templates",
)


@app.callback()
def _command() -> None:
    """From a survey to a priced workbook and papers for fabric-covered sound-absorbing walls."""


def gather() -> typer.Typer:
    """Return the app with every verb registered."""
    for name in VERBS:
        importlib.import_module(f"estimator.cli.{name}").register(app)
    return app


def main() -> None:
    """Run the command."""
    gather()()

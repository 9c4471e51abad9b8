"""The verbs: which module holds each, and its help. A module is imported when its verb is asked for."""

import importlib
from typing import Any

import typer
from typer.core import TyperGroup

from estimator.cli.output import command_of
from estimator.core.characters import escaped, hidden, named

VERBS: dict[str, tuple[str, str]] = {
    "new": ("job", "Write a commented job file to start from."),
    "check": (
        "job",
        "Name everything that is wrong in a job file and what it names, and whether it can be laid out.",
    ),
    "schema": ("job", "Print the JSON Schema of the job file or another, for editors, or its reference."),
    "estimate": ("estimate", "Estimate a job: workbook and papers into a folder."),
    "explain": ("estimate", "Show where a figure comes from: 'why 14 sticks?', 'why 23 hours?'."),
    "room": (
        "room",
        "Estimate what the treatment does for the room: reverberation, reflections, target.",
    ),
    "absorb": ("absorb", "Estimate what a panel absorbs per octave, with NRC, SAA, alpha_w and class."),
    "readback": (
        "workbook",
        "Take the office's changes from a workbook and keep them beside the job for the next estimate.",
    ),
    "compare": (
        "compare",
        "Show what differs between two estimates: scope, frames, quantities, cost, price, days, absorption.",
    ),
    "reprice": (
        "compare",
        "Price the same job with other prices, terms, practice or rates, and show what moved.",
    ),
    "archive": (
        "archive",
        "File quotes, invoices and payments; see what is open; prove that nothing changed.",
    ),
    "learn": (
        "learn",
        "Show what hours as worked make of the labour rates; write them only when told to.",
    ),
    "prices": ("prices", "Check a price list, or bring a supplier's prices into it."),
    "cut": (
        "cut",
        "Cut lengths from sticks at the least cost, with the bound that says how far from perfect it is.",
    ),
    "cut-sheets": (
        "cut_flat",
        "Cut rectangles from sheets by straight cuts, at the least cost found, with its bound.",
    ),
    "cut-roll": (
        "cut_flat",
        "Lay cloth on a roll of one dye lot, using the least length found, with its bound.",
    ),
    "templates": ("templates", "Copy the papers' templates, for an office to edit."),
}
GROUPS = frozenset({"archive", "prices", "templates"})


class Group(TyperGroup):
    """A group whose help gives every verb's whole first sentence."""

    def format_commands(self, ctx: Any, formatter: Any) -> None:  # noqa: ANN401 - typer's own types moved house
        """Write every verb with its whole sentence."""
        with formatter.section("Commands"):
            formatter.write_dl([(verb, self._told(ctx, verb)) for verb in self.list_commands(ctx)])

    def _told(self, ctx: Any, verb: str) -> str:  # noqa: ANN401
        command = self.get_command(ctx, verb)
        return " ".join((command.help if command and command.help else "").split("\n\n")[0].split())


class Verbs(Group):
    """A group that knows its verbs' names and help, and loads a verb's module when it is used."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:  # noqa: ANN401 - typer's own types moved house
        """Refuse words with characters that cannot be seen, whichever verb or option they are for."""
        for word in args:
            if found := hidden(word):
                ctx.fail(f"{escaped(word)} {named(found)}.")
        return super().parse_args(ctx, args)

    def list_commands(self, ctx: Any) -> list[str]:  # noqa: ANN401, ARG002
        """Return every verb, in the order of a job's life."""
        return list(VERBS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:  # noqa: ANN401
        """Return a verb; for a name that is none every verb is loaded, so that a near one can be named."""
        for verb in [cmd_name] if cmd_name in VERBS else VERBS:
            if verb not in self.commands:
                self.commands.update(commands_of(VERBS[verb][0]))
        return super().get_command(ctx, cmd_name)

    def _told(self, ctx: Any, verb: str) -> str:  # noqa: ANN401, ARG002
        return VERBS[verb][1]


def commands_of(module: str) -> dict[str, Any]:
    """Return the commands of one module of verbs, by name; those of a group stand in one of its name."""
    alone = typer.Typer(rich_markup_mode=None)
    within = alone
    if module in GROUPS:
        within = typer.Typer(cls=Group, no_args_is_help=True, rich_markup_mode=None)
        alone.add_typer(within, name=module, help=VERBS[module][1])
    for app in {alone, within}:
        app.callback()(lambda: None)
    for name, (work, show) in importlib.import_module(f"estimator.cli.{module}").VERBS.items():
        within.command(name)(command_of(work, show))
    return dict(typer.main.get_group(alone).commands)

import pytest
from typer.testing import CliRunner

from estimator import __version__
from estimator.cli.app import gather
from estimator.cli.verbs import VERBS, commands_of

MODULES = sorted({module for module, _ in VERBS.values()})


@pytest.mark.parametrize("module", MODULES)
def test_the_list_names_the_verbs_of_a_module_and_their_help(module: str) -> None:
    listed = {verb: text for verb, (own, text) in VERBS.items() if own == module}
    found = {
        verb: " ".join(command.help.split("\n\n")[0].split()) for verb, command in commands_of(module).items()
    }
    assert listed == found


def test_help_names_every_verb_and_loads_none() -> None:
    shown = CliRunner().invoke(gather(), ["--help"])
    assert shown.exit_code == 0
    lines = [line.split()[0] for line in shown.stdout.splitlines() if line.startswith("  ") and line.split()]
    assert [verb for verb in VERBS if verb in lines] == list(VERBS)


def test_a_misspelt_verb_is_answered_with_a_near_one() -> None:
    shown = CliRunner().invoke(gather(), ["estimat"])
    assert shown.exit_code == 2
    assert "'estimate'" in shown.stderr


def test_the_version_is_told() -> None:
    shown = CliRunner().invoke(gather(), ["--version"])
    assert (shown.exit_code, shown.stdout) == (0, f"battenbook {__version__}\n")


@pytest.mark.parametrize("group", ["archive", "prices", "templates"])
def test_the_help_of_a_group_cuts_no_sentence(group: str) -> None:
    text = CliRunner().invoke(gather(), [group, "--help"], env={"COLUMNS": "80"}).stdout
    assert "..." not in text.partition("Commands:")[2]


COMMON = {
    "--json": "Print one JSON object.",
    "--debug": "Show the traceback of a failure.",
    "--force": "Replace files that are there.",
}
FILING = {"--force": "File it though something speaks against it; --note says why."}


@pytest.mark.parametrize("verb", VERBS)
def test_what_every_verb_has_is_said_alike(verb: str) -> None:
    commands = [commands_of(VERBS[verb][0])[verb]]
    while commands:
        command = commands.pop()
        commands += getattr(command, "commands", {}).values()
        for option in command.params:
            for name in set(option.opts) & COMMON.keys():
                assert option.help in {COMMON[name], FILING.get(name)}, (command.name, name)

import pytest
from typer.testing import CliRunner

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

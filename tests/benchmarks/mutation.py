"""How many small faults the tests notice: mutmut changes one expression at a time, in a seeded sample.

Run ``python -m tests.benchmarks.mutation ROOM...`` for some rooms, or without a room for all; with
``--write`` into docs/validation/mutation.md. It works on a copy in a temporary folder. A room's faults meet
the tests named for it here and no others, each fault in a process of its own, so that no figure worked out
before hides it. Faults in words alone are left out: which word a sheet shows is for its readers to judge, and
`tests/documents/golden` keeps those of the papers. Install the tool with ``pip install '.[mutation]'``; three
rooms take about half an hour.
"""

import ast
import random
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path

from tests.benchmarks.page_part import DOCS

ROOT = Path(__file__).parents[2]
PAGE = DOCS / "validation" / "mutation.md"
SAMPLE, SEED = 60, 16931
TESTS = {
    "cutting/verify": ("tests/cutting/test_verify_drawn.py", "tests/cutting/test_verify_sticks.py"),
    "pricing": (
        "tests/pricing",
        "tests/published/test_money_taxes.py",
        "tests/published/test_money_en16931.py",
        "tests/published/test_money_aace.py",
        "tests/end_to_end/test_one_panel.py",
        "tests/end_to_end/test_options_follow.py",
        "tests/end_to_end/test_rules.py::test_no_rule_is_broken[one_panel]",
    ),
    "takeoff": (
        "tests/takeoff",
        "tests/end_to_end/test_one_panel.py",
        "tests/end_to_end/test_options_follow.py",
        "tests/end_to_end/test_rules.py::test_no_rule_is_broken[one_panel]",
    ),
}
BEFORE = {"cutting/verify": "99 of 100", "pricing": "61 % of 74"}
"""As first tried: the verifiers before they were rewritten, pricing with faults in words among the 74."""
WHY = {
    "estimator.pricing.cases.x__against__mutmut_6": "the same: the base is one cell, without rows",
    "estimator.pricing.terms_inputs.x__cells__mutmut_66": "words alone: a column without its head",
    "estimator.pricing.totals.x__terms__mutmut_62": "words alone: a check without its advice",
    "estimator.takeoff.strips.xǁ_StripWorkǁfinish__mutmut_150": "moves no figure by a hundred-thousandth",
    "estimator.takeoff.strips.xǁ_StripWorkǁlength__mutmut_26": "the same figures, under no key",
}
"""Why a fault stays unnoticed, by its name."""
CONFIG = """
[tool.mutmut]
source_paths = ["estimator"]
only_mutate = ["estimator/{room}/*.py"]
also_copy = ["docs", "examples", "templates", "README.md", "DEVELOPERS.md"]
process_isolation = "forkserver"
pytest_add_cli_args = ["-p", "no:cacheprovider", "-m", "not slow and not libreoffice"]
pytest_add_cli_args_test_selection = [{tests}]
"""


def copy(folder: Path, room: str) -> None:
    """Write what the repository holds into a folder, set up for the faults of one room."""
    subprocess.run(["git", "clone", "-q", str(ROOT), str(folder)], check=True)
    tests = ", ".join(f'"{test}"' for test in TESTS[room])
    with (folder / "pyproject.toml").open("a", encoding="utf-8") as file:
        file.write(CONFIG.format(room=room, tests=tests))


def mutmut(folder: Path, *words: str) -> str:
    """Run the tool in a folder; return what it prints. It fails where no fault goes by the name asked for."""
    command = [sys.executable, "-m", "mutmut", *words]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    return done.stdout


def results(folder: Path) -> dict[str, str]:
    """Return every fault's name and what became of it."""
    lines = mutmut(folder, "results", "--all", "true").splitlines()
    return {name.strip(): status.strip() for name, _, status in (line.partition(": ") for line in lines)}


def _without_words(function: ast.FunctionDef) -> str:
    """Return what a function does, whatever its texts and its name."""
    for node in ast.walk(function):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            node.value = ""
    return "".join(ast.dump(line) for line in function.body)


def in_words_alone(folder: Path, room: str) -> set[str]:
    """Return the names of faults that change nothing but a text."""
    found = set()
    for path in (folder / "mutants" / "estimator" / room).glob("*.py"):
        tree = ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        functions = {f.name: _without_words(f) for f in tree if isinstance(f, ast.FunctionDef)}
        module = f"estimator.{room.replace('/', '.')}.{path.stem}"
        for name, body in functions.items():
            stem, _, number = name.rpartition("__mutmut_")
            if stem and body == functions[f"{stem}__mutmut_orig"] and number != "orig":
                found.add(f"{module}.{name}")
    return found


def tried(room: str, folder: Path) -> dict[str, str]:
    """Return what became of a sample of the faults of a room."""
    copy(folder, room)
    mutmut(folder, "run", "--max-children", "1", "none of this name")  # makes the faults, learns the tests
    names = sorted(results(folder).keys() - in_words_alone(folder, room))
    sample = sorted(random.Random(SEED).sample(names, min(SAMPLE, len(names))))  # noqa: S311 - a sample
    said = mutmut(folder, "run", "--max-children", "1", *sample)
    found = results(folder)
    if "not checked" in {found[name] for name in sample}:
        raise SystemExit(f"{room}: the run broke off:\n{said[-2000:]}")
    sys.stdout.write("".join(f"{name}: {found[name]}\n" for name in sample if found[name] != "killed"))
    sys.stdout.write(f"{room}: {len(sample)} of {len(names)}\n")
    return {name: found[name] for name in sample}


def table(found: dict[str, dict[str, str]]) -> str:
    """Return the page."""
    rows = []
    for room, outcomes in found.items():
        by = Counter(outcomes.values())
        noticed = by["killed"] + by["timeout"]
        share = f"{noticed / max(len(outcomes), 1):.0%}"
        rows.append(f"| `{room}` | {len(outcomes)} | {noticed} | {share} | {BEFORE.get(room, '')} |\n")
    return (
        "# Faults that the tests notice\n\n"
        "Written by `python -m tests.benchmarks.mutation --write`: mutmut changes one expression of a room\n"
        f"at a time; at most {SAMPLE} of these a room, drawn with seed {SEED}, meet that room's own tests.\n"
        "Faults in words alone are left out where they are plain texts.\n\n"
        "| room | faults tried | noticed | share | at first |\n| --- | ---: | ---: | ---: | --- |\n"
        + "".join(rows)
        + "\n## Not noticed\n\n"
        + "".join(f"* `{name}`: {WHY.get(name, 'not looked at yet')}\n" for name in unnoticed(found))
    )


def unnoticed(found: dict[str, dict[str, str]]) -> list[str]:
    """Return the names of the faults that no test noticed."""
    outcomes = (one for room in found.values() for one in room.items())
    return [name for name, outcome in outcomes if outcome not in {"killed", "timeout"}]


def main(words: list[str]) -> None:
    """Try the rooms named, or all; print or write the page."""
    rooms = [word for word in words if word != "--write"] or list(TESTS)
    found = {}
    for room in rooms:
        with tempfile.TemporaryDirectory() as folder:
            found[room] = tried(room, Path(folder) / "copy")
    if "--write" in words:
        PAGE.write_text(table(found), encoding="utf-8")
    else:
        sys.stdout.write(table(found))


if __name__ == "__main__":
    main(sys.argv[1:])

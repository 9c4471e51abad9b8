"""How many small faults the tests notice: mutmut changes one expression at a time, in a seeded sample.

Run ``python -m tests.benchmarks.mutation ROOM...`` for some rooms, or without a room for all; with
``--write`` into docs/validation/mutation.md. It works on a copy in a temporary folder. A room's faults meet
the tests named for it here and no others, each fault in a process of its own, so that no figure worked out
before hides it. Install the tool with ``pip install '.[mutation]'``; three rooms take about half an hour.
"""

import random
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path

from tests.benchmarks.page_part import DOCS

ROOT = Path(__file__).parents[2]
PAGE = DOCS / "validation" / "mutation.md"
SAMPLE, SEED = 100, 16931
TESTS = {
    "cutting/verify": ("tests/cutting/test_verify_drawn.py", "tests/cutting/test_verify_sticks.py"),
    "pricing": (
        "tests/pricing",
        "tests/published/test_money_taxes.py",
        "tests/published/test_money_en16931.py",
        "tests/published/test_money_aace.py",
        "tests/end_to_end/test_one_panel.py",
    ),
    "takeoff": ("tests/takeoff", "tests/end_to_end/test_one_panel.py"),
}
CONFIG = """
[tool.mutmut]
source_paths = ["estimator"]
only_mutate = ["estimator/{room}/*.py"]
also_copy = ["docs", "examples", "templates", "README.md", "DEVELOPERS.md"]
process_isolation = "forkserver"
pytest_add_cli_args = ["-p", "no:cacheprovider"]
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


def tried(room: str, folder: Path) -> dict[str, str]:
    """Return what became of a sample of the faults of a room."""
    copy(folder, room)
    mutmut(folder, "run", "--max-children", "1", "none of this name")  # makes the faults, learns the tests
    names = sorted(results(folder))
    sample = sorted(random.Random(SEED).sample(names, min(SAMPLE, len(names))))  # noqa: S311 - a sample
    mutmut(folder, "run", "--max-children", "1", *sample)
    found = results(folder)
    sys.stdout.write("".join(f"{name}: {found[name]}\n" for name in sample if found[name] != "killed"))
    sys.stdout.write(f"{room}: {len(sample)} of {len(names)}\n")
    return {name: found[name] for name in sample}


def table(found: dict[str, dict[str, str]]) -> str:
    """Return the page."""
    rows = []
    for room, outcomes in found.items():
        by = Counter(outcomes.values())
        noticed = by["killed"] + by["timeout"]
        rows.append(f"| `{room}` | {len(outcomes)} | {noticed} | {noticed / max(len(outcomes), 1):.0%} |\n")
    return (
        "# Faults that the tests notice\n\n"
        "Written by `python -m tests.benchmarks.mutation --write`: mutmut changes one expression of a room\n"
        f"at a time; {SAMPLE} of these faults a room, drawn with seed {SEED}, meet that room's own tests.\n\n"
        "| room | faults tried | noticed | share |\n| --- | ---: | ---: | ---: |\n" + "".join(rows)
    )


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

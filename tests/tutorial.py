"""Follow the tutorial as its reader does: write the files it shows, run its commands, hold what they print.

Run ``python -m tests.tutorial --write`` to put what the commands print now into docs/tutorial.md.

A block of TOML after a line ``<!-- file: NAME -->`` is a file. In a block ``console`` a line that starts with
``$`` is a command, and what follows is what it prints; what it says on stderr is left out unless the command
sends it along.
"""

import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

PAGE = Path(__file__).parents[1] / "docs" / "tutorial.md"
_BLOCK = re.compile(
    r"(?:<!-- file: (?P<name>\S+) -->\n)?```(?P<kind>toml|console)\n(?P<body>.*?)```", re.DOTALL
)


def run(command: str, folder: Path) -> str:
    """Return what a command prints in a folder."""
    programs = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    done = subprocess.run(
        ["sh", "-c", command], cwd=folder, capture_output=True, text=True, check=False,
        env={**os.environ, "PATH": programs, "NO_COLOR": "1", "COLUMNS": "80"},
    )  # fmt: skip
    return done.stdout


def commands(block: str) -> Iterator[tuple[str, str]]:
    """Yield each command of a block and what the page says it prints."""
    for part in block.split("$ ")[1:]:
        command, _, shown = part.partition("\n")
        yield command, shown


def followed(page: str, folder: Path) -> str:
    """Return the page with what its commands print now; its files and theirs are left in `folder`."""

    def block(match: re.Match[str]) -> str:
        if match["kind"] == "toml":
            if match["name"]:
                (folder / match["name"]).write_text(match["body"], encoding="utf-8")
            return match[0]
        parts = [f"$ {command}\n{run(command, folder)}" for command, _ in commands(match["body"])]
        return f"```console\n{''.join(parts)}```"

    return _BLOCK.sub(block, page)


def main() -> None:
    """Print the page as it reads now, or write it."""
    with tempfile.TemporaryDirectory() as folder:
        text = followed(PAGE.read_text(encoding="utf-8"), Path(folder))
    if "--write" in sys.argv[1:]:
        PAGE.write_text(text, encoding="utf-8")
    else:
        sys.stdout.write(text)


if __name__ == "__main__":
    main()

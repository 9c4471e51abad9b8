"""The door of the command: it imports next to nothing, so that Ctrl-C is answered from the first."""

import sys
from contextlib import suppress


def main() -> None:
    """Run the command."""
    try:
        from estimator.cli.app import main as run

        run()
    except KeyboardInterrupt:
        with suppress(OSError, AttributeError):  # standard error may be full, or closed
            sys.stderr.write("error: interrupted: nothing was written.\n")
        sys.exit(130)

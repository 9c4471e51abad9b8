"""Process time of whole commands: user and system seconds of a child process, whatever else runs here."""

import resource
import subprocess
import sys

PROGRAM = (sys.executable, "-c", "from estimator.cli.app import main; main()")


def child_s(*command: str) -> float:
    """Return the process time of one run, seconds; it must end well."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, check=True, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def best_s(*command: str, runs: int = 5) -> float:
    """Return the shortest process time of several runs, seconds; what disturbs a run only adds to it."""
    return min(child_s(*command) for _ in range(runs))

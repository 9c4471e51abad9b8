"""The shelf: the folder of shipped data, or one of the same form, such as what a quote was filed with."""

from pathlib import Path

DATA = Path(__file__).parent / "data"
TABLES = (
    "practice/default.toml",
    "absorption.csv",
    "reverberation_targets.csv",
    "reverberation_masks.csv",
    "lumber.toml",
    "estimate_classes.toml",
)
"""What every estimate reads besides the four files that its job names."""


def on_shelf(name: str, shelf: Path = DATA) -> Path:
    """Return where a table is; one that a shelf lacks, as it is older than the table, is the shipped one."""
    own = shelf / name
    return own if own.is_file() else DATA / name

"""No setting of the shop's practice is a dead letter: each is read somewhere by the program."""

import re
from pathlib import Path

import pytest

from estimator.catalogue.load import DATA, shipped_practice

HOUSE = Path(__file__).parents[2] / "estimator"
CODE = "\n".join(p.read_text(encoding="utf-8") for p in HOUSE.rglob("*.py"))
LABOUR = (DATA / "labour.toml").read_text(encoding="utf-8")
BUILT = ("waste_", "sand_per_sheet_")
"""Keys that the program puts together from a group or a grit."""
KEYS = [*shipped_practice().values, *shipped_practice().choices]


def read_by_the_program(key: str) -> bool:
    named = rf"\b{key}\b"
    built = any(key.startswith(start) and start in CODE for start in BUILT)
    return built or bool(re.search(named, CODE)) or bool(re.search(named, LABOUR))


@pytest.mark.parametrize("key", KEYS)
def test_every_setting_is_read(key: str) -> None:
    assert read_by_the_program(key)


def test_a_setting_that_nobody_reads_is_found() -> None:
    assert not read_by_the_program("colour_of_the_van")

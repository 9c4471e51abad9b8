"""The rules of a trustworthy workbook hold in every example's file as delivered."""

import pytest

from tests.examples import NAMES, workbook_of
from tests.workbook.rules import breaches


@pytest.mark.parametrize("name", NAMES)
def test_no_rule_is_broken(name: str) -> None:
    assert breaches(workbook_of(name)) == {}

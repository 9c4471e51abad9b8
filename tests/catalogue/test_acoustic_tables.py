"""The tables of room acoustics: complete, in range, each row with a source."""

import pyroomacoustics
import pytest

from estimator.catalogue.references import finishes, masks, read_finishes, target_rows
from estimator.core.errors import InputError

HEAD = "key,description,125,250,500,1000,2000,4000,source,verified\n"


def test_every_finish_names_its_source() -> None:
    assert len(finishes()) > 40
    for finish in finishes().values():
        assert finish.source.citation, finish.key
        assert all(0 < a <= 1 for a in finish.alpha), finish.key


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        ("carpet-on-pad", "carpet_1.35_kg_m2"),
        ("linoleum-on-concrete", "linoleum_on_concrete"),
        ("limestone", "limestone_wall"),
        ("double-glazing", "double_glazing_30mm"),
        ("gypsum-double", "plasterboard"),
        ("gypsum-ceiling", "ceiling_plasterboard"),
        ("door-wood", "wooden_door"),
        ("wood-panel-thin", "plywood_thin"),
        ("hard-wall", "hard_surface"),
    ],
)
def test_rows_that_pyroomacoustics_holds_as_well(ours: str, theirs: str) -> None:
    """Its table is Vorlaender, Auralization (2008)."""
    coefficients = pyroomacoustics.parameters.materials_absorption_table[theirs]["coeffs"]
    assert finishes()[ours].alpha == pytest.approx(coefficients[:6])


def test_masks_and_targets_belong_together() -> None:
    for row in target_rows():
        assert row.source.citation, row.key
        assert row.mask == "" or row.mask in masks(), row.key
        assert row.law in {"cube-root", "log", "fixed"}
    for points in masks().values():
        assert len({p.kind for p in points}) == 1
        assert [p.hz for p in points] == sorted(p.hz for p in points)


def test_an_own_table_is_read() -> None:
    found = read_finishes(HEAD + "felt,Own felt,0.1,0.2,0.3,0.4,0.5,0.6,report 7,read\n")
    assert found["felt"].alpha == (0.1, 0.2, 0.3, 0.4, 0.5, 0.6)


@pytest.mark.parametrize(
    ("table", "line"),
    [
        ("key,description\n", 1),
        (HEAD + "felt,Felt,0.1,0.2,0.3,0.4,0.5,nine,report,read\n", 2),
        (HEAD + "felt,Felt,0.1,0.2,0.3,0.4,0.5,1.6,report,read\n", 2),
        (HEAD + "felt,Felt,0.1,0.2,0.3\n", 2),
        (HEAD + 2 * "felt,Felt,0.1,0.2,0.3,0.4,0.5,0.6,report,read\n", 3),
    ],
)
def test_faults_name_their_line(table: str, line: int) -> None:
    with pytest.raises(InputError) as caught:
        read_finishes(table, "own.csv")
    assert [(p.file, p.line) for p in caught.value.problems] == [("own.csv", line)]

"""Other programs recalculate the delivered workbooks to the engine's figures, whatever the caches say."""

import re
import zipfile
from decimal import Decimal
from pathlib import Path

import pytest

from tests.examples import NAMES, sheets_of, workbook_of
from tests.workbook.recalculate import compare_with, recalculated_all


def written(name: str, folder: Path) -> Path:
    path = folder / f"{name}.xlsx"
    path.write_bytes(workbook_of(name))
    return path


def recached(path: Path, cached: str) -> Path:
    """Write the workbook again with every formula's result replaced: none, or a wrong one."""
    out = path.with_name(f"{path.stem}-{'wrong' if cached else 'none'}.xlsx")
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            body = source.read(name)
            if name.startswith("xl/worksheets/sheet"):
                text = body.decode()
                text = re.sub(r"(</f>)<v>[^<]*</v>", rf"\g<1>{cached}", text)
                text = re.sub(r' t="(?:str|b)"(?=[^>]*><f>)', "", text)
                body = text.encode()
            target.writestr(name, body)
    return out


def test_every_example_is_seen() -> None:
    assert len(NAMES) >= 4


@pytest.mark.parametrize("name", NAMES)
def test_ironcalc_agrees_on_every_cell(name: str, tmp_path: Path) -> None:
    (values,) = recalculated_all([written(name, tmp_path)], "ironcalc")
    assert len(values) > 1000
    assert compare_with(sheets_of(name), values) == ()


@pytest.mark.libreoffice
@pytest.mark.parametrize(
    "cached",
    ["", pytest.param("<v>987654.25</v>", marks=pytest.mark.slow)],
    ids=["no caches", "wrong caches"],
)
def test_libreoffice_agrees_on_every_cell(cached: str, tmp_path: Path) -> None:
    paths = [recached(written(name, tmp_path), cached) for name in NAMES]
    for name, values in zip(NAMES, recalculated_all(paths, "libreoffice"), strict=True):
        assert compare_with(sheets_of(name), values) == (), name


def test_a_planted_wrong_value_is_found(tmp_path: Path) -> None:
    (values,) = recalculated_all([written("one_panel", tmp_path)], "ironcalc")
    spoiled = dict(values)
    key = next(
        k
        for k, v in spoiled.items()
        if k[0] == "Build-up" and isinstance(v, object) and not isinstance(v, str)
    )
    spoiled[key] = Decimal(1)
    assert compare_with(sheets_of("one_panel"), spoiled)

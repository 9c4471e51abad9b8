"""Text files from outside: of a bounded size and depth, UTF-8, and without characters that cannot be seen."""

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.archive import finished as archive_actuals
from estimator.archive.exporting import load_chart
from estimator.catalogue.labour import SHIPPED, load_labour
from estimator.catalogue.load import DATA
from estimator.catalogue.price_list import read_price_list
from estimator.core.errors import InputError
from estimator.cutting.piece_list import STICK_COLUMNS, read_list
from estimator.intake.files import LARGEST_TEXT, read_text
from estimator.intake.structured import DEEPEST, read_json, read_toml, records, rows
from estimator.job.document import read_document
from estimator.job.load import load_job
from estimator.office.edits import load_edits

UNSEEN = {"U+0007": "\x07", "U+009B": "\x9b", "U+200B": "\u200b", "U+202E": "\u202e", "U+2066": "\u2066",
          "U+FEFF": "\ufeff"}  # fmt: skip
EXAMPLE = Path("examples/one_panel/job.toml")
EDITS = 'schema = 1\njob_id = "14"\n\n[edits."prices.price.a"]\nwas = "x"\nnow = "y"\n'

READERS: dict[str, tuple[str, Callable[[Path], object]]] = {
    "job.toml": (EXAMPLE.read_text(encoding="utf-8"), load_job),
    "prices.csv": ((DATA / "prices.csv").read_text(encoding="utf-8"), read_price_list),
    "labour.toml": (SHIPPED.read_text(encoding="utf-8"), load_labour),
    "job.edits.toml": (EDITS, lambda path: load_edits(path, "14")),
    "practice.toml": ((DATA / "practice" / "default.toml").read_text(encoding="utf-8"), read_document),
    "pieces.csv": ("length,name\n1 m,rail\n", lambda path: read_list(path, STICK_COLUMNS)),
    "took.csv": ("kind,name,amount\nhours,Cut,6.5\n", archive_actuals.load),
    "took.json": ('{"hours": {"Cut": 6.5}}', archive_actuals.load),
    "accounts.toml": ('[accounts.bank]\nnumber = "1"\nname = "Bank"\n', load_chart),
}


def read(folder: Path, name: str, text: str) -> object:
    (folder / name).write_text(text, encoding="utf-8", newline="")
    return READERS[name][1](folder / name)


@pytest.mark.parametrize("name", READERS)
def test_each_file_is_read_as_it_is(tmp_path: Path, name: str) -> None:
    assert read(tmp_path, name, READERS[name][0]) is not None


@pytest.mark.parametrize("code", UNSEEN)
@pytest.mark.parametrize("name", READERS)
def test_a_character_that_cannot_be_seen_is_refused_in_every_file(
    tmp_path: Path, name: str, code: str
) -> None:
    text = READERS[name][0]
    place = text.index("\n", len(text) // 2) if "\n" in text else len(text) // 2
    line = text.count("\n", 0, place) + 1
    with pytest.raises(InputError, match="which cannot be seen") as caught:
        read(tmp_path, name, f"{text[:place]}{UNSEEN[code]}{text[place:]}")
    assert [(p.line, code in p.what) for p in caught.value.problems] == [(line, True)]
    assert str(caught.value).isprintable()


@pytest.mark.parametrize("escape", ["\\u009b", "\\u200b", "\\u202e", "\\u2066", "\\ufeff"])
def test_an_escape_hides_nothing(tmp_path: Path, escape: str) -> None:
    title = 'title = "'
    job = EXAMPLE.read_text(encoding="utf-8").replace(title, f"{title}{escape}")
    with pytest.raises(InputError, match="which cannot be seen") as caught:
        read(tmp_path, "job.toml", job)
    assert caught.value.problems[0].where == "job.title"
    assert caught.value.problems[0].line == job[: job.index(title)].count("\n") + 1
    with pytest.raises(InputError, match="which cannot be seen"):
        read(tmp_path, "took.json", f'{{"hours": {{"Cut{escape}": 6.5}}}}')
    with pytest.raises(InputError, match="which cannot be seen"):
        read(tmp_path, "job.edits.toml", EDITS.replace('"y"', f'"{escape}"'))


def test_a_lone_surrogate_in_json_is_refused() -> None:
    with pytest.raises(InputError, match=r"U\+D800, which cannot be seen"):
        read_json(r'{"a": "\ud800"}', "a.json")


@pytest.mark.parametrize("depth", [DEEPEST + 1, 300, 900, 100_000])
@pytest.mark.parametrize(
    "name", ["took.json", "job.toml", "practice.toml", "job.edits.toml", "accounts.toml"]
)
def test_deep_nesting_is_a_problem_and_no_crash(tmp_path: Path, name: str, depth: int) -> None:
    nested = "[" * depth + "]" * depth
    text = f'{{"hours": {nested}}}' if name.endswith("json") else f"deep = {nested}\n"
    with pytest.raises(InputError, match="deep"):
        read(tmp_path, name, text)


def test_nested_tables_of_json_and_dotted_keys_of_toml_are_counted_too() -> None:
    with pytest.raises(InputError, match="over 20 deep"):
        read_json('{"a":' * 30 + "1" + "}" * 30, "a.json")
    with pytest.raises(InputError, match="over 20 deep"):
        read_toml(f"{'.'.join('a' * 30)} = 1\n", "a.toml")


@pytest.mark.parametrize("name", READERS)
def test_a_file_too_large_to_be_one_is_not_read(tmp_path: Path, name: str) -> None:
    with (tmp_path / name).open("wb") as file:
        file.truncate(80_000_000)
    with pytest.raises(InputError, match=r"over \d+ MB"):
        READERS[name][1](tmp_path / name)


def test_the_largest_text_is_read_and_a_byte_more_is_not(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    path.write_bytes(b"x" * LARGEST_TEXT)
    assert len(read_text(path, "a.txt")) == LARGEST_TEXT
    path.write_bytes(b"x" * (LARGEST_TEXT + 1))
    with pytest.raises(InputError, match="the file is over 1 MB"):
        read_text(path, "a.txt")


@pytest.mark.parametrize(
    ("text", "line"), [('a,b\n"1,2\n', 2), ('a,b\n1,2\n"x"y,3\n', 3), (f"a\n{'9' * 200_000}\n", 2)]
)
def test_a_row_that_is_no_csv_is_named_by_its_line(text: str, line: int) -> None:
    with pytest.raises(InputError, match="cannot be read as CSV") as caught:
        list(rows(text, "a.csv"))
    assert caught.value.problems[0].line == line


def test_rows_know_their_lines_and_records_their_headings() -> None:
    text = 'a; b\n\n1 ;"x\ny"\n2\n'
    assert list(rows(text, "a.csv")) == [(1, ["a", "b"]), (4, ["1", "x\ny"]), (5, ["2"])]
    assert list(records(text, "a.csv", ["a"])) == [(4, {"a": "1", "b": "x\ny"}), (5, {"a": "2", "b": ""})]
    with pytest.raises(InputError, match="the heading lacks c"):
        list(records(text, "a.csv", ["a", "c"]))


@pytest.mark.parametrize("word", ["NaN", "Infinity", "-Infinity"])
def test_json_holds_numbers_that_are_some(word: str) -> None:
    with pytest.raises(InputError, match="is no number"):
        read_json(f"[{word}]", "a.json", number=Decimal)

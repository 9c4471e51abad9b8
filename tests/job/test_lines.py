"""Where keys stand. What is expected is looked up in the text itself, by a marker put beside each key."""

import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.job.lines import key_lines, line_of

TEXT = """\
schema = 1
# a comment with [brackets] and = signs
[job]
number = "a # b = [c]"
'quoted key' = 1
"esc\\u0061ped" = 2
dotted . inner = 3
[[wall]]
name = "N"
band = { bottom = "6 in", size = { height = "84 in" } }
frames = [
  "60 in", # first
  # nothing here

  "61 in",
]
[[wall.opening]]
name = "W1"
[[wall.opening]]
text = \"\"\"
[not.a.table]
key = "no"\"\"\"
name = "W2"
[[wall]]
name = "S"
[wall.sides]
left = 'wall'
[[wall.opening]]
literal = '''
[no]'''
name = "W3"
date = 2026-03-02 07:32:00
array = [[1, 2], [3, {a = 4}]]
"""


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("schema",), 1),
        (("job",), 3),
        (("job", "number"), 4),
        (("job", "quoted key"), 5),
        (("job", "escaped"), 6),
        (("job", "dotted"), 7),
        (("job", "dotted", "inner"), 7),
        (("wall",), 8),
        (("wall", 0), 8),
        (("wall", 0, "band", "size", "height"), 10),
        (("wall", 0, "frames", 0), 12),
        (("wall", 0, "frames", 1), 15),
        (("wall", 0, "opening", 0, "name"), 18),
        (("wall", 0, "opening", 1), 19),
        (("wall", 0, "opening", 1, "name"), 23),
        (("wall", 1, "name"), 25),
        (("wall", 1, "sides", "left"), 27),
        (("wall", 1, "opening", 0, "name"), 31),
        (("wall", 1, "opening", 0, "array", 1, 1, "a"), 33),
    ],
)
def test_the_line_of_a_key(path: tuple[str | int, ...], line: int) -> None:
    tomllib.loads(TEXT)
    assert key_lines(TEXT)[path] == line


def test_a_key_that_is_not_written_stands_at_the_table_around_it() -> None:
    lines = key_lines(TEXT)
    assert line_of(lines, ("wall", 1, "opening", 0, "width")) == 28
    assert line_of(lines, ("room", "height")) == 1
    assert line_of({}, ("room",)) == 0


def test_windows_line_ends_count_as_one() -> None:
    assert key_lines("a = 1\r\n\r\n[b]\r\nc = 2\r\n")[("b", "c")] == 4


def _paths(data: Any, path: tuple[str | int, ...] = ()) -> Any:
    if isinstance(data, dict):
        for key, value in data.items():
            yield from _paths(value, (*path, key))
    elif isinstance(data, list):
        for n, value in enumerate(data):
            yield from _paths(value, (*path, n))
    else:
        yield path, data


_KEYS = st.sampled_from(["a", "b", "c-d", '"x y"', "'q.r'", '"tab\\t"', "1"])


def _render(value: Any, marks: list[int], gap: str) -> str:
    if value is None:
        marks.append(len(marks))
        return f'"m{marks[-1]}"'
    if isinstance(value, list):
        return "[" + gap + f",{gap}".join(_render(v, marks, gap) for v in value) + gap + "]"
    pairs = [f"{k} = {_render(v, marks, ' ')}" for k, v in value.items()]
    return "{ " + ", ".join(pairs) + " }"


def _arrays_and_tables(inner: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.lists(inner, max_size=4) | st.dictionaries(_KEYS, inner, max_size=4)


_PAIRS = st.dictionaries(_KEYS, st.recursive(st.none(), _arrays_and_tables, max_leaves=12), max_size=4)
_TABLES = st.lists(st.tuples(st.booleans(), _PAIRS, st.sampled_from([" ", "\n  "])), max_size=6)


@given(_TABLES)
def test_every_value_of_any_text_is_found_on_its_line(tables: list[tuple[bool, Any, str]]) -> None:
    marks: list[int] = []
    parts = []
    for n, (array, pairs, gap) in enumerate(tables):
        parts.append("[[array]]" if array else f"[table.t{n}]")
        parts += [f"{key} = {_render(value, marks, gap)}  # [x]" for key, value in pairs.items()]
    text = "\n".join(parts)
    lines, rows = key_lines(text), text.split("\n")
    found = [(rows[lines[path] - 1], mark) for path, mark in _paths(tomllib.loads(text))]
    assert len(found) == len(marks)
    assert all(f'"{mark}"' in row for row, mark in found)

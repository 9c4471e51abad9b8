"""No name from outside leaves its folder, whatever it is made of."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.archive.manifest import is_safe
from estimator.archive.names import natural, number_key, safe_name


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Harbour Street Clinic", "Harbour Street Clinic"),
        ("../../etc/passwd", "etc-passwd"),
        ("..", "unnamed"),
        (".", "unnamed"),
        ("", "unnamed"),
        ("   ", "unnamed"),
        ("a/b\\c:d", "a-b-c-d"),
        ("／／etc", "etc"),  # full-width solidus, folded by NFKC
        ("a∕b⁄c", "a-b-c"),  # division slash, fraction slash
        ("‥／x", "x"),  # two-dot leader, full-width solidus
        ("Acme...", "Acme"),
        ("Acme. ", "Acme"),
        ("Ac\x00me\x1b[31m", "Acme[31m"),
        ("a\u202eb\u200bc", "abc"),  # right-to-left override, zero-width space
        ("line\nbreak\tand tab", "line break and tab"),
        ("CON", "_CON"),
        ("nul.txt", "_nul.txt"),
        ("com¹", "_com1"),  # NFKC makes the superscript a digit, and Windows keeps that name
        ("-rf", "rf"),
        (".hidden", "hidden"),
        ("Café Zoë", "Café Zoë"),
        ("東京スタジオ", "東京スタジオ"),
    ],
)
def test_a_name_is_made_harmless(text: str, expected: str) -> None:
    assert safe_name(text) == expected


def test_200_characters_are_cut_and_told_apart() -> None:
    one, two = safe_name("x" * 200 + "1.pdf"), safe_name("x" * 200 + "2.pdf")
    assert len(one.encode()) <= 80
    assert one != two
    assert one.endswith(".pdf")


@given(st.text(max_size=300))
def test_every_text_gives_one_plain_part(text: str) -> None:
    name = safe_name(text)
    assert 1 <= len(name.encode()) <= 80
    assert name not in {".", ".."}
    assert not set(name) & set('/\\:*?"<>|\0')
    assert not name.endswith((".", " "))
    assert safe_name(name) == name


@given(st.lists(st.sampled_from(["", ".", "..", "a", "b.c", "\\", "\0"]) | st.text(max_size=9), max_size=5))
def test_a_filed_name_stays_inside(parts: list[str]) -> None:
    name = "/".join(parts)
    if is_safe(name):
        assert not {"", ".", ".."} & set(name.split("/"))
        assert not set(name) & set("\\\0")


@pytest.mark.parametrize("name", ["../x", "/x", "a/../b", "a//b", "a/", "", ".", "a\\b", "CON", "x.", "a/ b"])
def test_unsafe_names_of_files_are_known(name: str) -> None:
    assert not is_safe(name)


def test_numbers_that_look_alike_have_one_key() -> None:
    assert number_key("2026/14") == number_key("2026-14") == number_key("２０２６-14")
    assert number_key("Q-a") == number_key("Q-A")


def test_numbers_are_ordered_as_people_count() -> None:
    assert sorted(["2026-10", "2026-9", "2025-100"], key=natural) == ["2025-100", "2026-9", "2026-10"]

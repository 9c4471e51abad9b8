"""What holds for every paper: well formed, self-contained, and nothing in it that may not be said."""

import re
from decimal import Decimal

import pytest

from estimator.documents.files import Wishes, papers
from tests.documents.made import EXAMPLES, KINDS, pages, pages_of, text_of
from tests.examples import estimate_of

EVERY = (*KINDS, "change_order")
NEVER = (
    "soundproof", "sound proof", "sound-proof", "noise-proof", "complies", "compliant", "in compliance",
    "code-approved", "code approved",
    "meets code", "meets the code", "STC", "Rw", "isolation", "transmission loss", "transmission class",
    "fireproof", "fire-rated", "flameproof",
)  # fmt: skip
"""A promise no one here can keep: what treatment does not do, and what only an authority may say."""


@pytest.mark.parametrize("kind", EVERY)
@pytest.mark.parametrize("name", EXAMPLES)
def test_a_page_is_well_formed_and_whole(name: str, kind: str) -> None:
    page = pages(name)[kind]
    assert page.lstrip().startswith("<!doctype html>")
    assert text_of(page)
    assert page.count("<h1>") == 1
    assert '<html lang="en">' in page


@pytest.mark.parametrize("kind", EVERY)
@pytest.mark.parametrize("name", EXAMPLES)
def test_a_page_needs_nothing_from_outside(name: str, kind: str) -> None:
    page = re.sub(r'xmlns="[^"]*"', "", pages(name)[kind])
    assert not re.search(r"https?://|<script|<link|<img|@import|url\((?!#)", page)


@pytest.mark.parametrize("kind", EVERY)
@pytest.mark.parametrize("name", EXAMPLES)
def test_no_sentence_is_left_unfilled(name: str, kind: str) -> None:
    text = text_of(pages(name)[kind])
    assert not re.search(r"[{}]|\bNone\b|\bnan\b|Decimal|Undefined|Namespace", text)


@pytest.mark.parametrize("kind", EVERY)
@pytest.mark.parametrize("name", EXAMPLES)
def test_nothing_is_promised(name: str, kind: str) -> None:
    page = pages(name)[kind]
    for word in NEVER:
        assert not re.search(
            rf"\b{re.escape(word)}\b", page, 0 if word in {"STC", "Rw"} else re.IGNORECASE
        ), word
    for sentence in re.findall(r"[^.]*\bguarantee[^.]*\.", text_of(page), re.IGNORECASE):
        assert "not guaranteed" in sentence


@pytest.mark.parametrize("kind", EVERY)
@pytest.mark.parametrize("name", EXAMPLES)
def test_every_table_has_heads_for_a_screen_reader(name: str, kind: str) -> None:
    for table in re.findall(r"<table\b.*?</table>", pages(name)[kind], re.DOTALL):
        assert "<th" in table
        assert 'scope="col"' in table


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_caution_says_what_triggered_it_and_stands_to_be_ticked(name: str) -> None:
    text = text_of(pages(name)["site"])
    assert "Local code and licensed trades decide" in text
    found = [p for p in estimate_of(name).problems if p.severity == "caution"]
    assert found
    for problem in found:
        assert problem.what in text
        assert problem.fix in text
    assert pages(name)["site"].count('<span class="box"') >= len(found)


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_quote_tells_its_accuracy_and_the_dates_of_its_prices(name: str) -> None:
    text = text_of(pages(name)["quote"])
    assert "Class " in text
    assert "Material prices are as of 15 January 2026" in text


@pytest.mark.parametrize("kind", EVERY)
@pytest.mark.parametrize("name", EXAMPLES)
def test_things_are_called_by_their_names_and_never_by_their_keys(name: str, kind: str) -> None:
    prices = estimate_of(name).catalogue.items
    keys = {key for item in prices for key in (item.key, item.product) if "-" in key}
    assert len(keys) > 20
    text = text_of(pages(name)[kind])
    assert [key for key in keys if re.search(rf"(?<![\w-]){re.escape(key)}(?![\w-])", text)] == []


@pytest.mark.parametrize(("asked", "size"), [("letter", "letter"), ("a4", "A4")])
@pytest.mark.parametrize("name", ["one_panel", "voice_booth"])
def test_paper_is_the_one_asked_for(name: str, asked: str, size: str) -> None:
    pages = papers(estimate_of(name), Wishes(paper=asked))
    assert {re.findall(r"@page \{ size: (\w+);", page.decode())[0] for page in pages.values()} == {size}


def test_the_measuring_sheet_names_nobody() -> None:
    text = pages("one_panel")["survey"]
    assert estimate_of("one_panel").job.header.client not in text
    assert estimate_of("one_panel").job.header.title not in text


@pytest.mark.parametrize("price_by", ["sum", "section", "wall"])
def test_the_quotes_lines_add_up_to_its_price(price_by: str) -> None:
    made = estimate_of("rehearsal_room")
    text = text_of(pages_of(made, Wishes(price_by=price_by))["quote"])
    part = text.split("\nPrice\n")[1].split("Price before tax")[0]
    sums = [Decimal(m.replace(",", "")) for m in re.findall(r"\| ([\d,]+\.\d\d)$", part, re.MULTILINE)]
    assert sum(sums) == made.totals.price


def test_the_client_hears_that_an_option_has_open_details_and_not_the_trades_words() -> None:
    text = text_of(pages("chapel_annex")["quote"])
    assert "we have still to settle details of N, C, E with you" in text
    assert "bites only" not in text

"""What a job file holds is text on a page: never markup, never a template, never too long for the paper."""

import csv
import re
from pathlib import Path

import pytest

from estimator.core.errors import Problem
from estimator.documents.files import Wishes
from estimator.documents.sandbox import broken, caution, tape
from tests.documents.made import ROOT, drawings, estimate_of_text, pages_of, text_of

MARKUP = '<script>alert(1)</script><b onclick="x">"&\'</b>'
TEMPLATE = "{{7*7}} {% raw %} {{ config }}"
RIGHT_TO_LEFT = "\u0645\u0631\u062d\u0628\u0627 \u05e9\u05dc\u05d5\u05dd"
LONG = "x" * 190
TEXTS = {
    "markup": MARKUP,
    "template": TEMPLATE,
    "right to left": RIGHT_TO_LEFT,
    "long": LONG,
    "quotes": "''\"`“”&lt;",
}


def job_with(text: str) -> str:
    quoted = '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
    own = (ROOT / "examples/one_panel/job.toml").read_text(encoding="utf-8")
    lines = [
        f"{key} = {quoted}" if key in {"title", "client", "site"} else line
        for line in own.splitlines()
        for key in [line.partition(" = ")[0]]
    ]
    own = "\n".join(lines)
    own += f'\n[[allowance]]\ntext = {quoted}\namount = "10.00"\n'
    own += f"\n[[exclusion]]\ntext = {quoted}\n\n[[note]]\ntext = {quoted}\n"
    own += f'\n[[option]]\nname = "other"\ntitle = {quoted}\ncolour = [{{ wall = "N", colour = "red" }}]\n'
    return own


@pytest.mark.parametrize("what", TEXTS)
def test_any_text_stays_text(what: str, tmp_path: Path) -> None:
    text = TEXTS[what]
    found = pages_of(estimate_of_text(job_with(text), tmp_path))
    for page in found.values():
        plain = text_of(page)
        assert "<script" not in page
        assert not re.search(r"<b\b", page)
        assert "<Config" not in plain
        for drawing in drawings(page):
            assert drawing.tag.endswith("svg")
    quoted = text_of(found["quote"]).replace("\u200b", "")
    assert quoted.count(text) >= 7, "title, client, site, allowance, exclusion, note, option"


def test_long_words_can_break_and_others_stay_whole() -> None:
    assert broken("ordinary words stay") == "ordinary words stay"
    assert broken(7) == 7
    parts = str(broken("x" * 300)).split("\u200b")
    assert max(map(len, parts)) <= 28
    assert "".join(parts) == "x" * 300


def test_a_caution_is_escaped() -> None:
    made = caution(Problem("N<1>", "a & b", "See <b>.", severity="caution"))
    assert made == "<strong>N&lt;1&gt;</strong>: a &amp; b. See &lt;b&gt;."


def test_lengths_are_not_broken_and_what_stands_round_them_is_escaped() -> None:
    assert tape("<i> 5'2-1/2\" up") == '&lt;i&gt; <span class="k">5&#39;2-1/2&#34;</span> up'


def shop_with(text: str, folder: Path) -> str:
    """Write a price list, terms and a practice that hold the text wherever they hold any; return the job."""
    prices = (ROOT / "estimator/catalogue/data/prices.csv").read_text(encoding="utf-8")
    rows = list(csv.reader(prices.splitlines()))
    places = [rows[0].index(name) for name in ("description", "supplier", "item code", "buy unit")]
    for row in rows[1:]:
        for place in places:
            row[place] = f"{row[place]} {text}"
    with (folder / "prices.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)
    terms = (ROOT / "estimator/catalogue/data/terms/default.toml").read_text(encoding="utf-8")
    for words in ("Deposit", "with the order", "Repair of walls, paint of walls", "Shop terms"):
        assert words in terms
        terms = terms.replace(words, text)
    (folder / "terms.toml").write_text(terms, encoding="utf-8")
    practice = f'name = "ours"\n[firm]\nname = "{text}"\naddress = ["{text}"]\nemail = "{text}"\n'
    (folder / "practice.toml").write_text(practice, encoding="utf-8")
    head = (ROOT / "examples/one_panel/job.toml").read_text(encoding="utf-8")
    files = 'prices = "prices.csv"\nterms = "terms.toml"\npractice = "practice.toml"'
    return head.replace('currency = "CAD"', f'currency = "CAD"\n{files}')


@pytest.mark.parametrize(
    "text", ["<script>alert(1)</script>", "{{7*7}} {% raw %}", "<b>'&amp;'</b>", "y" * 150]
)
def test_text_of_prices_terms_and_practice_stays_text(text: str, tmp_path: Path) -> None:
    found = pages_of(estimate_of_text(shop_with(text, tmp_path), tmp_path), Wishes(order_prices=True))
    for kind, page in found.items():
        plain = text_of(page).replace("\u200b", "")
        assert "<script" not in page
        assert not re.search(r"<b\b", page)
        assert text in plain, kind
        for drawing in drawings(page):
            assert drawing.tag.endswith("svg")

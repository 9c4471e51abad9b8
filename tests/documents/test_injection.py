"""What a job file holds is text on a page: never markup, never a template, never too long for the paper."""

import re
from pathlib import Path

import pytest

from estimator.core.errors import Problem
from estimator.documents.render import broken, caution, tape
from tests.documents.made import ROOT, drawings, estimate_of_text, pages_of, text_of

MARKUP = '<script>alert(1)</script><b onclick="x">"&\'</b>'
TEMPLATE = "{{7*7}} {% raw %} {{ config }}"
RIGHT_TO_LEFT = "\u202e\u0645\u0631\u062d\u0628\u0627\u202c \u05e9\u05dc\u05d5\u05dd"
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

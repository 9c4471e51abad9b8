"""The papers as a browser lays them out: no letters over letters, nothing wider than the paper."""

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from estimator.documents.pdf import pdf, way
from tests.documents.made import EXAMPLES, estimate_of_text, pages, pages_of
from tests.documents.test_injection import LONG, job_with

PROBE = """<script>
const found = {texts: 0, clashes: [], wide: []};
for (const svg of document.querySelectorAll("svg")) {
  const view = svg.getBoundingClientRect();
  const boxes = [...svg.querySelectorAll("text")].map(t => [t.textContent, t.getBoundingClientRect()]);
  found.texts += boxes.length;
  boxes.forEach(([text, b], at) => {
    if (b.left < view.left - 1 || b.right > view.right + 1) found.clashes.push([text, "outside"]);
    for (const [other, o] of boxes.slice(0, at)) {
      const across = Math.min(b.right, o.right) - Math.max(b.left, o.left);
      const down = Math.min(b.bottom, o.bottom) - Math.max(b.top, o.top);
      const least = 0.25 * Math.min(b.height, o.height, b.width, o.width);
      if (across > 0.6 && down > least) found.clashes.push([text, other]);
    }
  });
}
for (const svg of document.querySelectorAll(".sheet svg")) {
  const areas = [...svg.querySelectorAll(":scope > rect")].map(r => r.getBoundingClientRect());
  for (const text of svg.querySelectorAll("text")) {
    const b = text.getBoundingClientRect(), x = (b.left + b.right) / 2, y = (b.top + b.bottom) / 2;
    const around = areas.filter(a => a.left < x && x < a.right && a.top < y && y < a.bottom);
    const own = around.sort((p, q) => p.width * p.height - q.width * q.height)[0];
    const out = own && (b.left < own.left || b.right > own.right);
    if (out) found.clashes.push([text.textContent, "over the edge"]);
  }
}
const room = document.body.getBoundingClientRect().right + 1;
for (const e of document.querySelectorAll("main *")) {
  const wide = !e.closest("svg") && e.getBoundingClientRect().right > room;
  if (wide) found.wide.push(e.tagName + e.textContent.slice(0, 40));
}
document.body.innerHTML = "";
document.title = "found" + JSON.stringify(found) + "end";
</script>"""


def laid_out(page: str, folder: Path, width: int = 720) -> dict[str, object]:
    path = folder / "page.html"
    path.write_text(page.replace("</body>", f"{PROBE}</body>"), encoding="utf-8")
    program = next(p for n in ("chromium", "chromium-browser", "google-chrome") if (p := shutil.which(n)))
    command = [program, "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={folder}/profile",
               f"--window-size={width},1000", "--dump-dom", path.as_uri()]  # fmt: skip
    done = subprocess.run(command, check=True, capture_output=True, text=True, timeout=120)
    answer = re.search(r"found(\{.*\})end", done.stdout.replace("&quot;", '"'))
    assert answer, done.stderr[-400:]
    found: dict[str, object] = json.loads(answer.group(1))
    return found


@pytest.mark.chromium
@pytest.mark.parametrize("name", EXAMPLES)
def test_no_letters_stand_over_letters(name: str, tmp_path: Path) -> None:
    for kind in ("quote", "shop", "site"):
        found = laid_out(pages(name)[kind], tmp_path)
        assert found["texts"]
        assert found["clashes"] == [], (kind, found["clashes"])
        assert found["wide"] == [], (kind, found["wide"])


@pytest.mark.chromium
def test_very_long_words_stay_on_the_paper(tmp_path: Path) -> None:
    (tmp_path / "job").mkdir()
    for page in pages_of(estimate_of_text(job_with(LONG), tmp_path / "job")).values():
        assert laid_out(page, tmp_path)["wide"] == []


FEWEST_WORDS = 12
"""Words on a page beside its foot, so that none is turned for a line; common practice, no source."""


def printed(page: str, folder: Path) -> list[list[str]]:
    """Return the words of every printed page, without the last line, its foot."""
    path, chosen = folder / "page.pdf", way()
    assert chosen is not None
    path.write_bytes(pdf(page.encode(), chosen))
    done = subprocess.run(["pdftotext", "-layout", path, "-"], check=True, capture_output=True, text=True)
    found = [[line for line in text.splitlines() if line.strip()] for text in done.stdout.split("\f")]
    return [" ".join(lines[:-1]).split() for lines in found if lines]


@pytest.mark.chromium
@pytest.mark.parametrize("name", EXAMPLES)
def test_no_page_is_turned_for_a_line_and_no_title_is_cut_from_its_table(name: str, tmp_path: Path) -> None:
    for kind in ("quote", "shop", "site"):
        page = pages(name)[kind]
        sheets = printed(page, tmp_path)
        assert [" ".join(sheet) for sheet in sheets if len(sheet) < FEWEST_WORDS] == [], kind
        for title, head in re.findall(r"<caption>(.*?)</caption>\s*<thead><tr><th[^>]*>(.*?)</th>", page):
            words = " ".join(title.split()[:6])
            here = [" ".join(sheet).partition(words) for sheet in sheets if words in " ".join(sheet)]
            assert here
            assert all(head in after for _, _, after in here), (kind, title)


@pytest.mark.chromium
@pytest.mark.parametrize("name", ["voice_booth", "rehearsal_room"])
def test_the_plan_follows_what_is_built_on_the_quotes_first_page(name: str, tmp_path: Path) -> None:
    first, *_ = printed(pages(name)["quote"], tmp_path)
    assert "Plan, to scale" in " ".join(first)

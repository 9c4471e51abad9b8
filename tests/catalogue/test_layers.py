"""Files that lie over others: a union's wages, another practice; what they leave out holds as it stood."""

from decimal import Decimal as D
from pathlib import Path

import pytest

from estimator.catalogue.labour import load_labour
from estimator.catalogue.load import load
from estimator.core.errors import InputError

EXAMPLES = Path(__file__).parents[2] / "examples"
UNION = """schema = 1
name = "Union wages (invented)"
over = "default"

[[wage]]
key = "joiner"
wage = 51.00
source = "agreement (invented)"

[[task]]
key = "wrap"
likely = 1.6

[[task]]
key = "vacuum"
label = "Vacuum the room"
stage = "site"
driver = "job"
unit = "each"
low = 5
likely = 10
high = 20
wage = "helper"
after = ["hand_over"]
source = "ours"
"""


def union(folder: Path, text: str = UNION) -> Path:
    path = folder / "union.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_wages_and_tasks_go_by_their_key_and_all_else_holds(tmp_path: Path) -> None:
    own, shipped = load_labour(union(tmp_path)), load_labour()
    joiner = next(w for w in own.wages if w.key == "joiner")
    assert (joiner.wage, joiner.burden, joiner.label) == (D(51), D("0.28"), "Joiner")
    assert [w for w in own.wages if w.key != "joiner"] == [w for w in shipped.wages if w.key != "joiner"]
    wrap = own.by_key["wrap"]
    assert (wrap.low, wrap.likely, wrap.high) == (
        shipped.by_key["wrap"].low,
        D("1.6"),
        shipped.by_key["wrap"].high,
    )
    assert [t.key for t in own.tasks] == [*(t.key for t in shipped.tasks), "vacuum"]
    assert own.calendar == shipped.calendar


def test_what_is_wrong_is_told_with_the_line_of_the_file_that_lies_over(tmp_path: Path) -> None:
    wrong = UNION.replace("likely = 1.6", 'likely = "x"').replace("wage = 51.00", "wage = 0")
    with pytest.raises(InputError) as told:
        load_labour(union(tmp_path, wrong), "union.toml")
    lines = wrong.splitlines()
    assert sorted((p.file, p.line) for p in told.value.problems) == [
        ("union.toml", lines.index("wage = 0") + 1), ("union.toml", lines.index('likely = "x"') + 1),
    ]  # fmt: skip


@pytest.mark.parametrize(("over", "said"), [
    ('over = "union.toml"', "is laid over another file itself"),
    ('over = "nobody"', "there is nothing shipped by the name 'nobody'"),
    ('over = "../labour.toml"', "is not beside this file"),
])  # fmt: skip
def test_what_cannot_be_laid_over_is_refused(tmp_path: Path, over: str, said: str) -> None:
    union(tmp_path)
    own = tmp_path / "own.toml"
    own.write_text(f'schema = 1\nname = "Own"\n{over}\n', encoding="utf-8")
    with pytest.raises(InputError, match=said):
        load_labour(own)


def test_a_metric_shop_that_sets_its_saw_keeps_the_metric_practice(tmp_path: Path) -> None:
    """Studs of 600 mm and cloth by 0.1 m are the metric practice's; inches are the default's."""
    (tmp_path / "shop.toml").write_text(
        'name = "Ours"\nover = "metric"\n[values.saw_kerf]\nvalue = "2.4 mm"\nsource = "our blade"\n',
        encoding="utf-8",
    )
    job = tmp_path / "job.toml"
    text = (EXAMPLES / "voice_booth" / "job.toml").read_text(encoding="utf-8")
    job.write_text(text.replace('practice = "metric"', 'practice = "shop.toml"'), encoding="utf-8")
    practice = load(job)[1].practice
    assert practice.values["saw_kerf"].text == "2.4 mm"
    assert practice.values["stud_spacing"].text == "600 mm"
    assert practice.values["fabric_step"].text == "0.1 m"
    assert practice.name == "Ours"

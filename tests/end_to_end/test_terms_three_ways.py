"""The office changes a client's terms in the workbook, or in the terms file: the same result, to the cent.

Three ways to one change: typed into the delivered workbook and recalculated there by a spreadsheet program,
read back and estimated again, and written into the terms file.
"""

import html
from decimal import Decimal as D
from pathlib import Path

import ironcalc
import pytest

from estimator.calc.expressions import Value
from estimator.calc.tables import FieldAddresses, input_cells
from estimator.catalogue.load import DATA, Instead, load
from estimator.documents.files import Wishes, contents
from estimator.job.options import apply_option
from estimator.pipeline import Estimate, estimate
from estimator.tables.book import book_of
from estimator.workbook.control import completed
from tests.examples import FOLDER, estimate_of, loaded, workbook_of

NAME = "chapel_annex"
JOB = FOLDER / NAME / "job.toml"
TERMS = (DATA / "terms" / "default.toml").read_text(encoding="utf-8")
WAYS: list[tuple[dict[str, Value], tuple[str, str]]] = [
    ({"terms.margin_asked": D("0.333")}, ('margin = "25 %"', 'margin = "33.3 %"')),
    ({"terms.profit_by": "markup", "terms.markup_asked": D("0.4")}, ('margin = "25 %"', 'markup = "40 %"')),
    ({"terms.overhead_rate": D("0.155")}, ('overhead = "12 %"', 'overhead = "15.5 %"')),
    ({"terms.contingency_by": "80 in 100"}, ('rate = "5 %"', 'from_spread = "80 %"')),
    ({"terms.discount_rate": D("0.075")}, ('discount = "0 %"', 'discount = "7.5 %"')),
    ({"terms.quote_step": D(10)}, ('rounding = "none"', 'rounding = "10.00"')),
    ({"taxes.tax_rate.tax_first": D("0.05")}, ('rate = "13 %"', 'rate = "5 %"')),
    ({"payments.pay_share.pay_first": D("0.5"), "payments.pay_share.pay_second": D("0.2")},
     ('share = "40 %"', 'share = "50 %"')),
]  # fmt: skip
OUT = ("build_up", "payment_plan")


def delivered() -> tuple[Estimate, bytes]:
    return estimate_of(NAME), workbook_of(NAME)


def by_the_file(folder: Path, change: tuple[str, str]) -> Estimate:
    old, new = change
    assert TERMS.count(old) == 1
    text = TERMS.replace(old, new)
    if "share" in new:
        text = text.replace('share = "30 %"', 'share = "20 %"', 1)
    (folder / "terms.toml").write_text(text, encoding="utf-8")
    job, catalogue, _ = load(JOB, instead=Instead({"terms": str(folder / "terms.toml")}))
    return estimate(job, catalogue)


def in_the_workbook(folder: Path, typed: dict[str, Value]) -> dict[str, list[object]]:
    """Return what a spreadsheet program shows in build-up and payment plan once the cells are typed."""
    one, body = delivered()
    (folder / "book.xlsx").write_bytes(body)
    model = ironcalc.load_from_xlsx(str(folder / "book.xlsx"), "en", "UTC", "en")
    titles = [s["name"] for s in model.get_worksheets_properties()]
    book = book_of(one)
    place = FieldAddresses(completed(book))
    cells = {key: (field, index) for key, field, index in input_cells(book)}
    for key, value in typed.items():
        sheet, row, column = place.cell(*cells[key])
        if isinstance(value, str):
            model.set_user_input(titles.index(sheet), row, column, value)
        else:
            model.update_cell_with_number(titles.index(sheet), row, column, float(str(value)))
    model.evaluate()
    found: dict[str, list[object]] = {}
    for table in OUT:
        for field in book.table(table).fields:
            at = [place.cell(field, n) for n in range(len(field.values))]
            found[f"{table}.{field.key}"] = [model.get_cell_value(titles.index(s), r, c) for s, r, c in at]
    return found


@pytest.mark.parametrize(("typed", "change"), WAYS, ids=[next(iter(w[0])) for w in WAYS])
def test_workbook_readback_and_terms_file_agree(
    typed: dict[str, Value], change: tuple[str, str], tmp_path: Path
) -> None:
    job, catalogue = loaded(NAME)
    back, filed = estimate(job, catalogue, typed), by_the_file(tmp_path, change)
    shown = in_the_workbook(tmp_path, typed)
    before = delivered()[0]
    for case in range(3):
        assert back.pricing.totals(case) == filed.pricing.totals(case)
        assert filed.pricing.totals(case) != before.pricing.totals(case)
    for table in OUT:
        for field in book_of(filed).table(table).fields:
            ours = [float(v) if isinstance(v, D) else v for v in field.values]
            theirs = shown[f"{table}.{field.key}"]
            if any(isinstance(v, float) for v in ours):
                assert theirs == pytest.approx(ours, abs=1e-6), field.key


def test_three_price_levels_stand_in_one_quote() -> None:
    """Each option's price is that of a job of its own with the option's changes made to it."""
    one = delivered()[0]
    job, catalogue = loaded(NAME)
    assert len(job.options) == 2
    levels = {one.totals.total}
    for n, option in enumerate(job.options, start=1):
        alone = estimate(apply_option(job, option), catalogue).totals
        case = one.pricing.totals(n)
        assert (case.case, case.title) == (option.name, option.title)
        assert (case.cost, case.price, case.tax, case.total) == (
            alone.cost,
            alone.price,
            alone.tax,
            alone.total,
        )
        assert [p.amount for p in case.payments] == [p.amount for p in alone.payments]
        levels.add(case.total)
    assert len(levels) == 3
    assert one.pricing.build_up.count == 3


def test_the_quote_shows_all_three() -> None:
    one = delivered()[0]
    page = next(v for k, v in contents(one, Wishes()).items() if k.endswith("quote.html")).decode()
    for n in range(3):
        total = one.pricing.totals(n).total
        assert f"{total:,.2f}" in page
    assert all(html.escape(o.title) in page for o in one.job.options)

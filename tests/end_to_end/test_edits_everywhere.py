"""What the office typed reaches whatever shows it: papers, days, the record that is filed."""

import datetime as dt
from decimal import Decimal as D
from functools import cache
from pathlib import Path

import pytest

from estimator.archive.gather import summary_of
from estimator.calc.expressions import Value
from estimator.catalogue.load import load
from estimator.core.units import INCH
from estimator.documents.files import Wishes, contents
from estimator.documents.quote import quote
from estimator.pipeline import Estimate, estimate
from estimator.tables.book import book_of

JOB = Path(__file__).parents[2] / "examples" / "rehearsal_room" / "job.toml"
DATE = dt.date(2026, 3, 2)


def with_(edits: dict[str, Value]) -> Estimate:
    job, catalogue, _ = load(JOB)
    return estimate(job, catalogue, edits)


@cache
def plain() -> Estimate:
    return with_({})


def page(one: Estimate, name: str) -> str:
    return next(v for k, v in contents(one, Wishes()).items() if k.endswith(f"{name}.html")).decode()


def test_how_long_the_quote_holds() -> None:
    one = with_({"terms.valid_days": D(14)})
    assert quote(one, "sum")["valid_until"] == summary_of(one).valid_until == DATE + dt.timedelta(days=14)
    assert quote(plain(), "sum")["valid_until"] == DATE + dt.timedelta(days=30)


def test_an_allowance_added_and_one_changed() -> None:
    one = with_(
        {
            "others.other_rate.other_1": D(200),
            "others.other_text.other_2": "Parking on Sample Lane",
            "others.other_rate.other_2": D("35.50"),
            "others.other_charged.other_2": "at cost",
        }
    )
    listed = {line.text: line.amount for line in one.pricing.others}
    assert listed == {
        "One box extension by a licensed electrician": D(200),
        "Parking on Sample Lane": D("35.50"),
    }
    assert (one.totals.other, one.totals.at_cost) == (D(200), D("35.50"))
    assert "Parking on Sample Lane: 35.50, at what it costs us" in page(one, "quote")
    assert [line.amount for line in plain().pricing.others] == [D(120)]


def test_a_practice_value_is_in_force_for_every_paper() -> None:
    kerf = "saw_kerf"
    one = with_({f"practice.{kerf}": D("0.25")})
    assert one.catalogue.practice.length(kerf) == INCH // 4
    assert one.catalogue.practice.values[kerf].text == "0.25 in"
    sources = book_of(one).table("sources")
    row = sources["key"].values.index(kerf)
    assert "changed by the office" in str(sources["source"].values[row])
    assert page(one, "shop") != page(plain(), "shop")


def test_two_people_where_one_was_shorten_the_job() -> None:
    book = plain().catalogue.labour
    alone = {t.key: D(2) for t in book.tasks if t.crew == 1 and t.planned and not t.daily}
    one = with_({f"labour_rates.crew.{key}": people for key, people in alone.items()})
    there, here = dict(one.scope.labour.hours), dict(plain().scope.labour.hours)
    of_the_days = [(there.pop(key), here.pop(key)) for key in ("travel", "set_up", "standing")]
    assert there == pytest.approx(here)
    assert all(min(pair) >= 0 for pair in of_the_days)
    assert all(one.catalogue.labour.by_key[key].crew == 2 for key in alone)
    assert one.scope.schedule.critical_hours < plain().scope.schedule.critical_hours


def test_payment_steps_and_taxes() -> None:
    one = with_({"payments.pay_label.pay_first": "On signing", "taxes.tax_name.tax_first": "GST"})
    shown = page(one, "quote")
    assert "On signing" in shown
    assert "GST" in shown
    assert summary_of(one).payments[0].label.startswith("On signing")
    assert summary_of(one).taxes[0].name == "GST"

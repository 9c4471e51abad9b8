"""Client terms: what they say, and what is refused."""

import datetime as dt
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.catalogue.layers import shipped, under
from estimator.catalogue.load import DATA, read_terms
from estimator.catalogue.terms import Terms
from estimator.core.errors import InputError
from estimator.job.document import parse_document, read_document, validated

WHOLE = """
schema = 1
name = "Terms"
profit = { margin = "25 %" }
overhead = "12 %"
contingency = { rate = "5 %" }
validity_days = 30
[[payment]]
label = "All"
share = "100 %"
when = "on completion"
"""
TAX = """
[[tax]]
name = "T"
rate = "5 %"
base = "price"
since = 2020-01-01
until = 2025-12-31
authority = "nowhere"
source = "invented"
"""


def _terms(text: str) -> Terms:
    return validated(Terms, parse_document(text, "terms.toml"))


@pytest.mark.parametrize("name", shipped("terms"))
def test_shipped_terms_are_whole_and_their_taxes_are_for_the_user_to_confirm(name: str) -> None:
    terms = read_terms(DATA / "terms" / f"{name}.toml")
    assert sum(payment.share or 0 for payment in terms.payments) == 1
    assert all("the user confirms" in tax.source for tax in terms.taxes)


@pytest.mark.parametrize(
    ("name", "rates"),
    [
        # Canada Revenue Agency, GST/HST rates by province; Revenu Quebec, QST 9.975 %; HMRC, standard rate
        # of VAT 20 % since 4 January 2011; UStG section 12, 19 % since 2007 (all from memory).
        ("default", ["0.13"]),
        ("gst-pst", ["0.05", "0.07"]),
        ("gst-qst", ["0.05", "0.09975"]),
        ("vat-20", ["0.20"]),
        ("vat-19", ["0.19"]),
        ("none", []),
    ],
)
def test_shipped_rates(name: str, rates: list[str]) -> None:
    terms = read_terms(DATA / "terms" / f"{name}.toml")
    assert [tax.rate for tax in terms.taxes_on(dt.date(2026, 3, 2))] == [Decimal(rate) for rate in rates]


def test_a_tax_is_in_force_from_its_first_to_its_last_day() -> None:
    terms = _terms(WHOLE + TAX)
    days = [dt.date(2019, 12, 31), dt.date(2020, 1, 1), dt.date(2025, 12, 31), dt.date(2026, 1, 1)]
    assert [len(terms.taxes_on(day)) for day in days] == [0, 1, 1, 0]


@pytest.mark.parametrize(
    ("old", "new", "where", "part"),
    [
        ('margin = "25 %"', 'margin = "100 %"', "profit", "no price"),
        ('margin = "25 %"', 'margin = "25 %", markup = "30 %"', "profit", "exactly one"),
        ('{ margin = "25 %" }', "{}", "profit", "exactly one"),
        ('rate = "5 %"', 'from_spread = "70 %"', "contingency.from_spread", "80 %"),
        ('"12 %"', '"-12 %"', "overhead", "negative"),
        ('"12 %"', "0.12", "overhead", "bare number"),
        ('share = "100 %"', 'share = "99 %"', "payment", "99 %"),
        ('share = "100 %"', 'share = "101 %"', "payment", "101 %"),
        ('share = "100 %"', 'share = "50 %"\namount = "10.00"', "payment[0]", "exactly one"),
        ("validity_days = 30", "validity_days = 0", "validity_days", "out of range"),
        ("schema = 1", 'schema = 1\nrounding = "3.00"', "rounding", "not one of"),
    ],
)
def test_what_is_refused(old: str, new: str, where: str, part: str) -> None:
    assert old in WHOLE
    with pytest.raises(InputError) as caught:
        _terms(WHOLE.replace(old, new))
    assert [problem.where for problem in caught.value.problems] == [where]
    assert part in str(caught.value)


def test_a_fixed_deposit_on_top_of_the_whole_is_refused() -> None:
    """800.00 and then 50 % + 50 % of the total: which of them is less is not to be guessed."""
    halves = 'share = "50 %"\nwhen = "b"\n[[payment]]\nlabel = "c"\nshare = "50 %"'
    deposit = '\n[[payment]]\nlabel = "d"\namount = "800.00"\nwhen = "a"\n'
    with pytest.raises(InputError, match="add up to 100 % of the total, and fixed amounts come on top"):
        _terms(WHOLE.replace('share = "100 %"', halves) + deposit)


def test_a_fixed_deposit_and_a_share_of_the_rest_may_stand_together() -> None:
    deposit = '[[payment]]\nlabel = "Deposit"\namount = "500.00"\nwhen = "with the order"\n'
    terms = _terms(WHOLE.replace('share = "100 %"', 'share = "60 %"') + deposit)
    assert terms.payments[1].amount == 500


def over(folder: Path, client: str, shop: str = WHOLE + TAX) -> Terms:
    (folder / "shop.toml").write_text(shop, encoding="utf-8")
    (folder / "client.toml").write_text(client, encoding="utf-8")
    return read_terms(folder / "client.toml", "client.toml")


def test_a_clients_terms_lie_over_the_shops(tmp_path: Path) -> None:
    client = 'schema = 1\nname = "Acme (invented)"\nover = "shop.toml"\nprofit = { markup = "30 %" }\n'
    terms = over(tmp_path, client)
    shop = read_terms(tmp_path / "shop.toml")
    assert (terms.name, terms.profit.markup, terms.profit.margin) == ("Acme (invented)", Decimal("0.3"), None)
    assert (terms.overhead, terms.taxes, terms.payments) == (shop.overhead, shop.taxes, shop.payments)
    paths = [tmp_path / name for name in ("client.toml", "shop.toml")]
    assert [under(read_document(p), p, "terms") for p in paths] == [(paths[1], "shop.toml"), None]


def test_a_clients_table_takes_the_place_of_the_shops_whole(tmp_path: Path) -> None:
    client = 'schema = 1\nname = "A"\nover = "shop.toml"\n' + TAX.replace('"T"', '"U"')
    assert [t.name for t in over(tmp_path, client).taxes] == ["U"]


def test_shipped_terms_can_lie_under(tmp_path: Path) -> None:
    client = 'schema = 1\nname = "A"\nover = "vat-19"\ndiscount = "3 %"\n'
    terms = over(tmp_path, client)
    assert (terms.discount, terms.taxes[0].rate) == (Decimal("0.03"), Decimal("0.19"))


@pytest.mark.parametrize(
    ("client", "shop", "said"),
    [
        ('over = "nowhere.toml"', WHOLE, "there is no file"),
        ('over = "../shop.toml"', WHOLE, "not beside this file"),
        ('over = "defualt"', WHOLE, "Did you mean 'default'"),
        ('over = "shop.toml"', 'over = "default"\n' + WHOLE, "laid over another file itself"),
        ('over = "shop.toml"', WHOLE.replace('"12 %"', "12"), r"shop\.toml:5"),
        ('over = "shop.toml"\ndiscount = 3', WHOLE, r"client\.toml:4: discount"),
    ],
)
def test_what_cannot_lie_over_is_said_in_the_right_file(
    client: str, shop: str, said: str, tmp_path: Path
) -> None:
    with pytest.raises(InputError, match=said):
        over(tmp_path, f'schema = 1\nname = "A"\n{client}\n', shop)

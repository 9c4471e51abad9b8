"""Money of every example: recomputed in fractions from its lines, and by the rules of EN 16931.

Source of the rules: EN 16931-1:2017, BR-CO-10 to BR-CO-17.
"""

from decimal import ROUND_HALF_UP
from decimal import Decimal as D
from fractions import Fraction as F
from math import ceil, floor
from pathlib import Path

import pytest

from estimator.catalogue.load import load
from estimator.catalogue.terms import Terms
from estimator.core.errors import InputError
from estimator.pipeline import Estimate, estimate
from estimator.pricing.totals import Totals
from tests.benchmarks.engines_agree import drawn
from tests.examples import NAMES, estimate_of, loaded

CENT = D("0.01")
RANDOM_JOBS, SEED = 6, 5
"""Those of `test_random_jobs`, so that a session that runs it plans them once."""


def every_case(one: Estimate) -> list[Totals]:
    return [one.pricing.totals(n) for n in range(one.pricing.cases)]


def cents(value: F) -> F:
    return F(floor(value * 100 + F(1, 2)), 100)


def price_of(cost: F, terms: Terms) -> F:
    """Cost to price before tax, in fractions, from the terms alone."""
    margin, markup = terms.profit.margin, terms.profit.markup
    full = cents(cost / (1 - F(margin))) if margin is not None else cents(cost * (1 + F(markup or 0)))
    net = full - cents(full * F(terms.discount))
    step = F(0) if terms.rounding == "none" else F(terms.rounding)
    return F(ceil(net / step)) * step if step else net


@pytest.mark.parametrize("name", NAMES)
def test_lines_add_up_to_the_cost(name: str) -> None:
    one = estimate_of(name)
    bought = one.scope.takeoff.tables["purchases"]["charged"].values
    worked = one.scope.labour.workings[1]["cost"].values
    assert one.totals.materials == sum(c for c in bought if isinstance(c, D))
    assert one.totals.labour == sum(c for c in worked if isinstance(c, D))
    assert all(c == c.quantize(CENT) for c in (*bought, *worked) if isinstance(c, D))
    terms = one.catalogue.terms
    own = [a.amount for a in one.job.allowances] + [a.amount for a in terms.allowances]
    lines = [o.quantity * o.rate for o in (*one.job.others, *terms.others) if o.charged != "at cost"]
    paid = [t.amount for t in one.totals.purchase_taxes]
    assert one.totals.other == sum((*own, *lines, *paid), D(0))


@pytest.mark.parametrize("name", NAMES)
def test_price_follows_from_cost_by_the_terms(name: str) -> None:
    one = estimate_of(name)
    terms = one.catalogue.terms
    for case in every_case(one):
        direct = F(case.materials) + F(case.labour) + F(case.other)
        overhead = cents(direct * F(terms.overhead))
        assert F(case.overhead) == overhead
        if terms.contingency.rate is not None:
            assert F(case.contingency) == cents((direct + overhead) * F(terms.contingency.rate))
        cost = direct + overhead + F(case.contingency)
        assert F(case.cost) == cost
        assert F(case.price) == price_of(cost, terms)


def check_rules(one: Estimate) -> None:
    steps = {t.name: CENT if t.rounding == "cent" else D(t.rounding) for t in one.catalogue.terms.taxes}
    for case in every_case(one):
        assert case.price == case.cost + case.profit_asked - case.discount + case.rounding  # BR-CO-13
        assert case.tax == sum((t.amount for t in case.taxes), D(0))  # BR-CO-14
        assert case.total == case.price + case.tax  # BR-CO-15
        assert case.total == sum((p.amount for p in case.payments), D(0))  # BR-CO-16
        for line in case.taxes:  # BR-CO-17; a tax that is rounded to more than a cent, to that
            step = steps[line.name]
            assert line.amount == (line.base * line.rate / step).quantize(D(1), ROUND_HALF_UP) * step


@pytest.mark.parametrize("name", NAMES)
def test_totals_by_the_rules(name: str) -> None:
    check_rules(estimate_of(name))


@pytest.mark.slow
def test_totals_by_the_rules_on_random_jobs_and_terms(tmp_path: Path) -> None:
    taken: list[Estimate] = []
    for number, text in enumerate(drawn(RANDOM_JOBS, SEED)):
        (tmp_path / str(number)).mkdir()
        try:
            job, catalogue, _ = load(text.write(tmp_path / str(number)))
            taken.append(estimate(job, catalogue))
        except InputError:
            continue  # a drawn job may ask for what cannot be built or has no price
    assert len(taken) >= RANDOM_JOBS / 2
    assert len({len(one.totals.taxes) for one in taken}) > 2
    for one in taken:
        check_rules(one)


@pytest.mark.parametrize("name", NAMES)
def test_the_office_and_the_terms_file_come_to_the_same_price(name: str) -> None:
    job, catalogue = loaded(name)
    edited = estimate(job, catalogue, {"terms.profit_by": "margin", "terms.margin_asked": D("0.333")})
    assert F(edited.totals.full_price) == cents(F(edited.totals.cost) / (1 - F(333, 1000)))
    assert edited.totals.cost == estimate(job, catalogue).totals.cost

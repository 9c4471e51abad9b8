"""The price taken apart: shared by hand, and adding up whatever the shares."""

from decimal import Decimal as D

from hypothesis import given
from hypothesis import strategies as st

from estimator.pricing.totals import shared

AMOUNTS = st.dictionaries(
    st.text(min_size=1, max_size=8),
    st.decimals(min_value=0, max_value=10**6, places=2),
    min_size=1,
)


def test_sections_share_by_cost_and_walls_by_area() -> None:
    """Price 1,000.00 over costs 150 + 50, labour 200, other 100; areas 1 and 2."""
    found = shared(
        D(1000),
        {"Framing": D(150), "Cloth": D(50)},
        {"North": D(1), "Cloud": D(2)},
        labour=D(200),
        other=D(100),
    )
    assert found.sum == (("The work as described", D(1000)),)
    assert found.section == (
        ("Framing", D("300.00")), ("Cloth", D("100.00")),
        ("Labour", D("400.00")), ("Other", D("200.00")),
    )  # fmt: skip
    assert found.wall == (("North", D("333.33")), ("Cloud", D("666.67")))


@given(st.decimals(min_value=0, max_value=10**6, places=2), AMOUNTS, AMOUNTS)
def test_the_parts_add_up_to_the_price(price: D, sections: dict[str, D], areas: dict[str, D]) -> None:
    areas = {name: area + 1 for name, area in areas.items()}
    found = shared(price, sections, areas, labour=D(1), other=D(0))
    for parts in (found.sum, found.section, found.wall):
        assert sum(amount for _, amount in parts) == price

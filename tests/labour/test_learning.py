"""Learning from hours as worked: by hand, against the published averages, and what it does to a file."""

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.calc.tables import Draft
from estimator.catalogue.labour import SHIPPED, LabourBook, load_labour
from estimator.core.errors import InputError
from estimator.job.description import Difficulty
from estimator.job.document import parse_document, validated
from estimator.labour.learning import (
    Actual,
    actuals_beside,
    actuals_of,
    expected_hours,
    learned,
    learned_rates,
    with_rates,
)
from estimator.labour.tasks import reckon_labour

HEAD = "job,task,quantity,unit,hours,difficulty\n"


def actual(job: str, hours: str, quantity: str) -> Actual:
    return Actual(job, "wrap", D(quantity), D(hours))


def test_the_rate_of_several_jobs_is_hours_over_quantity_not_the_mean_of_rates() -> None:
    # Own arithmetic: 10 h on 100 ft2 and 30 h on 200 ft2 are 40 / 300 h/ft2; the mean of rates is .125.
    got = learned(D(1), D(0), [actual("a", "10", "100"), actual("b", "30", "200")])
    assert float(got.new) == pytest.approx(0.133333, abs=1e-6)


def test_a_job_at_a_time_with_a_fixed_weight_is_an_exponential_average() -> None:
    # Own arithmetic: r = 0.3 x + 0.7 r from 2.0 over 2.6, 2.2, 2.4 is 2.2502. A weight of 7/3 jobs gives 0.3.
    rate = D(2)
    for job, hours in enumerate(("2.6", "2.2", "2.4")):
        rate = learned(rate, D(7) / 3, [actual(str(job), hours, "1")]).new
    assert float(rate) == pytest.approx(2.2502, abs=1e-5)


def test_one_odd_job_moves_the_rate_by_its_share_only() -> None:
    # 5 jobs at 1.0 against one at 3.0: (5 x 1 + 1 x 3) / 6.
    got = learned(D(1), D(5), [actual("odd", "300", "100")])
    assert float(got.new) == pytest.approx(8 / 6)
    assert (got.jobs, got.data) == (1, D(3))


def test_lines_of_one_job_are_one_job() -> None:
    assert learned(D(1), D(5), [actual("a", "1", "1"), actual("a", "2", "1")]).jobs == 1


def test_hours_of_a_hard_job_are_brought_back_to_a_plain_one() -> None:
    got = learned(D(1), D(0), [Actual("a", "wrap", D(10), D(15), D("1.5"))])
    assert got.new == 1


@given(
    st.decimals("0.01", 10, places=2),
    st.integers(0, 20),
    st.lists(st.integers(1, 500), min_size=1, max_size=6),
)
def test_the_new_rate_lies_between_old_and_data(rate: D, weight: int, hours: list[int]) -> None:
    got = learned(rate, D(weight), [actual(str(n), str(h), "100") for n, h in enumerate(hours)])
    low, high = sorted((got.old, got.data))
    assert low - D("1e-20") <= got.new <= high + D("1e-20")


def test_nothing_to_learn_from() -> None:
    with pytest.raises(ValueError, match="no quantity"):
        learned(D(1), D(5), [])


def test_actuals_are_read_in_the_unit_of_the_rate() -> None:
    book = load_labour()
    got = actuals_of(HEAD + "26-1,wrap,30.48,m,4,\n26-1,hang,8,each,3,1.5\n", book, "a.csv")
    assert got == (
        Actual("26-1", "wrap", D(100), D(4)), Actual("26-1", "hang", D(8), D(3), D("1.5")),
    )  # fmt: skip


def test_every_bad_line_is_named() -> None:
    cells = ("26-1,warp,1,ft,1", "26-1,wrap,x,ft,1", "26-1,wrap,1,ft2,1", ",wrap,1,ft,1",
             "26-1,wrap,0,ft,1", "26-1,wrap,1,ft,-2")  # fmt: skip
    rows = "".join(f"{row},\n" for row in cells)
    with pytest.raises(InputError) as refused:
        actuals_of(HEAD + rows, load_labour(), "a.csv")
    assert [p.line for p in refused.value.problems] == [2, 3, 4, 5, 6, 7]
    assert "there is no labour task 'warp'. Did you mean 'wrap'?" in str(refused.value)
    assert "the unit 'ft2' does not fit. The rate of 'wrap' is per ft." in str(refused.value)


def test_a_heading_without_a_column_is_refused() -> None:
    with pytest.raises(InputError, match="the heading lacks quantity, unit"):
        actuals_of("job,task,hours\n", load_labour(), "a.csv")


def test_new_rates_go_into_the_file_and_nothing_else_changes() -> None:
    text, book = SHIPPED.read_text(), load_labour()
    wrap = book.by_key["wrap"]
    twice = expected_hours(wrap, book) * 2
    rates = learned_rates(book, [Actual("26-1", "wrap", D(100), twice * 100)], D(0))
    after = with_rates(text, book, rates)
    again = validated(LabourBook, parse_document(after, "new.toml"))
    assert again.by_key["wrap"].low == wrap.low * 2
    assert again.by_key["wrap"].high == wrap.high * 2
    assert again.by_key["wrap"].source == "learned from 1 job; before that: assumption"
    changed = [(a, b) for a, b in zip(text.splitlines(), after.splitlines(), strict=True) if a != b]
    assert len(changed) == 4
    others = [t for t in book.tasks if t.key != "wrap"]
    assert others == [t for t in again.tasks if t.key != "wrap"]


def test_sources_do_not_grow_with_every_lesson() -> None:
    text, book = SHIPPED.read_text(), load_labour()
    for _ in range(3):
        rates = learned_rates(book, [Actual("26-1", "wrap", D(100), D(3))], D(5))
        text = with_rates(text, book, rates)
        book = validated(LabourBook, parse_document(text, "new.toml"))
    assert book.by_key["wrap"].source == "learned from 1 job; before that: assumption"


def test_a_rate_written_in_another_way_is_refused() -> None:
    text, book = SHIPPED.read_text().replace("low = 0.9\n", '"low" = 0.9\n'), load_labour()
    rates = learned_rates(book, [Actual("26-1", "wrap", D(100), D(3))], D(5))
    with pytest.raises(ValueError, match="low of task 'wrap' does not stand on a line of its own"):
        with_rates(text, book, rates)


def test_hours_beside_the_quantities_of_a_job_teach_in_the_unit_of_the_rate() -> None:
    book = load_labour()
    squares = {"each": "ea", "ft": "m", "ft2": "m2"}
    drivers = Draft("drivers", "Drivers")
    keys = {t.driver: t.unit for t in book.tasks}
    drivers.keys(list(keys))
    drivers.label("description", "Description", list(keys))
    drivers.label("unit", "Unit", [squares[unit] for unit in keys.values()])
    drivers.input("quantity", "Quantity", "", [D(0) if k == "boxes" else D("30.48") for k in keys])
    hard = [Difficulty(factor=1.5, reason="stairs", tasks=("hang",))]
    labour = reckon_labour(drivers.table(), book, hard, currency="EUR")
    got = actuals_beside("26-1", labour, {"wrap": D(3), "hang": D(9), "boxes": D(1)}, book)
    assert got == (
        Actual("26-1", "wrap", D(100), D(3)), Actual("26-1", "hang", D("30.48"), D(9), D("1.5")),
    )  # fmt: skip

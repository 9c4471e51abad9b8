"""Change an input in the delivered workbook: every figure becomes what a fresh run with that input gives.

What the layout, a cutting plan or the day plan decided cannot follow in a workbook; it must switch to its
stated fallback where it has one, and a check must say so.
"""

from collections.abc import Mapping
from decimal import Decimal
from functools import cache

import pytest

from estimator.calc.evaluation import number
from estimator.calc.expressions import Value
from estimator.calc.tables import Book
from estimator.catalogue.load import load
from estimator.core.money import rounded
from estimator.pipeline import estimate
from estimator.tables.book import book_of
from tests.end_to_end.office import EXAMPLES, Office, same, without_days

D = Decimal
ROOM = "rehearsal_room"
OUTCOMES = (
    "lines",
    "line_costs",
    "sections",
    "labour",
    "build_up",
    "payment_plan",
    "room_surfaces",
    "reverberation_before",
    "reverberation_after",
)

HOURS = {
    "labour_rates.likely.wrap",
    "labour_rates.difficulty.hang",
    "practice.strips_finished",
}
"""Inputs that move the hours by so much that the days may come out otherwise."""
FREE: dict[str, Value] = {
    "prices.price.staple-cloth-5000": D("19.99"),
    "prices.price.fabric-plain-yd": D("21.35"),
    "prices.content.tape-masking-60": D(90),
    "practice.spread_rate": D(275),
    "practice.transfer_efficiency": D("0.7"),
    "practice.screws_per_joint": D(3),
    "practice.staple_spacing": D("2.25"),
    "practice.nail_spacing": D("8.5"),
    "practice.bead_width": D("0.375"),
    "practice.strips_finished": "site",
    "practice.protect_width": D(48),
    "waste.share.sealant": D("0.35"),
    "waste.share.paint": D("0.5"),
    "wages.wage.joiner": D("41.75"),
    "labour_rates.likely.wrap": D("2.75"),
    "labour_rates.difficulty.hang": D("1.4"),
    "terms.margin_asked": D("0.31"),
}
GEOMETRY: dict[tuple[str, str], Value] = {
    ("rehearsal_room", "frames.width.N1"): D("31.25"),
    ("rehearsal_room", "frames.height.N1"): D("50.5"),
    ("rehearsal_room", "frames.depth.N1"): D("2.5"),
    ("one_panel", "practice.stud_spacing"): D(16),
    ("rehearsal_room", "practice.wrap_pull"): D("2.25"),
    ("voice_booth", "frames.height.K"): D(2900),
    ("chapel_annex", "frames.height.L"): D(130),
}


@cache
def delivered(name: str) -> Office:
    return Office(fresh(name, {}))


def fresh(name: str, edits: Mapping[str, Value]) -> Book:
    """Return the book of an example whose price does not follow the days, which only the program plans."""
    job, catalogue, _ = load(EXAMPLES / name / "job.toml")
    return book_of(estimate(job, without_days(catalogue), edits))


def changed(name: str, key: str, value: Value) -> Office:
    """Return an example's workbook with that one input changed."""
    office = delivered(name)
    office.change(key, value)
    return office


def differences(office: Office, book: Book, tables: tuple[str, ...]) -> list[str]:
    shown = office.book
    return [
        f"{key}.{field.key}[{i}]: workbook {theirs}, fresh run {ours}"
        for key in tables
        for field, new in zip(shown.table(key).fields, book.table(key).fields, strict=True)
        if field.kind == "formula"
        for i, (theirs, ours) in enumerate(zip(office.values(field), new.values, strict=True))
        if not same(ours, theirs)
    ]


@pytest.mark.parametrize("key", FREE)
def test_the_workbook_follows_to_the_cent_and_the_pack(key: str) -> None:
    office, again = changed(ROOM, key, FREE[key]), fresh(ROOM, {key: FREE[key]})
    book = office.book
    moved = [
        t for t in OUTCOMES if any(f.values != again.table(t)[f.key].values for f in book.table(t).fields)
    ]
    assert moved
    assert differences(office, again, OUTCOMES) == []
    assert office.values(book.table("master")["master_check"]) == ["look" if key in HOURS else "ok"]


CASES = ("direct_costs", "build_up", "payment_plan")
FOLLOWED: dict[str, Value] = {
    "prices.price.fabric-plain-yd": D("21.35"),
    "prices.price.fabric-plain-roll": D(310),
    "prices.price.paint-trim-gal": D("9.50"),
    "prices.price.screw-retainer-100": D("19.99"),
    "prices.content.screw-retainer-100": D(60),
    "prices.sold_in.fabric-plain-yd": D("0.5"),
    "wages.wage.joiner": D("41.75"),
    "labour_rates.likely.wrap": D("2.75"),
    "labour_rates.high.hang": D(31),
    "terms.margin_asked": D("0.31"),
}
NOT_FOLLOWED: dict[str, Value] = {
    "practice.staple_spacing": D("2.25"),
    "waste.share.paint": D("0.5"),
    "prices.content.member-2x2-8": D("7.5"),
    "prices.price.board-48-1.5-pack": D(45),
    "frames.width.N1": D(30),
}


@cache
def looks(name: str) -> frozenset[str]:
    """Return the checks that say 'look' before anything is changed."""
    checks = delivered(name).book.table("checks")
    return frozenset(
        str(k) for k, v in zip(checks["key"].values, checks["verdict"].values, strict=True) if v == "look"
    )


def looked_at(office: Office) -> set[str]:
    return set(office.looks()) - looks("chapel_annex")


@pytest.mark.parametrize("key", FOLLOWED)
def test_options_follow_prices_wages_rates_and_terms(key: str) -> None:
    office, again = (
        changed("chapel_annex", key, FOLLOWED[key]),
        fresh("chapel_annex", {key: FOLLOWED[key]}),
    )
    before = office.book.table("build_up")["bu_total"].values
    after = again.table("build_up")["bu_total"].values
    assert before != after
    assert differences(office, again, CASES) == []
    assert "options_in_date" not in looked_at(office)


@pytest.mark.parametrize("key", NOT_FOLLOWED)
def test_what_options_do_not_follow_is_said(key: str) -> None:
    office = changed("chapel_annex", key, NOT_FOLLOWED[key])
    assert "options_in_date" in looked_at(office)


ONLY_THE_PROGRAM: dict[str, Value] = {
    "practice.minimum_piece": D(10),
    "practice.crew": D(3),
    "practice.corner_rule": "butt",
    "terms.valid_days": D(14),
}


@pytest.mark.parametrize("key", ONLY_THE_PROGRAM)
def test_an_input_that_no_formula_reads_is_said_to_be_waiting(key: str) -> None:
    office = changed(ROOM, key, ONLY_THE_PROGRAM[key])
    tables = [office.book.table(name) for name in ("as_run", "as_run_choices")]
    waiting = [
        k for t in tables for k, d in zip(t["key"].values, office.values(t["differs"]), strict=True) if d
    ]
    assert waiting == [key.replace(".", "-")]
    assert office.values(office.book.table("master")["master_check"]) == ["look"]


PIECES: dict[tuple[str, str], tuple[Value, int]] = {
    ("voice_booth", "practice.hanger_spacing"): (D(700), 12),  # 900 / 700 -> 3, 1500 / 700 -> 4
    ("voice_booth", "practice.hanger_inset"): (D(350), 4),  # 500 and 1100 in 1200: 2 by 2
    ("voice_booth", "practice.hanger_points_min"): (D(7), 8),  # 2 by 4
    ("voice_booth", "practice.hanger_safety_factor"): (D(14), 8),  # 188.5 x 14 / 441 = 5.98: 2 by 4
    ("chapel_annex", "practice.feet_per_screen"): (D(3), 22),  # 2 x 3 feet, 4 hooks, 2 x 6 hangers
    ("chapel_annex", "practice.hooks_per_recess"): (D(5), 21),
}
"""How many hangers, hooks and feet there are then, by hand."""


@pytest.mark.parametrize(("name", "key"), PIECES)
def test_hangers_hooks_and_feet_follow_the_practice(name: str, key: str) -> None:
    value, pieces = PIECES[name, key]
    office, again = changed(name, key, value), fresh(name, {key: value})
    book = office.book
    tables = ("weights", "hardware", "count_trail", "lines", "purchases", "sections", "drivers", "labour")
    assert differences(office, again, tables) == []
    hardware = book.table("hardware")["pieces"]
    assert sum(float(str(v)) for v in office.values(hardware)) == pieces != sum(map(number, hardware.values))
    assert set(office.looks()) <= {"days_in_date", "options_in_date"}


@pytest.mark.parametrize(
    ("name", "key", "value"),
    [("voice_booth", "clouds", D(1)), ("voice_booth", "casing", D(2)), ("voice_booth", "prime", D(2))],
)
def test_another_crew_for_a_task_puts_the_days_out_of_date(name: str, key: str, value: D) -> None:
    """The hours stay, who works when does not: only the program can plan it."""
    cell = f"labour_rates.crew.{key}"
    office, again = changed(name, cell, value), fresh(name, {cell: value})
    plans = [one.table("day_plan") for one in (office.book, again)]
    assert plans[0]["day_to"].values != plans[1]["day_to"].values
    assert office.looks() == ["days_in_date"]


def test_a_trip_that_slips_is_said_with_its_money_and_smaller_changes_are_not() -> None:
    """Two go on one trip and one on the other, 58.67 min each at 24 x 1.28 / 0.85 = 36.14 an hour: 106.01."""
    job, catalogue, _ = load(EXAMPLES / ROOM / "job.toml")
    office, key = Office(book_of(estimate(job, catalogue))), "labour_rates.likely.casing"
    for minutes, looks in ((D("1.3"), []), (D("1.54"), ["days_in_date"])):
        office.change(key, minutes)
        again = estimate(job, catalogue, {key: minutes}).totals.total
        shown = rounded(float(str(office.value(office.book.table("build_up")["bu_total"]))))
        assert (shown == again, office.looks()) == (not looks, looks)
    checks = office.book.table("checks")
    said = str(checks["check"].values[checks["key"].values.index("days_in_date")])
    assert "one more or less is 53.01 CAD" in said


@pytest.mark.parametrize(("floor", "looks"), [(D("0.1"), []), (D("0.25"), []), (D("0.26"), ["floor_0"])])
def test_the_least_margin_is_asked_of_the_price_at_once(floor: D, looks: list[str]) -> None:
    office = changed(ROOM, "terms.margin_floor", floor)  # the terms ask for a quarter of the price
    assert office.looks() == looks


def test_a_cloud_twice_as_long_absorbs_twice_as_much() -> None:
    office = changed("voice_booth", "frames.height.K", D(3600))
    after = office.book.table("reverberation_after")
    absorbed, hung, other, times = (
        [float(str(v)) for v in office.values(after[key])] for key in ("absorbed", "hung", "extra", "sabine")
    )
    assert hung == pytest.approx([2 * float(str(v)) for v in after["hung"].values])
    room = office.book.table("room_facts")
    volume, factor = (float(str(room.value(key))) for key in ("room_volume", "sabine_factor"))
    whole = [a + b + c for a, b, c in zip(absorbed, hung, other, strict=True)]
    assert times[1:] == pytest.approx([factor * volume / area for area in whole[1:]])  # 125 Hz is not stated


@pytest.mark.parametrize(("name", "key"), GEOMETRY)
def test_a_changed_size_moves_every_net_and_trips_the_check(name: str, key: str) -> None:
    value = GEOMETRY[name, key]
    office, again = changed(name, key, value), fresh(name, {key: value})
    book = office.book
    lines = book.table("lines")
    by_hand = {"screw:screw-retainer", "washer:washer-retainer"}  # follow the planned board pieces
    trail = book.table("count_trail")
    follows = zip(trail["line"].values, trail["follows"].values, trail["of_piece"].values, strict=True)
    counted = {str(line) for line, frame, piece in follows if not (frame or piece)}
    live = [i for i, k in enumerate(lines["key"].values) if k not in by_hand | counted]
    theirs, ours = office.values(lines["net"]), again.table("lines")["net"].values
    assert len(live) > 10
    assert [i for i in live if not same(ours[i], theirs[i])] == []
    assert theirs != [float(str(v)) for v in lines["net"].values]
    assert office.values(book.table("master")["master_check"]) == ["look"]
    stale = office.values(lines["stale"])
    assert sum(float(str(s)) for s in stale) >= 1
    for i, out_of_date in enumerate(stale):
        if out_of_date:
            net, waste = float(str(theirs[i])), lines["waste"].values[i]
            assert same(rounded(net * (1 + float(str(waste))), 6), office.values(lines["need"])[i])

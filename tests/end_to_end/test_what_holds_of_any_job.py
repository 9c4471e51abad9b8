"""What holds of any job: mirrored, renamed, as an option; hours present are paid; what is bought is used."""

import re
from dataclasses import replace
from decimal import Decimal as D
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from estimator.catalogue.labour import JOURNEYS
from estimator.catalogue.records import Catalogue, Practice
from estimator.core.errors import InputError
from estimator.documents.files import Wishes, contents
from estimator.job.description import Job
from estimator.job.options import apply_option
from estimator.pipeline import Estimate, estimate
from tests.end_to_end.kinds import PIECE_ROWS, job_text
from tests.end_to_end.kinds import estimate_of as estimate_of_text
from tests.examples import NAMES, estimate_of, loaded
from tests.layout.jobs import BOX_ROOM, write_job
from tests.takeoff.taken import PAINTED

Row = dict[str, Any]
SOME = settings(
    max_examples=6, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow],
    phases=(Phase.explicit, Phase.generate),
)  # fmt: skip
LONG = 168
"""Inches of the north wall."""


def book() -> Catalogue:
    return loaded("one_panel")[1]


def made(walls: list[Row], openings: list[Row], **tables: Any) -> Job:
    room = {"wall": [{**w, "opening": openings} if w["name"] == "north" else w for w in BOX_ROOM]}
    return write_job(**{"make-up": {"standard": PAINTED}, "room": room, "wall": walls, **tables})


def band(name: str, start: int, end: int, high: int) -> Row:
    return {"name": name, "on": "north", "make-up": "standard", "from": f"{start} in", "to": f"{end} in",
            "band": {"bottom": "6 in", "height": f"{high} in"}}  # fmt: skip


def opening(name: str, kind: str, left: int, width: int) -> Row:
    sizes = {"window": ("40 in", "24 in", "2 1/4 in"), "outlet": ("14 in", "4 1/2 in", "0 in")}
    bottom, height, casing = sizes[kind]
    return {"name": name, "kind": kind, "left": f"{left} in", "bottom": bottom, "width": f"{width} in",
            "height": height, "casing": casing}  # fmt: skip


def figures(one: Estimate) -> tuple[D, D, D, int]:
    return one.totals.materials, one.totals.labour, one.totals.price, one.scope.schedule.trips


places = st.tuples(st.integers(10, 30), st.integers(100, 150), st.integers(60, 88), st.integers(50, 70))


@SOME
@given(places)
def test_mirrored_and_renamed_it_costs_the_same(at: tuple[int, int, int, int]) -> None:
    start, end, high, left = at
    one = made(
        [band("N", start, end, high)], [opening("W1", "window", left, 30), opening("O", "outlet", 35, 3)]
    )
    other = made(
        [band("Stage left", LONG - end, LONG - start, high)],
        [
            opening("Outlet by the door", "outlet", LONG - 38, 3),
            opening("N1", "window", LONG - left - 30, 30),
        ],
    )
    assert figures(estimate(one, book())) == figures(estimate(other, book()))


@SOME
@given(st.integers(12, 40), st.integers(60, 120), st.integers(40, 70), st.integers(0, 20))
def test_a_larger_band_never_takes_less_material(start: int, wide: int, high: int, more: int) -> None:
    """Net of what grows with the face: boards by area, cloth, members, casings, paint, sealant."""
    small, large = (
        {q.key: q.net for q in estimate(made([band("N", start, start + wide + d, high + d)], []), book())
         .scope.takeoff.quantities()}
        for d in (0, more)
    )  # fmt: skip
    assert {key for key, net in small.items() if large.get(key, D(0)) < net} <= {
        "screw:screw-retainer", "washer:washer-retainer",  # follow the pieces of the board plan
    }  # fmt: skip


def test_an_option_is_the_same_change_as_a_job_of_its_own() -> None:
    """Figures to the cent, and its warnings and cautions, each beginning with the option's name."""
    job, catalogue = loaded("chapel_annex")
    whole = estimate_of("chapel_annex")
    for n, option in enumerate(job.options, start=1):
        alone = estimate(apply_option(job, option).model_copy(update={"options": ()}), catalogue)
        in_it, by_itself = whole.pricing.totals(n), alone.totals
        assert (in_it.materials, in_it.labour, in_it.total) == (
            by_itself.materials, by_itself.labour, by_itself.total
        )  # fmt: skip
        new = [p for p in alone.problems if p not in whole.problems and p.severity != "error"]
        said = {p.where.removeprefix(f"{option.name}: ") for p in whole.problems}
        assert {p.where for p in new} <= said


@pytest.mark.parametrize("name", NAMES)
def test_hours_present_on_site_are_paid_or_shown(name: str) -> None:
    """Everybody there from the trip to the last stint, less the break, works, is on the way or stands."""
    one = estimate_of(name)
    calendar, present = one.catalogue.labour.calendar, D(0)
    for day in one.scope.schedule.days:
        site = [s for s in day.stints if s.stage == "site"]
        if site:
            first, last = min(s.start for s in site), max(s.end for s in site)
            noon = 60 * calendar.break_hour
            rested = 60 * calendar.break_hours if first <= noon and last > noon + 60 else 0
            present += (last - first - rested) * day.work.going
    hours, book = one.scope.labour.hours, one.catalogue.labour.by_key
    worked = sum((h for k, h in hours.items() if book[k].stage == "site"), D(0))
    # By the clock every part of a task is rounded up to the minute, by everybody at it.
    parts = len([s for d in one.scope.schedule.days for s in d.stints if s.stage == "site"])
    assert abs(present / 60 - worked) <= D(2 * parts) / 60
    assert one.scope.schedule.journeys == sum(d.work.going for d in one.scope.schedule.days)


def shown_only(catalogue: Catalogue) -> Catalogue:
    choices = dict(catalogue.practice.choices)
    choices["standing_time"] = replace(choices["standing_time"], value="shown")
    practice = replace(catalogue.practice, choices=choices)
    return replace(catalogue, practice=practice)


def test_standing_that_is_only_shown_is_not_priced() -> None:
    job, catalogue = loaded("one_panel")
    one, other = estimate_of("one_panel"), estimate(job, shown_only(catalogue))
    assert other.scope.labour.hours["standing"] == 0 < one.scope.labour.hours["standing"]
    assert other.scope.schedule.standing == one.scope.schedule.standing > 0


def test_everything_bought_is_named_in_a_paper_of_shop_or_site(tmp_path: Path) -> None:
    one = estimate_of_text(job_text(PIECE_ROWS), tmp_path)
    papers = contents(one, Wishes())
    told = " ".join(
        re.sub(r"<[^>]+>", " ", body.decode()) for name, body in papers.items()
        if isinstance(body, bytes) and re.search(r"(shop|site)\.html$", name)
    )  # fmt: skip
    told = re.sub(r"\s+", " ", told)
    bought = [q for q in one.scope.takeoff.quantities() if q.bought]
    assert [q.key for q in bought if q.description.split(",")[0] not in told] == []


def test_everybody_travels_on_every_trip() -> None:
    """Four in the van are four at the wage of the way, there for as many trips."""
    job, catalogue = loaded("rehearsal_room")
    practice = catalogue.practice
    crew = {**practice.values, "crew": replace(practice.values["crew"], value=4)}
    four = estimate(job, replace(catalogue, practice=Practice("four", crew, practice.choices, practice.firm)))
    drivers = four.scope.takeoff.tables["drivers"]
    journeys = drivers["quantity"].values[drivers["key"].values.index(JOURNEYS)]
    assert journeys == four.scope.schedule.journeys == sum(d.work.going for d in four.scope.schedule.days)


@pytest.mark.parametrize(("visits", "refused"), [(1, True), (2, False), (5, False)])
def test_agreed_trips_hold_or_are_refused_with_the_least(visits: int, refused: bool) -> None:  # noqa: FBT001
    job, catalogue = loaded("rehearsal_room")
    agreed = job.model_copy(update={"header": job.header.model_copy(update={"visits": visits})})
    if refused:
        with pytest.raises(InputError, match="1 are agreed, and the work takes 2 trips at least"):
            estimate(agreed, catalogue)
    else:
        assert figures(estimate(agreed, catalogue)) == figures(estimate_of("rehearsal_room"))

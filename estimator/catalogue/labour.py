"""Labour as the shop knows it: tasks with three-point rates, wages, working days; read from TOML."""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal
from functools import cached_property
from pathlib import Path
from typing import Annotated, Literal, Self, get_args

from pydantic import Field, model_validator

from estimator.catalogue.layers import beneath, merged
from estimator.catalogue.shelf import DATA
from estimator.job.document import read_document, validated
from estimator.job.fields import Currency, FileName, Key, Line, Many, Number, Percent, Record

Stage = Literal["office", "shop", "site"]
"""Work of the office is priced; the days of a job are planned without it."""
TRIPS, JOURNEYS = "visits", "journeys"
"""Drivers of what is done on every trip: by those at it together, or by everybody who goes, each alone."""
STANDING = "standing"
"""Driver that is no work: hours that people on site have nothing to do."""
RateUnit = Literal["each", "ft", "ft2"]
Weekday = Literal["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]
WEEKDAYS = get_args(Weekday)
LEARNED = "learned from"
"""How the source of a rate begins that was learned from finished jobs."""
SHIPPED = DATA / "labour.toml"


class Wage(Record):
    """What an hour costs.

    An hour charged to a job costs wage x (1 + burden) / billable: the hours that no job pays for are
    carried by those that are.
    """

    key: Key
    label: Line
    wage: Annotated[Number, Field(gt=0)]
    """Paid to the worker, currency of the job per hour."""
    burden: Percent
    """Employer's contributions, insurance, holidays, as a share of the wage."""
    billable: Annotated[Percent, Field(gt=0, le=1)]
    """Share of the paid hours that are worked on jobs."""
    source: Line


class LabourTask(Record):
    """A task: what drives it, how long a unit of that takes, who does it, and what it waits for."""

    key: Key
    label: Line
    stage: Stage
    driver: Key
    """Key of the takeoff's quantity that it is proportional to."""
    unit: RateUnit
    low: Number
    """Minutes of one person for one unit of the driver when all goes well."""
    likely: Number
    """Minutes as they mostly are."""
    high: Number
    """Minutes when it does not go well."""
    crew: Annotated[int, Field(ge=1, le=20)] = 1
    """People who do it together; the minutes are theirs added up."""
    wage: Key
    after: Many[Key] = ()
    """Tasks that must be finished, and dry, before it starts."""
    wait_hours: Annotated[Number, Field(le=720)] = Decimal(0)
    """Drying or setting time when it is done; it passes overnight too."""
    wait_from: Key | None = None
    """Key of a value of the shop's practice, in hours, to take for the wait instead."""
    coats: bool = False
    """It is done once a coat, with the wait between."""
    daily: bool = False
    """It is done anew every day on site: travel."""
    waits: bool = True
    """It starts when what is before it is dry; false: as soon as that is done, as tape comes off."""
    done: bool = True
    """The shop does it; false: it stays in the list and takes no hours."""
    source: Line

    @property
    def planned(self) -> bool:
        """Return whether the days of a job have it as work."""
        return self.stage != "office" and self.driver != STANDING

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if not self.low <= self.likely <= self.high:
            raise ValueError("the minutes are out of order; write low <= likely <= high")
        if self.wait_hours and self.wait_from:
            raise ValueError("there are two waits; give wait_hours or wait_from")
        if self.daily and self.driver not in {TRIPS, JOURNEYS}:
            raise ValueError(
                f"it is done on every trip and driven by {self.driver}; drive it by {TRIPS} or {JOURNEYS}, "
                "whose minutes are those of one trip"
            )
        return self


class Basis(Record):
    """How three points become an expectation, and the normal deviates of the stated chances."""

    likely_weight: Number
    """Times the likely minutes count in the expectation."""
    parts: Annotated[Number, Field(gt=0)]
    """What the weighted sum, and the range, are divided by."""
    z_eighty: Number
    """Spreads over the expectation that are enough 80 times in 100."""
    z_ninety_five: Number
    """Spreads over the expectation that are enough 95 times in 100."""
    expectation_source: Line
    chance_source: Line


class Calendar(Record):
    """The shop's working days."""

    start_hour: Annotated[Number, Field(lt=24)]
    """When the day begins, hours after midnight."""
    break_hour: Annotated[Number, Field(lt=24)] = Decimal(12)
    """When the break begins, hours after midnight."""
    break_hours: Annotated[Number, Field(le=4)] = Decimal("0.5")
    """How long it is; the day ends as much later."""
    closed_weekdays: Many[Weekday] = ()
    closed_dates: Many[dt.date] = ()
    source: Line

    @model_validator(mode="after")
    def _workable(self) -> Self:
        if len(set(self.closed_weekdays)) > 6:  # noqa: PLR2004 - days of a week
            raise ValueError("every day of the week is closed; leave one open")
        return self


class Learning(Record):
    """How slowly rates learn."""

    prior_jobs: Number
    """Finished jobs that a rate counts for beside those it learns from."""
    source: Line


class LabourBook(Record):
    """A labour file, whole."""

    schema_: Literal[1] = Field(alias="schema")
    name: Line
    over: FileName | None = None
    """The shop's own labour, which holds where this file says nothing: "default" for what is shipped, or a
    file beside this one. Wages and tasks go by their key: a row here needs only what is otherwise."""
    currency: Currency | None = None
    """Of the wages; where given, the job must be in it."""
    basis: Basis
    calendar: Calendar
    learning: Learning
    wages: Annotated[tuple[Wage, ...], Field(strict=False, min_length=1)] = Field(alias="wage")
    tasks: Annotated[tuple[LabourTask, ...], Field(strict=False, min_length=1, max_length=200)] = Field(
        alias="task"
    )
    """In an order in which no task stands before one it waits for."""

    @model_validator(mode="after")
    def _linked(self) -> Self:
        wages = [w.key for w in self.wages]
        _once(wages, "wage")
        _once([t.key for t in self.tasks], "task")
        seen: set[str] = set()
        for task in self.tasks:
            if task.wage not in wages:
                raise ValueError(f"task {task.key!r} names the unknown wage {task.wage!r}; name one of them")
            if late := [k for k in task.after if k not in seen]:
                raise ValueError(
                    f"task {task.key!r} waits for {late[0]!r}, which does not stand before it; "
                    "list it first, or correct the key"
                )
            seen.add(task.key)
        return self

    def with_crews(self, crews: Mapping[str, int]) -> "LabourBook":
        """Return the book with other crews on some tasks, by key."""
        tasks = tuple(
            t.model_copy(update={"crew": crews[t.key]}) if t.key in crews else t for t in self.tasks
        )
        return self.model_copy(update={"tasks": tasks, "by_key": {t.key: t for t in tasks}})

    @cached_property
    def by_key(self) -> dict[str, LabourTask]:
        """Return the tasks by key."""
        return {task.key: task for task in self.tasks}


def _once(keys: list[str], what: str) -> None:
    twice = sorted({k for k in keys if keys.count(k) > 1})
    if twice:
        raise ValueError(f"{what} {twice[0]!r} stands twice; give each a key of its own")


def load_labour(path: Path | None = None, file: str | None = None, shelf: Path = DATA) -> LabourBook:
    """Return the labour file at `path`, by default the shipped one, laid over another where it names one.

    Args:
        path: where it is.
        file: its name in messages; left out, `path`.
        shelf: where shipped files are.

    Raises:
        InputError: it cannot be read, or every key that is missing, unknown or wrong.
    """
    document = read_document(path or SHIPPED, file or (None if path else "labour.toml"))
    shop = beneath(document, path or SHIPPED, "labour", shelf)
    return validated(LabourBook, merged(document, shop) if shop else document)

"""Records of what is found about a room: before, after, what is heard first, and all of it as one report."""

from dataclasses import dataclass
from typing import TypeAlias

from estimator.acoustics.bands import Six
from estimator.acoustics.modes import Mode
from estimator.acoustics.reflections import Plan, Point, Reflection
from estimator.acoustics.reverberation import Formula
from estimator.acoustics.smallest import Smallest
from estimator.acoustics.targets import Target, Verdict
from estimator.core.errors import Problem

Shown: TypeAlias = tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class State:
    """The room's reverberation in one state, per octave 125..4000 Hz; None where nothing is stated.

    Attributes:
        times_s: per formula of the range, s.
        low_s, high_s: least and greatest of them, s.
        absorption_m2: equivalent absorption area by Sabine, m2.
        schroeder_hz: below this nothing is stated.
        verdict: whether the target is met, None without a target.
    """

    times_s: dict[Formula, Shown]
    low_s: Shown
    high_s: Shown
    absorption_m2: Six
    schroeder_hz: float
    verdict: Verdict | None


@dataclass(frozen=True, slots=True)
class Heard:
    """First reflections from one loudspeaker at the listening position, the earliest first.

    Attributes:
        direct_clear: whether no wall stands between the two.
        strong_before, strong_after: how many early reflections stand above -10 dB, bare and as treated.
    """

    loudspeaker: str
    direct_clear: bool
    reflections: tuple[Reflection, ...]
    strong_before: int
    strong_after: int


@dataclass(frozen=True, slots=True)
class Listening:
    """Where sound comes from and where it is heard: named loudspeakers and one listening position, m."""

    plan: Plan
    loudspeakers: tuple[tuple[str, Point], ...]
    listener: Point


@dataclass(frozen=True, slots=True)
class RoomReport:
    """Everything the documents and the workbook show of the room's sound.

    Attributes:
        treated_m2: face area of the panels on the room's surfaces.
        hung: names of screens and clouds, which absorb on both faces.
        smallest: least areas that meet the target by each formula; empty where not asked for.
        paragraph: plain words for the client.
        notes: what was capped, hidden or taken from where, to be printed small.
        modes: the lowest modes of the bare room where it is a box, as frequencies only; else empty.
    """

    octaves_hz: tuple[int, ...]
    before: State
    after: State
    target: Target | None
    treated_m2: float
    hung: tuple[str, ...]
    heard: tuple[Heard, ...]
    smallest: tuple[Smallest, ...]
    paragraph: str
    notes: tuple[str, ...]
    problems: tuple[Problem, ...]
    modes: tuple[Mode, ...] = ()

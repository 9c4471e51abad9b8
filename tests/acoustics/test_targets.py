"""Targets: which apply, and what is said of a range of estimates."""

from collections.abc import Sequence

import pytest

from estimator.acoustics.ratings import Six
from estimator.acoustics.reverberation import RANGE, Formula, Reverberation, Stated
from estimator.acoustics.targets import judge, meets, own_target, target_for
from estimator.catalogue.references import references
from estimator.core.errors import InputError

ALL = (True,) * 6


def estimate(by: dict[Formula, Six], shown: tuple[bool, ...] = ALL) -> Reverberation:
    rows = list(by.values())
    low = [min(r[i] for r in rows) for i in range(6)]
    high = [max(r[i] for r in rows) for i in range(6)]

    def stated(values: Sequence[float]) -> Stated:
        return tuple(v if yes else None for v, yes in zip(values, shown, strict=True))

    times = {formula: stated(row) for formula, row in by.items()}
    return Reverberation(times, stated(low), stated(high), (10.0,) * 6, 100.0)


def even(*seconds: float) -> Reverberation:
    return estimate({f: (s,) * 6 for f, s in zip(RANGE, seconds, strict=True)})


CONTROL = target_for("control", 100.0, references())
assert CONTROL is not None


@pytest.mark.parametrize(
    ("seconds", "word"),
    [
        ((0.25, 0.24, 0.28, 0.26), "met by every formula"),
        ((0.25, 0.24, 0.45, 0.33), "met by some formulas"),
        ((0.45, 0.44, 0.65, 0.53), "not met"),
        ((0.15, 0.14, 0.19, 0.16), "not met"),
    ],
)
def test_word(seconds: tuple[float, float, float, float], word: str) -> None:
    assert CONTROL is not None
    assert judge(CONTROL, even(*seconds)).word == word


def test_which_formulas_meet_it() -> None:
    assert CONTROL is not None
    assert judge(CONTROL, even(0.25, 0.24, 0.45, 0.33)).met_by == ("sabine", "eyring")


def test_octaves_are_judged_by_the_ends_of_the_range() -> None:
    assert CONTROL is not None
    assert judge(CONTROL, even(0.25, 0.24, 0.28, 0.26)).octaves == ("within",) * 6
    assert judge(CONTROL, even(0.25, 0.24, 0.45, 0.33)).octaves == ("above",) * 6
    assert judge(CONTROL, even(0.25, 0.14, 0.28, 0.26)).octaves == ("below",) * 6


def test_hidden_octaves_are_not_judged() -> None:
    assert CONTROL is not None
    long_bass: Six = (0.9, 0.25, 0.25, 0.25, 0.25, 0.25)
    by: dict[Formula, Six] = dict.fromkeys(RANGE, long_bass)
    assert judge(CONTROL, estimate(by)).word == "not met"
    found = judge(CONTROL, estimate(by, (False, *ALL[1:])))
    assert (found.word, found.octaves[0]) == ("met by every formula", "")


def test_own_figure_is_for_the_mean_of_500_and_1000_hz() -> None:
    target = own_target(0.5)
    assert meets(target, (2.0, 2.0, 0.6, 0.4, 2.0, 2.0))
    assert not meets(target, (0.1, 0.1, 0.6, 0.41, 0.1, 0.1))
    found = judge(target, even(0.4, 0.3, 0.6, 0.5))
    assert found.mean_low_s == pytest.approx(0.3)


def test_uses_without_a_public_figure_have_none() -> None:
    assert target_for("other", 100.0, references()) is None
    assert target_for("no such use", 100.0, references()) is None


@pytest.mark.parametrize("use", ["control", "podcast", "classroom", "meeting", "worship", "music-rehearsal"])
def test_every_target_names_its_source(use: str) -> None:
    target = target_for(use, 150.0, references())
    assert target is not None
    assert target.source.citation
    assert target.source.verified
    assert target.time_s > 0


@pytest.mark.parametrize("seconds", [0.0, -1.0, float("nan"), float("inf")])
def test_impossible_own_figures_are_refused(seconds: float) -> None:
    with pytest.raises(InputError):
        own_target(seconds)


def test_impossible_volumes_are_refused() -> None:
    with pytest.raises(InputError):
        target_for("control", 0.0, references())

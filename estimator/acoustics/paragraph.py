"""What the treatment does for the room, in plain words; every figure is an estimate and said to be one."""

from collections.abc import Sequence

from estimator.acoustics.bands import OCTAVES_HZ
from estimator.acoustics.findings import Heard, State
from estimator.acoustics.targets import Target, Verdict
from estimator.core.units import Display, area_text

MIDDLE_HZ = (500, 1000)

ESTIMATED = "estimated, not guaranteed"


def _span(low: float, high: float) -> str:
    a, b = f"{low:.2f}", f"{high:.2f}"
    return f"{a} s" if a == b else f"{a} to {b} s"


def _middle(state: State) -> str:
    """The range of the middle octaves in words, '' where neither is stated."""
    at = [OCTAVES_HZ.index(hz) for hz in MIDDLE_HZ]
    lows = [low for i in at if (low := state.low_s[i]) is not None]
    highs = [high for i in at if (high := state.high_s[i]) is not None]
    return _span(min(lows), max(highs)) if lows and highs else ""


def _times_sentence(before: State, after: State, covered: str, hung: int) -> str:
    free = f"{hung} pieces that hang or stand" if hung > 1 else "a piece that hangs or stands"
    pieces = f" and {free} in it" if hung else ""
    was, will = _middle(before), _middle(after)
    if not was or not will:
        return f"With {covered} of panels{pieces} no reverberation time can be stated for the middle octaves."
    return (
        f"In the middle octaves (500 and 1000 Hz) the room's reverberation time is about {was} now and about "
        f"{will} with {covered} of panels{pieces}. Each range is what four textbook formulas give."
    )


def _missed(verdict: Verdict, target: Target) -> str:
    """On which side a target is missed, '' where it is met or missed on both."""
    if verdict.met_by:
        return ""
    sides = {word for word in verdict.octaves if word} - {"within"}
    if verdict.mean_low_s is not None and verdict.mean_low_s > target.time_s:
        sides.add("above")
    if sides == {"above"}:
        return ": it stays longer"
    return ": it becomes shorter" if sides == {"below"} else ""


def _target_sentence(target: Target | None, after: State) -> str:
    if target is None or after.verdict is None:
        return ""
    who = target.description[:1].lower() + target.description[1:]
    aim = f"The time aimed at is {target.time_s:.2f} s ({who})"
    return f"{aim}; on these estimates it is {after.verdict.word}{_missed(after.verdict, target)}."


def _reflections_sentence(heard: Sequence[Heard]) -> str:
    if not heard:
        return ""
    was, will = sum(h.strong_before for h in heard), sum(h.strong_after for h in heard)
    return f"Early reflections that stand out at the listening position: {was} now, {will} with the panels."


def _hidden_sentence(after: State) -> str:
    names = [f"{hz} Hz" for hz, low in zip(OCTAVES_HZ, after.low_s, strict=True) if low is None]
    if not names:
        return ""
    return f"Nothing is stated for {' and '.join(names)}, where single tones of the room rule."


def paragraph(
    states: tuple[State, State],
    target: Target | None,
    heard: Sequence[Heard],
    covered: tuple[float, int],
    display: Display = "metric",
) -> str:
    """Return what the treatment does, in words a client can check.

    Args:
        states: the room before and after.
        target: what is aimed at.
        heard: first reflections.
        covered: treated area, m2, and number of hung pieces.
        display: whether areas are in square feet or square metres.
    """
    before, after = states
    said = [
        f"These figures are {ESTIMATED}.",
        _times_sentence(before, after, area_text(covered[0], display), covered[1]),
        _target_sentence(target, after),
        _reflections_sentence(heard),
        _hidden_sentence(after),
        "The panels change the sound within the room; they do not keep sound in or out.",
    ]
    return " ".join(s for s in said if s)

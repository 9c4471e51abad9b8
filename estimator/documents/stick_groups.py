"""Sticks that are cut alike, for the shop: one drawing, one set of saw stops, and whose pieces they are."""

import string
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count

from estimator.core.units import Display, format_length
from estimator.cutting.plans import Stick, StickPiece, StickPlan
from estimator.documents.bars import bar
from estimator.documents.saws import Saw

NO_SAW = Saw("", "", "square", "square", "", "")


@dataclass(frozen=True, slots=True)
class StickGroup:
    """Sticks of one length whose pieces have the same lengths and saw settings in the same order.

    Attributes:
        which: their numbers; a stick keeps its number from the plan.
        title: how many of which length, and what is left over of each.
        pieces: letter, length and settings of each piece, in the order of cutting.
        sticks: number and piece names of each stick.
    """

    which: str
    title: str
    drawing: str
    pieces: tuple[tuple[str, str, Saw], ...]
    sticks: tuple[tuple[int, tuple[str, ...]], ...]

    @property
    def plain(self) -> bool:
        """Return whether every piece is only cut square to length."""
        return all(saw.plain for _, _, saw in self.pieces)


def stick_groups(plan: StickPlan, settings: Mapping[str, Saw], display: Display) -> list[StickGroup]:
    """Return every stick of a plan, those cut alike together, in the plan's order of the first of each."""
    groups: dict[object, list[tuple[int, Stick]]] = {}
    for number, stick in enumerate(plan.sticks, 1):
        alike = tuple((p.length, _shown(settings.get(p.name, NO_SAW))) for p in stick.pieces)
        groups.setdefault((stick.stock.key, alike), []).append((number, stick))
    return [
        _group(found, bar(_lettered(found[0][1], several=len(found) > 1), plan, display), settings, display)
        for found in groups.values()
    ]


def _shown(saw: Saw) -> tuple[str, str, str, str]:
    return saw.start, saw.end, saw.along, saw.rip


def letters() -> Iterator[str]:
    """Yield the letters A to Z, then A2 to Z2, and so on."""
    for turn in count(1):
        yield from (letter if turn == 1 else f"{letter}{turn}" for letter in string.ascii_uppercase)


def _lettered(stick: Stick, *, several: bool) -> Stick:
    """Return a stick with letters for names where it stands for several."""
    if not several:
        return stick
    named = zip(letters(), stick.pieces, strict=False)
    return replace(stick, pieces=tuple(StickPiece(letter, p.length) for letter, p in named))


def _group(
    found: Sequence[tuple[int, Stick]], drawing: str, settings: Mapping[str, Saw], display: Display
) -> StickGroup:
    first, numbers = found[0][1], [number for number, _ in found]
    left = f"{format_length(first.offcut, display)} left over" if first.offcut else "nothing left over"
    each = " of each" if len(found) > 1 and first.offcut else ""
    title = f"{len(found)} × {format_length(first.stock.length, display)}, {left}{each}"
    return StickGroup(
        ("Stick " if len(found) == 1 else "Sticks ") + _numbers(numbers), title, drawing,
        tuple(
            (letter, format_length(p.length, display), settings.get(p.name, NO_SAW))
            for letter, p in zip(letters(), first.pieces, strict=False)
        ),
        tuple((number, tuple(p.name for p in stick.pieces)) for number, stick in found),
    )  # fmt: skip


def _numbers(numbers: Sequence[int]) -> str:
    """Return numbers as a list with runs: 1 to 4, 7, 9."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and runs[-1][-1] == number - 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(r[0]) if len(r) == 1 else f"{r[0]} to {r[-1]}" for r in runs)

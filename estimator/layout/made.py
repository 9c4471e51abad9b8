"""What comes of pieces: frames, strips, hardware and what was found; of copies, what is alike said once."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from estimator.core.errors import Problem
from estimator.layout.records import Frame, Hardware, Strip


@dataclass(frozen=True, slots=True)
class Made:
    """What came of some pieces."""

    frames: tuple[Frame, ...] = ()
    strips: tuple[Strip, ...] = ()
    hardware: tuple[Hardware, ...] = ()
    reasons: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()


def together(parts: Iterable[Made]) -> Made:
    """Return everything made, in order."""
    everything = tuple(parts)
    return Made(
        tuple(f for m in everything for f in m.frames), tuple(s for m in everything for s in m.strips),
        tuple(h for m in everything for h in m.hardware), tuple(r for m in everything for r in m.reasons),
        tuple(p for m in everything for p in m.problems),
    )  # fmt: skip


def copies(parts: Iterable[tuple[str, Made]]) -> Made:
    """Return the copies of one piece together; what reads alike of several of them is said once.

    Args:
        parts: the name of each copy and what came of it.
    """
    named = tuple(parts)
    said = dict[Problem, list[str]]()
    for name, made in named:
        for problem in made.problems:
            said.setdefault(_renamed(problem, name, _COPY, _COPY), []).append(name)
    problems = (_renamed(p, _COPY, _each(owners), owners[0]) for p, owners in said.items())
    return replace(together(made for _, made in named), problems=tuple(problems))


_COPY = "\N{SECTION SIGN}"
"""Stands for a copy's name while problems are compared: no name and no sentence holds it."""


def _each(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"each of {', '.join(names)}"


def _renamed(problem: Problem, old: str, new: str, where: str) -> Problem:
    whole = re.compile(rf"(?<!\w){re.escape(old)}(?!\w)")

    def renamed(text: str) -> str:
        return whole.sub(lambda _: new, text)

    place = where if problem.where == old else problem.where
    return replace(problem, where=place, what=renamed(problem.what), fix=renamed(problem.fix))

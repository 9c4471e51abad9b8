"""An option applied: the job as it would be with the option's changes, to be worked out like any other."""

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import TypeVar

from estimator.job.description import Colour, Job, Option
from estimator.job.description_pieces import Cloud, Corner, Recess, Screen, Treatment
from estimator.job.description_room import Room

P = TypeVar("P", Treatment, Corner, Recess, Screen, Cloud)


def apply_option(job: Job, option: Option) -> Job:
    """Return the job with an option's changes and without options of its own.

    Make-ups change on every piece that names one, finishes on the make-ups, bands on treatments; the
    option's colours go over the base's. Openings listed under a treatment that is left out stay on its wall,
    and a recess that named the treatment names the wall; colours of frames left out go with them.
    """
    dropped = set(option.drop)
    hosts = {t.name: t.on for t in job.walls if t.name in dropped}
    return job.model_copy(
        update={
            "room": _with_openings(job, dropped),
            "make_ups": _finished(job, option.finish),
            "walls": tuple(_banded(t, option) for t in _kept(job.walls, option, dropped)),
            "corners": _kept(job.corners, option, dropped),
            "recesses": tuple(_rehosted(r, hosts) for r in _kept(job.recesses, option, dropped)),
            "screens": _kept(job.screens, option, dropped),
            "clouds": _kept(job.clouds, option, dropped),
            "colours": tuple(_still_there((*job.colours, *option.colour), dropped)),
            "options": (),
        }
    )


def _kept(pieces: tuple[P, ...], option: Option, dropped: set[str]) -> tuple[P, ...]:
    return tuple(_made_up(p, option.make_up) for p in pieces if p.name not in dropped)


def _made_up(piece: P, changes: Mapping[str, str]) -> P:
    new = changes.get(piece.make_up)
    return piece if new is None else piece.model_copy(update={"make_up": new})


def _banded(treatment: Treatment, option: Option) -> Treatment:
    band = option.band.get(treatment.name)
    return treatment if band is None else treatment.model_copy(update={"band": band})


def _rehosted(recess: Recess, hosts: Mapping[str, str]) -> Recess:
    wall = hosts.get(recess.wall)
    return recess if wall is None else recess.model_copy(update={"wall": wall})


def _finished(job: Job, finishes: Mapping[str, str]) -> dict[str, object]:
    return {
        name: made.model_copy(update={"finish": finishes[name]}) if name in finishes else made
        for name, made in job.make_ups.items()
    }


def _still_there(colours: Iterable[Colour], dropped: set[str]) -> Iterator[Colour]:
    """Yield the colours without what is left out; frames are called after their piece: N1, N2 and so on."""
    for colour in colours:
        frames = tuple(f for f in colour.frames if not {f, re.sub(r"\d+$", "", f)} & dropped)
        if frames != colour.frames:
            colour = colour.model_copy(update={"frames": frames})  # noqa: PLW2901 - the same colour, fewer frames
        if colour.wall not in dropped and (colour.frames or colour.wall):
            yield colour


def _with_openings(job: Job, dropped: set[str]) -> Room:
    moved = {
        w.name: tuple(o for t in job.walls if t.name in dropped and t.on == w.name for o in t.openings)
        for w in job.room.walls
    }
    walls = tuple(
        w.model_copy(update={"openings": (*w.openings, *moved[w.name])}) if moved[w.name] else w
        for w in job.room.walls
    )
    return job.room.model_copy(update={"walls": walls})

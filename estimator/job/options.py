"""An option applied: the job as it would be with the option's changes, to be worked out like any other."""

import re
from collections.abc import Iterable, Iterator, Mapping

from estimator.job.description import Colour, Job, JobOption
from estimator.job.description_pieces import Piece, Recess, Treatment
from estimator.job.description_room import Room


def apply_option(job: Job, option: JobOption) -> Job:
    """Return the job with an option's changes and without options of its own.

    Make-ups change on every piece that names one, finishes on the make-ups, bands on treatments; the
    option's colours go over the base's. Openings listed under a treatment that is left out stay on its wall,
    and a recess that named the treatment names the wall; colours of frames left out go with them.
    """
    dropped = set(option.drop)
    hosts = {t.name: t.on for t in job.walls if t.name in dropped}
    kept = {key: list[Piece]() for key, _, _ in job.pieces()}
    for key, _, piece in job.pieces():
        if piece.name not in dropped:
            kept[key].append(_changed(piece, option, hosts))
    return job.model_copy(
        update={
            **{key: tuple(pieces) for key, pieces in kept.items()},
            "room": _with_openings(job, dropped),
            "make_ups": _finished(job, option.finish),
            "colours": tuple(_still_there((*job.colours, *option.colour), dropped)),
            "options": (),
        }
    )


def _changed(piece: Piece, option: JobOption, hosts: Mapping[str, str]) -> Piece:
    """Return a piece with the option's make-up and band, on the wall where its treatment is left out."""
    changes: dict[str, object] = {"make_up": option.make_up.get(piece.make_up, piece.make_up)}
    if isinstance(piece, Treatment):
        changes["band"] = option.band.get(piece.name, piece.band)
    elif isinstance(piece, Recess):
        changes["wall"] = hosts.get(piece.wall, piece.wall)
    return piece.model_copy(update=changes)


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

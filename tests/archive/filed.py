"""One event filed at a time, as most tests need it."""

from pathlib import Path

from estimator.archive.events import Event
from estimator.archive.store import file_events


def file_event(root: Path, event: Event, paper: Path | None = None, revision: int | None = None) -> Event:
    """File an event, with its paper if it has one, beside the quote it belongs to; as `file_events`."""
    (filed,) = file_events(root, event.number, lambda _: [(event, paper)], revision).events
    return filed

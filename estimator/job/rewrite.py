"""A job file's text with other values under ``[job]``; comments, order and all else stay as written."""

from collections.abc import Mapping

import tomlkit


def with_header(text: str, changes: Mapping[str, object]) -> str:
    """Return the text of a job file with keys of ``[job]`` changed or added.

    Args:
        text: a job file that was read without problems.
        changes: texts and dates by key.
    """
    document = tomlkit.parse(text)
    document["job"].update(changes)
    return tomlkit.dumps(document)

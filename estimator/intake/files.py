"""Files from outside: whole, of a bounded size, and text without what cannot be seen."""

from pathlib import Path

from estimator.core.characters import hidden, named
from estimator.core.errors import InputError, Problem, refuse_all

LARGEST_TEXT = 1_000_000


def refusal(file: str, what: str, fix: str, line: int = 0) -> InputError:
    """Return the refusal of a file as a whole."""
    return InputError([Problem("file", what, fix, file=file, line=line)])


def read_bytes(path: Path, file: str, largest: int = LARGEST_TEXT) -> bytes:
    """Return what a file holds.

    Args:
        path: where it is.
        file: its name in messages.
        largest: bytes that it may hold.

    Raises:
        InputError: it is missing, a folder, unreadable or too large.
    """
    if path.is_dir():
        raise refusal(file, "this is a folder, not a file", "Name the file inside it.")
    if not path.is_file():
        raise refusal(file, "there is no such file", "Check the path.")
    try:
        with path.open("rb") as stream:
            raw = stream.read(largest + 1)
    except OSError as error:
        what = f"the file cannot be read: {error.strerror}"
        raise refusal(file, what, "Check the path and its rights.") from None
    if len(raw) > largest:
        what = f"the file is over {largest / 10**6:.0f} MB"
        raise refusal(file, what, "Is it the right one? Such a file is some pages.")
    return raw


def read_text(path: Path, file: str, largest: int = LARGEST_TEXT) -> str:
    """Return the text of a UTF-8 file.

    Raises:
        InputError: it is missing, a folder, unreadable, too large, not UTF-8, or holds what cannot be seen.
    """
    return text_of(read_bytes(path, file, largest), file)


def text_of(raw: bytes, file: str) -> str:
    """Return the text that a file's bytes are.

    Raises:
        InputError: they are not UTF-8, or hold characters that cannot be seen: each with its line.
    """
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        what = f"byte {raw[error.start]:#04x} is not UTF-8 text"
        raise refusal(file, what, "Save the file as UTF-8.", line) from None
    refuse_all(
        [
            Problem(
                "file", named([c]), "Take it out.", file=file, line=text.count("\n", 0, text.index(c)) + 1
            )
            for c in hidden(text, but="\t\r\n")
        ]
    )
    return text

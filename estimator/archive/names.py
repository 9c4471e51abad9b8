"""Names of folders and files made from text that came from outside, none of which can leave its folder."""

import hashlib
import re
import unicodedata
from functools import lru_cache

LONGEST = 80
SYSTEM_LONGEST = 255
FORBIDDEN = frozenset('/\\:*?"<>|')
LOOKALIKES = frozenset("⁄∕⧸⧵╱╲∖⟋⟍‐‑‒–—―−")
RESERVED = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9]|conin\$|conout\$)(\..*)?", re.IGNORECASE)
DIGEST = 8
_RUNS = re.compile(r"[0-9]+|[^0-9]+")


@lru_cache(maxsize=4096)
def safe_name(text: str, fallback: str = "unnamed", longest: int = LONGEST) -> str:
    """Return `text` as the name of one folder or file on any system.

    Unicode forms are folded (NFKC), so that a full-width slash is a slash; separators and dashes become '-',
    control and invisible characters go, leading and trailing dots and spaces go, names that Windows
    keeps for devices get a '_' in front, and a long name is cut and told apart by a digest.

    Args:
        text: anything.
        fallback: the name where nothing usable is left.
        longest: bytes in UTF-8 that it may take.

    Returns:
        A name of 1 to `longest` bytes, never '.', '..', and without a separator.
    """
    folded = unicodedata.normalize("NFKC", text)
    dashed = "".join("-" if c in FORBIDDEN or c in LOOKALIKES else c for c in folded)
    shown = "".join(_visible(c) for c in dashed)
    name = re.sub(r"\s+", " ", shown).strip(" .").lstrip("-~ .")
    if not name:
        return fallback
    if RESERVED.fullmatch(name):
        name = f"_{name}"
    return name if len(name.encode()) <= longest else _cut(name, folded, longest)


def _visible(character: str) -> str:
    """Return the character, a space for white space, '' for one that cannot be seen or stored."""
    if character.isspace():
        return " "
    return "" if unicodedata.category(character).startswith("C") else character


def _cut(name: str, whole: str, longest: int) -> str:
    """Return `name` cut to the `longest` length, its ending kept, and a digest of the whole text."""
    stem, dot, ending = name.rpartition(".")
    tail = f"{dot}{ending}" if stem and ending.isalnum() and len(ending.encode()) <= DIGEST else ""
    stem = stem if tail else name
    mark = f"~{hashlib.sha256(whole.encode('utf-8', 'surrogatepass')).hexdigest()[:DIGEST]}{tail}"
    room = longest - len(mark.encode())
    return stem.encode()[:room].decode(errors="ignore").rstrip(" .") + mark


def number_key(number: str) -> str:
    """Return the key under which a quote's number is unique: its safe name in small letters."""
    return safe_name(number, "").casefold()


def revision_key(number: str, revision: int) -> str:
    """Return the key of one revision of a quote, such as ``2026-014-r0``."""
    return f"{number_key(number)}-r{revision}"


def event_key(number: str, sequence: int) -> str:
    """Return the key of one paper filed beside a quote, such as ``2026-014-e0003``."""
    return f"{number_key(number)}-e{sequence:04d}"


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """Return a sort key that puts 9 before 10 inside a number such as ``2026-10``."""
    parts = _RUNS.findall(text.casefold())
    return tuple((0, int(p), "") if p.isascii() and p.isdigit() else (1, 0, p) for p in parts)

"""Which characters a text may hold, and how a text that was read stands in a message: one rule for all files.

Characters that cannot be seen can make two names look alike, turn a line round or steer a terminal.
Source: Unicode Standard, general categories (Cc control, Cf format with directions and joiners, Cs surrogate,
Zl and Zp separators of lines and paragraphs); Unicode Technical Report 36 on what they are misused for.
"""

import unicodedata

LONGEST_SHOWN = 200
_HIDDEN = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})


def hidden(text: str, but: str = "") -> list[str]:
    """Return the different characters of `text` that cannot be seen, those in `but` left out."""
    return [c for c in sorted(set(text)) if unicodedata.category(c) in _HIDDEN and c not in but]


def named(characters: list[str]) -> str:
    """Return what holds them, to be said of a text: ``holds U+202E, which cannot be seen``."""
    return f"holds {', '.join(f'U+{ord(c):04X}' for c in characters[:5])}, which cannot be seen"


def escaped(text: str, longest: int = LONGEST_SHOWN) -> str:
    r"""Return `text` with characters that cannot be seen as ``\u202e``, cut to the `longest` length."""
    if not text.isprintable():
        codes = {ord(c): c.encode("unicode_escape").decode() for c in hidden(text[:longest])}
        text = text[: longest + 1].translate(codes)
    return text if len(text) <= longest else text[: longest - 1] + "…"

"""A citation: where a number came from. Every number from outside travels with one."""

from dataclasses import dataclass

PRACTICE = "common practice, no source"
INVENTED = "invented for the demonstration"


@dataclass(frozen=True, slots=True)
class Source:
    """Where a value or formula came from.

    Attributes:
        citation: standard with edition and clause, book with page, or one of the set phrases
            'common practice, no source', 'assumption', 'invented for the demonstration'.
        verified: how far it was checked: 'read', 'own arithmetic', 'from memory'.
    """

    citation: str = PRACTICE
    verified: str = "from memory"

    def __str__(self) -> str:
        """Return the citation, with 'from memory' where it was recalled and not looked up."""
        recalled = self.verified == "from memory" and self.citation != PRACTICE
        return f"{self.citation} (from memory)" if recalled else self.citation

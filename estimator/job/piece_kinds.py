"""What may be built: one record a kind of piece. Everything that tells kinds apart reads it here.

The record says what is named or numbered; how a piece is laid out, drawn and placed follows from its model.
A kind whose model is one of these, or made from one, needs nothing beside its record.
"""

from dataclasses import dataclass

from estimator.job.description_pieces import Cloud, Corner, Piece, Recess, Screen, Treatment


@dataclass(frozen=True, slots=True)
class HeldBy:
    """The hardware that a piece hangs or stands on.

    Attributes:
        named_by: the piece's attribute that may name the product; '' for none.
        choice: the shop's choice where the piece names none; '' where it must name one.
        number: the shop's value of how many a piece has; '' for as many as its size and weight ask for.
    """

    named_by: str = ""
    choice: str = ""
    number: str = ""


@dataclass(frozen=True, slots=True)
class PieceKind:
    """A kind of piece.

    Attributes:
        model: what the job file says of one.
        about: of the job file's array of them, for its reference.
        word, words: what papers call one, and several.
        faces: names of the faces that are covered in cloth.
        held: by which hardware; of what is screwed to the building by none.
        heard: what is assumed of its sound, for the notes of the room.
    """

    model: type[Piece]
    about: str
    word: str
    words: str
    faces: tuple[str, ...] = ("front",)
    held: HeldBy = HeldBy()
    heard: str = ""


PIECES: dict[str, PieceKind] = {
    "wall": PieceKind(Treatment, "Treatments of walls.", "wall frame", "wall frames"),
    "corner": PieceKind(
        Corner,
        "Corner traps.",
        "corner trap",
        "corner traps",
        heard="Corner traps count as flat panels on a wall; nothing is claimed for them below 100 Hz.",
    ),
    "recess": PieceKind(
        Recess,
        "Boxes in window recesses.",
        "recess box",
        "recess boxes",
        held=HeldBy(choice="product_hook", number="hooks_per_recess"),
    ),
    "screen": PieceKind(
        Screen,
        "Screens on feet.",
        "freestanding screen",
        "freestanding screens",
        faces=("front", "back"),
        held=HeldBy(named_by="feet", number="feet_per_screen"),
    ),
    "cloud": PieceKind(
        Cloud,
        "Clouds below the ceiling.",
        "ceiling cloud",
        "ceiling clouds",
        held=HeldBy(named_by="hanger", choice="product_hanger"),
    ),
}
"""Every kind by its table's key in the job file, in the order in which they are laid out."""

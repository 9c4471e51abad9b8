"""What every piece that is no wall treatment is made of: frames, strips, hardware and what was found."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from estimator.catalogue.records import Catalogue, Item
from estimator.core.units import Display, Nm
from estimator.job.description import Job
from estimator.job.description_pieces import PIECES, Piece
from estimator.layout import edges
from estimator.layout.frames import Material, Plan, frame
from estimator.layout.plan import RoomPlan
from estimator.layout.records import Edge, Fixing, Frame, Hardware, Meets, Placement, Strip, parts_kg
from estimator.layout.shapes import SIDES, Rect, Side
from estimator.layout.strips import casings
from estimator.layout.wall_frames import Choices

FREE: Mapping[Side, Meets] = dict.fromkeys(SIDES, "free")


@dataclass(frozen=True, slots=True)
class FrameWanted:
    """One frame of a piece that is to be made, and everything it is made from.

    Attributes:
        kind: key of the piece's kind.
        name: of the frame.
    """

    kind: str
    name: str
    piece: Piece
    job: Job
    plan: RoomPlan
    material: Material
    catalogue: Catalogue
    choices: Choices

    @property
    def display(self) -> Display:
        """Return how lengths are shown."""
        return self.job.header.display

    def frame(
        self, size: tuple[Nm, Nm], meets: Mapping[Side, Meets], at: Placement, *, bare: bool = False
    ) -> Frame:
        """Return the frame with its mass, without fixings.

        Args:
            size: width and height, unless they were changed by hand.
            meets: what each side meets.
            at: where it is.
            bare: without casings.
        """
        width, height = self.choices.sizes.get(self.name, size)
        lengths = {"left": height, "right": height, "bottom": width, "top": width}
        cased = bool(self.material.trim.casing) and not bare
        host = self.piece.name
        plan = Plan(
            self.name, host, self.kind, self.material, width, height, at,
            self.choices.cloth_of(self.name, host, self.material.cloth), faces=PIECES[self.kind].faces,
        )  # fmt: skip
        made = frame(plan, [Edge(side, lengths[side], what, cased) for side, what in meets.items()])
        return weighed(made, self.catalogue)

    def strips(self, made: Frame) -> tuple[Strip, ...]:
        """Return the casings of the frame, which stands alone."""
        piece = edges.Piece(made.name, made.host, Rect(0, 0, made.width, made.height))
        return casings([piece], {made.name: made.edges}, {made.host: self.material.trim})

    @property
    def holder(self) -> Item:
        """Return what it hangs or stands on: the product that the piece names, or the shop's."""
        held = PIECES[self.kind].held
        named = getattr(self.piece, held.named_by, None)
        return self.catalogue.sizes(named or self.catalogue.practice.choice(held.choice))[0]

    def held(self, count: int = 0) -> Hardware:
        """Return the hardware of the frame: the shop's number of it, or `count` where there is no such."""
        number = PIECES[self.kind].held.number
        if number:
            count = int(self.catalogue.practice.number(number))
        return Hardware(self.holder.product, count, self.name, number)


def weighed(made: Frame, catalogue: Catalogue) -> Frame:
    """Return a frame with its mass."""
    return replace(made, mass_kg=parts_kg(made.members, made.cavities, made.faces, catalogue))


def fixed(made: Frame, places: Sequence[tuple[Nm, Nm]], like: Fixing) -> Frame:
    """Return a frame with one fixing like the one given at each place."""
    return replace(made, fixings=tuple(replace(like, frame=made.name, x=x, y=y) for x, y in places))

"""Sticks filled to the last bit: each takes the longest piece left, then the longest that leave no rest.

Which lengths a set of pieces can add up to is a row of bits, one whole number; a piece shifts it. Long pieces
go first, so the short ones, which fill any gap, are left for the end.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from estimator.cutting.sticks.budget import Work
from estimator.cutting.sticks.case import Case, Cut, Pattern
from estimator.cutting.sticks.knapsack import copies

_MOST_PIECES = 1_200
_MOST_BITS = 24_000
_MOST_ADDED = 2_000_000_000
"""Bits added up in all to know how full a stick can be."""
_MANY_BITS = 40_000
_NEARLY = 110
_SHARES = (1.0, 0.5, 2.0, 0.0, 1.5, 3.0, 0.75, 4.0)
_EFFORT_PIECE, _BITS_AT_ONCE = 400, 32


@dataclass(frozen=True, slots=True)
class _Bits:
    """Weights and rooms in bits, rounded so that what fits by bits fits in truth."""

    weights: list[int]
    rooms: list[int]

    @classmethod
    def of(cls, case: Case) -> "_Bits":
        unit = -(-max(case.capacities) // _MOST_BITS) or 1
        return cls(
            [-(-weight // unit) for weight in case.weights], [room // unit for room in case.capacities]
        )


class _Pieces:
    """The pieces still wanted, longest first, and what each tail of the list can add up to."""

    def __init__(self, bits: _Bits, demand: Sequence[int], work: Work) -> None:
        self.weights, self.work = bits.weights, work
        self.each = _EFFORT_PIECE + max(bits.rooms) // _BITS_AT_ONCE
        self.mask = (1 << (max(bits.rooms) + 1)) - 1
        self.items: list[int] = []
        self.sums = [1]
        self._put_before([item for item, count in enumerate(demand) for _ in range(count)])

    def _put_before(self, items: list[int]) -> None:
        self.work.done += (len(items) + 1) * self.each
        self.items = items + self.items[len(self.items) - len(self.sums) + 1 :]
        for item in reversed(items):
            tail = self.sums[-1]
            self.sums.append((tail | tail << self.weights[item]) & self.mask)

    def fullest(self, room: int) -> int:
        """Return the most that the pieces after the first can fill of `room`."""
        return self._most(-2, room)

    def _most(self, tail: int, room: int) -> int:
        return (self.sums[tail] & ((1 << (room + 1)) - 1)).bit_length() - 1

    def take(self, room: int, waste: int) -> tuple[tuple[int, int], ...]:
        """Take the first piece and the longest others that fit `room` and leave no more than `waste` of it.

        Returns: item and count of what was taken.
        """
        chosen, at, last = [0], 1, len(self.items)
        while at < last and room:
            rest = room - self.weights[self.items[at]]
            if rest >= 0 and rest - self._most(last - at - 1, rest) <= waste:
                chosen.append(at)
                room = rest
            at += 1
        taken = [self.items[at] for at in chosen]
        gone = set(chosen)
        kept = [item for at, item in enumerate(self.items[: chosen[-1] + 1]) if at not in gone]
        del self.sums[last - chosen[-1] :]
        self._put_before(kept)
        return tuple((item, taken.count(item)) for item in sorted(set(taken)))


@dataclass(frozen=True, slots=True)
class _Manner:
    """How a try goes.

    Attributes:
        order: which stock comes first where several can be filled alike.
        share: how much of its share of the room to spare a stick may waste for the sake of longer pieces.
    """

    order: Sequence[int]
    share: float


def _attempt(
    bits: _Bits, demand: Sequence[int], sticks: Sequence[int], manner: _Manner, work: Work
) -> Cut | int:
    """Return a plan of `demand` on those sticks, or how many pieces were left when it failed."""
    pieces, left, cut = _Pieces(bits, demand, work), list(sticks), Cut()
    spare = sum(n * room for n, room in zip(sticks, bits.rooms, strict=True))
    spare -= sum(n * weight for n, weight in zip(demand, bits.weights, strict=True))
    while pieces.items:
        first = bits.weights[pieces.items[0]]
        rooms = [(k, bits.rooms[k] - first) for k in manner.order if left[k] and bits.rooms[k] >= first]
        wastes = ((room - pieces.fullest(room), at) for at, (_, room) in enumerate(rooms))
        waste, at = min(wastes, default=(spare + 1, 0))
        if waste > spare:
            return len(pieces.items)
        stock, room = rooms[at]
        allowed = max(waste, int(manner.share * spare / sum(left)))
        pattern = Pattern(stock, pieces.take(room, allowed))
        cut[pattern] = cut.get(pattern, 0) + 1
        spare -= bits.rooms[stock] - sum(bits.weights[item] * count for item, count in pattern.counts)
        left[stock] -= 1
    return cut


def fullest(case: Case) -> list[int]:
    """Return the most that a stick of each stock can be filled, to the unit where that takes few bits."""
    rooms = case.capacities
    if sum(case.demand) > _MOST_PIECES or sum(case.demand) * max(rooms) > _MOST_ADDED:
        return list(rooms)
    mask, sums = (1 << (max(rooms) + 1)) - 1, 1
    for weight, count in zip(case.weights, case.demand, strict=True):
        for multiple in copies(min(count, max(rooms) // weight)):
            sums |= (sums << (weight * multiple)) & mask
    return [(sums & ((1 << (room + 1)) - 1)).bit_length() - 1 for room in rooms]


def free_patterns(case: Case, work: Work) -> Iterator[list[Pattern]]:
    """Yield plans of the whole job from sticks of mostly one stock each, whatever their number and cost."""
    if sum(case.demand) > _MOST_PIECES:
        return
    bits = _Bits.of(case)
    largest = max(range(len(bits.rooms)), key=lambda k: bits.rooms[k])
    if bits.rooms[largest] < bits.weights[0]:
        return
    for stock, room in enumerate(bits.rooms):
        pieces, made = _Pieces(bits, case.demand, work), list[Pattern]()
        while pieces.items:
            first = bits.weights[pieces.items[0]]
            taken = stock if first <= room else largest
            spare = bits.rooms[taken] - first
            made.append(Pattern(taken, pieces.take(spare, spare - pieces.fullest(spare))))
        yield made


def _manners(case: Case, choices: int) -> Iterator[_Manner]:
    rising = sorted(range(len(case.costs)), key=lambda k: case.capacities[k])
    for share in _SHARES[: min(choices, 1 + _MANY_BITS // (1 + max(case.capacities)))]:
        yield _Manner(rising, share)
        if len(rising) > 1 and choices > 1:
            yield _Manner(rising[::-1], share)


def fill(
    case: Case, demand: Sequence[int], sticks: Sequence[int], work: Work, choices: int = len(_SHARES)
) -> Cut | None:
    """Return a plan of `demand` on no more than `sticks` of each stock; None where none was met.

    A try that comes near the end is tried again with another choice on one stick, which changes all after it.

    Args:
        case: the job.
        demand: pieces wanted of each item.
        sticks: of each stock, how many there are.
        work: is told what is done.
        choices: the most choices that are tried, at least 1.
    """
    if sum(demand) > _MOST_PIECES:
        return None
    bits = _Bits.of(case)
    for manner in _manners(case, choices):
        found = _attempt(bits, demand, sticks, manner, work)
        if not isinstance(found, int):
            return found
        if found > _NEARLY:
            return None
    return None

"""Among plans of the same cost and patterns: one long offcut, which is of use, rather than short ones."""

from dataclasses import dataclass

from estimator.cutting.sticks.case import Case, Cut, Pattern

_MOVES = 100
_MOST_STICKS = 400


@dataclass(slots=True)
class _Loose:
    """A stick whose pattern is cut once, so that changing it makes no pattern more."""

    stock: int
    counts: dict[int, int]
    room: int

    def put(self, item: int, weight: int, by: int) -> None:
        self.counts[item] = self.counts.get(item, 0) + by
        self.room -= weight * by
        if not self.counts[item]:
            del self.counts[item]


def _best_swap(case: Case, long: _Loose, other: _Loose) -> tuple[int, int, int]:
    """Return what the long offcut gains by a swap, the item given and the item got (-1 for none)."""
    best, weights = (0, -1, -1), case.weights
    for given in long.counts:
        for got in (-1, *other.counts):
            gain = weights[given] - (weights[got] if got >= 0 else 0)
            if best[0] < gain <= other.room:
                best = (gain, given, got)
    return best


def _lengthen(case: Case, long: _Loose, others: list[_Loose]) -> None:
    """Swap pieces of `long` for shorter ones elsewhere, the greatest gain first."""
    for _ in range(_MOVES):
        swaps = [(*_best_swap(case, long, other), -at) for at, other in enumerate(others)]
        gain, given, got, at = max(swaps, default=(0, -1, -1, 0))
        if not gain:
            return
        other = others[-at]
        long.put(given, case.weights[given], -1)
        other.put(given, case.weights[given], 1)
        if got >= 0:
            other.put(got, case.weights[got], -1)
            long.put(got, case.weights[got], 1)


def longer_offcut(case: Case, cut: Cut) -> Cut:
    """Return a plan with the same sticks and no pattern more, whose longest offcut is at least as long."""
    loose = [
        _Loose(p.stock, dict(p.counts), case.capacities[p.stock] - case.weight(p.counts))
        for p, times in cut.items()
        if times == 1
    ][:_MOST_STICKS]
    if len(loose) < 2:  # noqa: PLR2004 - nothing to swap with
        return cut
    long = max(loose, key=lambda stick: stick.room)
    moved = {Pattern(stick.stock, tuple(sorted(stick.counts.items()))) for stick in loose}
    _lengthen(case, long, [stick for stick in loose if stick is not long])
    done = {pattern: times for pattern, times in cut.items() if times > 1 or pattern not in moved}
    for stick in loose:
        if stick.counts:
            pattern = Pattern(stick.stock, tuple(sorted(stick.counts.items())))
            done[pattern] = done.get(pattern, 0) + 1
    return done

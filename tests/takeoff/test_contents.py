"""What adds to each line: hung pieces and their hardware."""

from tests.takeoff.taken import take, walls


def test_a_hanger_is_bought_once() -> None:
    """A cloud of 4 x 8 ft, hangers 6 in from its edges and at most 48 in apart: 2 x 3, and no screws."""
    bare = {"member": "member-2x2", "board": "board-48-1.5", "fabric": "fabric-rib"}
    cloud = {"name": "K", "width": "4 ft", "length": "8 ft", "make-up": "bare", "drop": "8 in"}
    taken = take(walls(**{"make-up": {"bare": bare}, "cloud": [cloud]}))
    hung = {key: q.net for key, q in taken.lines().items() if key.startswith("hanger")}
    assert hung == {"hanger:hanger-cable": 6}
    drivers = taken.takeoff.tables["drivers"]
    row = list(drivers["key"].values).index("fixing_screws")
    assert drivers.value("quantity", row) == 0

"""First-order images in a box room: Allen and Berkley, J. Acoust. Soc. Am. 65 (1979), and pyroomacoustics.

6.0 x 4.5 x 2.7 m, loudspeaker (1.5, 1.2, 1.2), listener (4.0, 2.25, 1.2), 343 m/s. Level re direct is
20 lg(direct/path) + 10 lg(1 - alpha). The library's image positions and damping gave the same four digits.
"""

import math

import numpy as np
import pyroomacoustics
import pytest

from estimator.acoustics.ratings import Six
from estimator.acoustics.reflections import ReflectingRoom, ReflectingWall, first_reflections

SIZE = (6.0, 4.5, 2.7)
SOURCE, LISTENER = (1.5, 1.2, 1.2), (4.0, 2.25, 1.2)
ALPHA = {"west": 0.1, "north": 0.2, "east": 0.4, "south": 0.3, "floor": 0.05, "ceiling": 0.6}


def flat(alpha: float) -> Six:
    return (alpha,) * 6


def box() -> ReflectingRoom:
    a, b, height = SIZE
    corners = [(0.0, 0.0), (0.0, b), (a, b), (a, 0.0)]
    names = ("west", "north", "east", "south")
    walls = tuple(
        ReflectingWall(name, corners[i], corners[(i + 1) % 4], height, flat(ALPHA[name]))
        for i, name in enumerate(names)
    )
    return ReflectingRoom(walls, height, flat(ALPHA["floor"]), flat(ALPHA["ceiling"]))


FOUND = {r.surface: r for r in first_reflections(box(), SOURCE, LISTENER)}


def test_direct_path() -> None:
    assert math.dist(SOURCE, LISTENER) == pytest.approx(2.711549, abs=1e-5)


@pytest.mark.parametrize(
    ("surface", "path_m", "delay_ms", "level_db", "point"),
    [
        ("west", 5.5993, 8.4192, -6.756, (0.0, 1.4864, 1.2)),
        ("south", 4.2606, 4.5161, -5.474, (2.3696, 0.0, 1.2)),
        ("floor", 3.6211, 2.6518, -2.735, (2.75, 1.725, 0.0)),
    ],
)
def test_worked_images(
    surface: str, path_m: float, delay_ms: float, level_db: float, point: tuple[float, float, float]
) -> None:
    found = FOUND[surface]
    assert found.path_m == pytest.approx(path_m, abs=1e-3)
    assert found.delay_ms == pytest.approx(delay_ms, abs=1e-3)
    assert found.level_before_db == pytest.approx(level_db, abs=1e-3)
    assert found.point == pytest.approx(point, abs=1e-3)
    assert found.visible


def test_every_image_agrees_with_pyroomacoustics() -> None:
    materials = {name: pyroomacoustics.Material(alpha) for name, alpha in ALPHA.items()}
    room = pyroomacoustics.ShoeBox(SIZE, fs=16000, materials=materials, max_order=1, air_absorption=False)
    room.add_source(SOURCE)
    room.add_microphone(LISTENER)
    room.image_source_model()
    source = room.sources[0]
    paths = np.linalg.norm(source.images - np.array(LISTENER)[:, None], axis=0)
    direct = math.dist(SOURCE, LISTENER)
    theirs = sorted(
        (path, 20 * math.log10(direct / path * damping))
        for path, damping, order in zip(paths, source.damping[0], source.orders, strict=True)
        if order == 1
    )
    ours = sorted((r.path_m, r.level_before_db) for r in FOUND.values())
    assert len(ours) == len(theirs) == 6
    assert np.array(ours) == pytest.approx(np.array(theirs), abs=1e-4)

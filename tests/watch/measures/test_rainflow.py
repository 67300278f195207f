"""Rainflow counting: the worked example of the standard, a second method, parts that merge to the whole."""

from __future__ import annotations

from functools import reduce
from itertools import pairwise

import numpy as np
import pytest

from steadyhead.watch.measures.rainflow import Counted, counted, joined, turning_points, with_halves

OF_THE_STANDARD = [-2, 1, -3, 5, -1, 3, -4, 4, -2]
"""Points A to I of the worked example of ASTM E1049-85, 5.4.4 (numbers from memory)."""


def three_point(v: np.ndarray) -> dict[int, float]:
    """Return cycles by the three-point rule as the standard words it, point by point."""
    out: dict[int, float] = {}

    def add(size: int, number: float) -> None:
        if size:
            out[size] = out.get(size, 0.0) + number

    held: list[int] = []
    for point in turning_points(v).tolist():
        held.append(point)
        while len(held) >= 3:
            x, y = abs(held[-1] - held[-2]), abs(held[-2] - held[-3])
            if x < y:
                break
            if len(held) == 3:
                add(y, 0.5)
                del held[0]
            else:
                add(y, 1.0)
                del held[-3:-1]
    for a, b in pairwise(held):
        add(abs(b - a), 0.5)
    return dict(sorted(out.items()))


def course(seed: int) -> np.ndarray:
    rng = np.random.default_rng([17, seed])
    return rng.integers(0, rng.integers(2, 14), rng.integers(0, 80))


def test_the_worked_example_of_the_standard_is_met():
    found = with_halves(counted(np.array(OF_THE_STANDARD)))
    assert found == {3: 0.5, 4: 1.5, 6: 0.5, 8: 1.0, 9: 0.5}
    assert three_point(np.array(OF_THE_STANDARD)) == found


def test_four_points_and_three_points_count_the_same():
    for seed in range(300):
        assert with_halves(counted(course(seed))) == three_point(course(seed)), seed


def test_parts_merge_to_what_the_whole_gives_in_any_grouping():
    for seed in range(200):
        v = course(seed)
        cuts = np.sort(np.random.default_rng([18, seed]).integers(0, v.size + 1, 3))
        a, b, c, d = (counted(part) for part in np.split(v, cuts))
        whole = counted(v)
        assert reduce(joined, (a, b, c, d)) == whole, seed
        assert joined(joined(a, b), joined(c, d)) == whole, seed
        assert joined(a, joined(b, joined(c, d))) == whole, seed


@pytest.mark.parametrize(("v", "cycles"), [([], {}), ([3], {}), ([3, 3, 3], {}), ([1, 4], {3: 0.5})])
def test_a_course_without_turns_has_no_cycle(v, cycles):
    assert with_halves(counted(np.array(v, dtype=np.int64))) == cycles
    assert joined(Counted(), counted(np.array(v, dtype=np.int64))) == counted(np.array(v, dtype=np.int64))

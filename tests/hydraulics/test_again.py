"""A line solved again and again gives what it gives when it is solved alone."""

from __future__ import annotations

import random

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.hydraulics.again import Again
from steadyhead.hydraulics.kernel import assembly, layout
from tests.hydraulics.kernel import wild


@given(seed=st.integers(0, 2**31 - 1))
def test_whatever_was_solved_before_the_next_solve_remembers_nothing_of_it(seed):
    station = wild.wild_station(random.Random(seed))
    line, at = station.line(), station.at()
    again = Again(line, at)
    for supply in (1.0, 0.6, 1.3, 1.0):
        at[layout.SUPPLY] = supply * station.at()[layout.SUPPLY]
        alone = assembly.solve_line(line, at)
        assert again.solve() == alone.ending
        assert np.array_equal(again.nodes, alone.nodes, equal_nan=True)
        assert np.array_equal(again.outcomes, alone.outcomes, equal_nan=True)

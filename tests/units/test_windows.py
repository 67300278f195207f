"""A window is printed one way everywhere: edges inwards, values on their true side."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.units import METRIC, METRIC_KPA, UK, US, beside, read_units, say_band, say_window

EDGE = st.floats(0.5e5, 25e5)


def number(words: str) -> float:
    return float(words.split()[0])


SETS = (METRIC, METRIC_KPA, UK, US)


@given(EDGE, EDGE, st.lists(EDGE, max_size=2))
def test_a_printed_value_stands_on_its_true_side_of_each_printed_edge(one, other, values):
    low, high = sorted((one, other))
    for units in SETS:
        _, *said = say_window(low, high, values, "pressure", units)
        least, most, *told = map(number, said)
        assert least <= most
        for value, shown in zip(values, told, strict=True):
            for edge, printed in ((low, least), (high, most)):
                if abs(value - edge) > 1e-6 * edge:
                    assert (value > edge) == (shown > printed)


@given(EDGE, EDGE)
def test_a_window_that_nothing_is_held_against_is_printed_as_any_band_is(one, other):
    low, high = sorted((one, other))
    for units in SETS:
        words, *_ = say_window(low, high, (), "pressure", units)
        assert words == say_band(low, high, "pressure", units)


@pytest.mark.source(kind="analytic", ref="4.982 bar is not below 4.98 bar; 5.158 bar is not above 5.15 bar")
def test_edges_are_rounded_into_an_open_window_and_to_the_nearest_in_an_empty_one():
    assert say_window(4.982e5, 5.158e5, (5.1e5,), "pressure")[1:] == ("4.99 bar", "5.15 bar", "5.10 bar")
    assert say_window(5.158e5, 4.982e5, (), "pressure")[1:] == ("5.16 bar", "4.98 bar")


def test_both_units_of_a_window_stand_side_by_side():
    told = say_window(4.982e5, 5.158e5, (), "pressure", beside(METRIC, read_units("us")))
    assert told == (
        "4.99 to 5.15 bar (72.3 to 74.8 psi)",
        "4.99 bar (72.3 psi)",
        "5.15 bar (74.8 psi)",
    )


def test_a_window_narrower_than_the_last_decimal_is_not_printed_back_to_front():
    _, least, most = say_window(50000.84375, 50000.84375, (), "pressure")
    assert least == most == "0.500008438 bar"
    assert say_band(50000.84375, 50000.84375, "pressure") == "0.500008438 to 0.500008438 bar"

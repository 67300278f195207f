"""Numbers of things in words: one is one, a minus is a minus, and nothing has no sign."""

from __future__ import annotations

import pytest

from steadyhead.watch.counting import counted, often, signed
from steadyhead.watch.defects.saying import bar


def test_one_thing_is_said_as_one():
    assert (counted(0, "row"), counted(1, "row"), counted(12, "row")) == ("0 rows", "1 row", "12 rows")
    assert (often(1), often(2), often(3)) == ("once", "twice", "3 times")


@pytest.mark.parametrize(
    ("figure", "told"),
    [
        ("-0.00", "0.00"),
        ("+0", "0"),
        ("-0.10", "−0.10"),
        ("+3", "+3"),
        ("4.20", "4.20"),
        ("-3e-05", "−3e-05"),
    ],
)
def test_a_minus_is_a_minus_and_nothing_has_no_sign(figure, told):
    assert signed(figure) == told


def test_a_pressure_that_rounds_to_nothing_has_no_sign():
    assert (bar(-120.0), bar(-31_000.0)) == ("0.00 bar", "−0.31 bar")

"""Printed figures beside their limits: rounding never puts a value on the other side."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.units import (
    METRIC,
    SETS,
    US,
    band,
    beside,
    from_si,
    parse,
    say_apart,
    say_band,
    say_most,
    say_size,
)

PRESSURES = st.floats(1e3, 4e6)
READ = st.sampled_from([*SETS.values()])


def back(figure: str, unit: str) -> float:
    """Return a printed figure in SI."""
    return parse(f"{figure} {unit}", "pressure").si


@given(low=PRESSURES, width=st.floats(0.0, 5e5), units=READ)
def test_what_is_read_on_a_printed_edge_lies_in_the_band(low, width, units):
    high, unit = low + width, units.unit("pressure")
    first, last = band(low, high, "pressure", units)
    slack = 1e-3 * max(1.0, from_si(1.0, "pressure", unit)) + 1e-9 * high
    assert back(first, unit) >= low - slack or width < 1.0
    assert back(last, unit) <= high + slack or width < 1.0


@given(limit=PRESSURES, units=READ)
def test_the_most_allowed_is_never_printed_above_itself(limit, units):
    assert parse(say_most(limit, "pressure", units), "pressure").si <= limit + 1e-2


@given(value=PRESSURES, off=st.sampled_from([0.1, 1.0, 30.0, 300.0, 3e4]), units=READ)
def test_a_value_past_its_limit_never_looks_like_its_limit(value, off, units):
    first, second = say_apart((value + off, value), "pressure", units)
    assert parse(first, "pressure").si > parse(second, "pressure").si


@pytest.mark.source(kind="analytic", ref="decimals by hand")
def test_equal_values_keep_their_usual_decimals():
    assert say_apart((5.94e5, 5.94e5), "pressure") == ("5.94 bar", "5.94 bar")
    assert say_apart((5.94e5 * (1 + 1e-12), 5.94e5), "pressure") == ("5.94 bar", "5.94 bar")
    assert say_apart((5.9412e5, 5.94e5), "pressure", beside(METRIC, US)) == (
        "5.941 bar (86.17 psi)",
        "5.940 bar (86.15 psi)",
    )


@pytest.mark.source(kind="analytic", ref="decimals by hand")
def test_one_sided_and_narrow_bands_and_small_differences_are_told():
    assert say_band(None, 5.319e5, "pressure") == "at most 5.31 bar"
    assert say_band(5.311e5, None, "pressure") == "at least 5.32 bar"
    assert say_band(None, None, "pressure") == "any"
    assert say_band(5.001e5, 5.004e5, "pressure") == "5.001 to 5.004 bar"
    assert say_size(40.0, "pressure") == "0.0004 bar"


@given(si=PRESSURES)
def test_both_units_of_a_print_are_one_pressure(si):
    told = re.fullmatch(r"(.+) psi \((.+) bar\)", say_band(si, si, "pressure", beside(US, METRIC)))
    assert told is not None
    first, second = (text.split(" to ")[0] for text in told.groups())
    assert back(first, "psi") == pytest.approx(back(second, "bar"), abs=1700.0)

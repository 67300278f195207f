from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.drawings.scale import Scale, round_step, round_top, ticks
from steadyhead.units import METRIC, UK, US, from_si

SETS = st.sampled_from([METRIC, UK, US])


@given(st.floats(1e3, 1e8), st.floats(3, 12))
def test_steps_are_one_two_or_five_times_a_power_of_ten(span, count):
    digits = f"{round_step(span, count):.6e}"
    assert digits[0] in "125"
    assert set(digits[2:8]) == {"0"}
    assert span / round_step(span, count) == pytest.approx(count, rel=0.6)


@given(st.floats(-5e5, 1e6), st.floats(2e4, 5e6), SETS)
def test_marks_lie_on_the_scale_and_rise(low, span, units):
    marks = ticks(low, low + span, units, 6)
    places = [mark.pressure for mark in marks]
    assert 3 <= len(marks) <= 12
    assert places == sorted(places)
    assert min(places) >= low - 1e-3 * span
    assert max(places) <= low + 1.001 * span


@given(st.floats(0, 6e6), SETS)
def test_the_figure_at_a_mark_is_its_pressure_in_the_display_unit(span, units):
    for mark in ticks(0.0, span + 1e4, units, 6):
        shown = float(mark.figure.replace("\u2212", "-"))
        assert shown == pytest.approx(from_si(mark.pressure, "pressure", units.unit("pressure")), abs=1e-6)


@given(st.floats(1e4, 6e6), SETS)
def test_the_top_of_a_scale_covers_what_is_drawn(high, units):
    assert high * (1 - 1e-9) <= round_top(high, units, 6) <= 2.0 * high


def test_a_scale_runs_up_the_page():
    scale = Scale(0.0, 10e5, 300.0, 0.0)
    assert scale.at(2e5) > scale.at(8e5)
    assert scale.length(1e5) == 30.0
    assert scale.covers(10e5)
    assert not scale.covers(11e5)

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.drawings.grade_line import line_at_no_flow, line_now, stops_water
from steadyhead.records.pictures import StripPart, StripPicture, TapPressure
from tests.drawings.samples import (
    BARE,
    DRAIN,
    INLET,
    REDUCER,
    SHUT_OFF,
    STRAINER,
    TRIPPED,
    UNREAD,
    UPSTREAM,
    tap,
)

PARTS = {part.id: index for index, part in enumerate(UPSTREAM.parts)}


def levels(picture: StripPicture) -> dict[tuple[int, int], float]:
    return {(at.part, at.side): at.pressure for stretch in line_now(picture) for at in stretch}


def test_the_line_passes_through_every_reading():
    found = levels(UPSTREAM)
    for pressure in UPSTREAM.pressures:
        assert found[PARTS[pressure.tap], 0] == pressure.now


def test_the_line_is_level_in_a_pipe_and_falls_across_the_part_that_loses():
    found = levels(UPSTREAM)
    assert found[-1, 1] == found[PARTS["IV1"], -1] == found[PARTS["IV1"], 1] == 10.92e5
    assert found[PARTS["ST"], -1] == 10.92e5
    assert found[PARTS["ST"], 1] == pytest.approx(10.56e5)
    assert found[PARTS["RV"], 1] == pytest.approx(3.9e5)


def test_losses_that_are_worked_out_are_shared_out_and_the_rest_goes_to_one_part():
    parts = tuple(replace(part, loss=0.1e5) if part.id == "IV1" else part for part in UPSTREAM.parts)
    found = levels(replace(UPSTREAM, parts=parts))
    assert found[PARTS["IV1"], 1] == pytest.approx(10.82e5)
    assert found[PARTS["ST"], 1] == pytest.approx(10.56e5)


@given(st.lists(st.floats(0, 3e5), min_size=2, max_size=2), st.floats(1e5, 9e5))
def test_shared_out_losses_end_at_the_next_reading(losses, fall):
    first, second = replace(INLET, loss=losses[0]), replace(STRAINER, loss=losses[1])
    picture = replace(
        UPSTREAM,
        parts=(tap("T0"), first, second, tap("T1")),
        pressures=(TapPressure("T0", 10e5), TapPressure("T1", 10e5 - fall)),
    )
    stretches = line_now(picture)
    assert len(stretches) == 1
    assert [at.pressure for at in stretches[0]][-2] == pytest.approx(10e5 - fall)


def test_a_tripped_shut_off_cuts_the_line():
    stretches = line_now(TRIPPED)
    assert len(stretches) == 2
    assert stretches[0][-1].part == stretches[1][0].part == PARTS["SO"]
    assert (stretches[0][-1].side, stretches[1][0].side) == (-1, 1)


def test_a_reducer_that_is_shut_cuts_the_line_only_where_nothing_flows():
    shut = replace(REDUCER, travel=0.0)
    assert stops_water(shut, 0.0)
    assert not stops_water(shut, 0.001)
    assert not stops_water(shut, None)


def test_a_shut_isolating_valve_cuts_the_line_and_a_part_open_one_does_not():
    assert stops_water(replace(INLET, open_share=0.0), 0.02)
    assert not stops_water(replace(INLET, open_share=0.1), 0.02)
    assert not stops_water(replace(INLET, open_share=None), 0.02)


def test_nothing_is_drawn_past_a_tap_that_was_not_read():
    stretches = line_now(UNREAD)
    order = {part.id: index for index, part in enumerate(UNREAD.parts)}
    assert [at.part for at in stretches[0]][-1] == order["IV1"]
    assert stretches[1][0].part == order["SO"]
    assert all(at.part != order["T1"] for stretch in stretches for at in stretch)


def test_nothing_is_drawn_before_the_first_reading_unless_the_loss_is_worked_out():
    picture = replace(
        UPSTREAM, parts=(INLET, STRAINER, tap("T1"), DRAIN), pressures=(TapPressure("T1", 5e5),)
    )
    assert line_now(picture)[0][0].part == 1
    known = replace(picture, parts=(INLET, replace(STRAINER, loss=0.3e5), *picture.parts[2:]))
    assert line_now(known)[0][0].part == 0
    assert line_now(known)[0][0].pressure == pytest.approx(5.3e5)


def test_after_the_last_reading_the_line_goes_on_by_the_losses_that_are_worked_out():
    picture = replace(
        UPSTREAM, parts=(tap("T1"), replace(STRAINER, loss=0.3e5), INLET), pressures=(TapPressure("T1", 5e5),)
    )
    assert line_now(picture)[0][-1].part == 2
    assert line_now(picture)[0][-1].pressure == pytest.approx(4.7e5)


def test_no_line_is_drawn_where_nothing_is_known():
    assert line_now(BARE) == ()
    assert line_at_no_flow(BARE) == ()


def test_a_station_at_zero_flow_has_no_second_line():
    assert line_at_no_flow(TRIPPED) == ()
    assert len(line_at_no_flow(UPSTREAM)) == 1


def test_two_different_readings_in_one_pipe_are_joined_by_a_straight_line():
    picture = replace(
        UPSTREAM,
        parts=(tap("T3"), DRAIN, tap("T4")),
        pressures=(TapPressure("T3", 4e5), TapPressure("T4", 3.9e5)),
    )
    assert [at.pressure for at in line_now(picture)[0]] == [4e5, 4e5, 3.9e5, 3.9e5]


def test_a_rise_across_a_part_is_drawn_as_it_was_read():
    picture = replace(
        UPSTREAM,
        parts=(tap("T2"), replace(SHUT_OFF, sensing=None, loss=0.2e5), StripPart("strainer", "S"), tap("T3")),
        pressures=(TapPressure("T2", 4e5), TapPressure("T3", 4.1e5)),
    )
    assert line_now(picture)[0][-1].pressure == pytest.approx(4.1e5)

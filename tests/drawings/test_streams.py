"""Strips and ladders of stations with several streams: every width, every tree, every state."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from steadyhead.drawings import alt_text, draw_strip, one_colour, paper, screen
from steadyhead.drawings.ladder import compose_ladder
from steadyhead.drawings.strip import compose_strip
from steadyhead.drawings.strip_across import PITCHES
from steadyhead.drawings.strip_tree import axis_of, lay_axis, walked
from steadyhead.errors import InputError
from steadyhead.records.pictures import SensingLine, TapPressure
from steadyhead.units import read_units
from tests.drawings.random_streams import streams
from tests.drawings.samples import BAR, UPSTREAM, tap
from tests.drawings.stream_samples import (
    CRACK,
    DUTY_AND_STANDBY,
    EMPTY_CRACK,
    IN_A_ROW,
    LOW_FLOW,
    NESTED,
    ONE_TRIPPED,
    STANDBY,
    STREAM_LADDERS,
    STREAMS,
    TWO_TRIPS,
    reducer,
    stream,
)
from tests.drawings.test_readable import PALETTES, WIDTHS, outside, overlaps

pytestmark = pytest.mark.by_turns(2)
UPRIGHT = re.compile(r'd="M([\d.-]+) ([\d.-]+)L\1 ([\d.-]+)"')
"""An upright line of a drawing: where it stands, and its ends."""


def words(canvas) -> str:
    return " ".join(box.text for box in canvas.boxes)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("palette", PALETTES.values(), ids=PALETTES)
@pytest.mark.parametrize("picture", STREAMS.values(), ids=STREAMS)
def test_nothing_on_a_strip_of_streams_is_written_over_or_cut_off(picture, palette, width):
    canvas = compose_strip(picture, palette, width)
    assert overlaps(canvas) == []
    assert outside(canvas) == []


@pytest.mark.parametrize("width", WIDTHS[1:])
@pytest.mark.parametrize("palette", PALETTES.values(), ids=PALETTES)
@pytest.mark.parametrize("picture", STREAMS.values(), ids=STREAMS)
def test_no_dashed_upright_passes_through_words(picture, palette, width):
    canvas = compose_strip(picture, palette, width)
    pen = palette.pen("hair dashed")
    found = [UPRIGHT.search(mark) for mark in canvas["grid"].marks if pen in mark]
    uprights = [tuple(map(float, one.groups())) for one in found if one]
    crossed = [
        (box.text, x) for x, top, foot in uprights for box in canvas.boxes
        if box.is_crossed_by((x, top), (x, foot), 0.5)
    ]  # fmt: skip
    assert crossed == []


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("palette", PALETTES.values(), ids=PALETTES)
@pytest.mark.parametrize("picture", STREAM_LADDERS.values(), ids=STREAM_LADDERS)
def test_nothing_on_a_ladder_of_streams_is_written_over_or_cut_off(picture, palette, width):
    canvas = compose_ladder(picture, palette, width)
    assert overlaps(canvas) == []
    assert outside(canvas) == []


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["duty and standby", "six"])
def test_both_units_find_room_beside_the_taps_of_a_branch(name, width):
    picture = replace(STREAMS[name], units=read_units("us+metric"))
    canvas = compose_strip(picture, screen(), width)
    assert overlaps(canvas) == []
    assert outside(canvas) == []
    assert name == "six" or "8.50 bar" in words(canvas)


@settings(max_examples=80, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(streams(), st.sampled_from(WIDTHS))
def test_no_tree_whatever_is_written_over_or_cut_off(picture, width):
    canvas = compose_strip(picture, screen(), width)
    assert overlaps(canvas) == []
    assert outside(canvas) == []


@settings(max_examples=40, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(streams(), st.sampled_from([390, 1360]))
def test_every_part_of_any_tree_is_named_on_the_page_and_every_branch_in_the_sentence(picture, width):
    said = words(compose_strip(picture, screen(), width))
    told = alt_text(picture)

    def check(branches):
        for branch in branches:
            assert branch.name in told
            for part in branch.parts:
                assert part.kind == "tap" or part.name in said
                assert part.kind != "tap" or part.id in said
            check(branch.branches)

    check(picture.branches)


def test_parts_of_like_streams_stand_one_above_the_other():
    axis = axis_of(DUTY_AND_STANDBY.parts, DUTY_AND_STANDBY.branches)
    laid = lay_axis(axis, PITCHES, 0.0, 1200.0)
    left, right = laid.joints["PG"]
    beside = lay_axis(axis_of(STANDBY.parts, ()), PITCHES, left + 7, right - 7)
    own = [laid.along[axis.parts.index(part)] for part in stream("a")]
    assert all(abs(a - b) < 8.0 for a, b in zip(own, beside.along, strict=True))


def test_inner_joints_lie_between_the_outer_ones():
    axis = axis_of(NESTED.parts, NESTED.branches)
    laid = lay_axis(axis, PITCHES, 0.0, 1200.0)
    outer, inner = laid.joints["PG"], laid.joints["PA"]
    assert outer[0] < inner[0] < inner[1] < outer[1]


def test_a_group_ends_before_the_next_begins():
    axis = axis_of(IN_A_ROW.parts, IN_A_ROW.branches)
    assert walked(axis) == (("P1", "leave"), 0, ("P1", "back"), ("P2", "leave"), 1, ("P2", "back"), 2)


def test_an_axis_fills_its_length_however_narrow():
    axis = axis_of(DUTY_AND_STANDBY.parts, DUTY_AND_STANDBY.branches)
    for length in (60.0, 400.0, 4000.0):
        laid = lay_axis(axis, PITCHES, 10.0, 10.0 + length)
        assert 10.0 < laid.along[0] < laid.along[-1] < 10.0 + length
        assert list(laid.along) == sorted(laid.along)


@pytest.mark.parametrize("width", [390, 640])
def test_on_a_hand_held_screen_each_stream_has_a_column_under_the_number_of_its_joints(width):
    said = words(compose_strip(NESTED, screen(), width))
    for head in ("1 Duty stream a", "1 Standby stream b", "2 Low-flow stream bl", "3 Low-flow stream al"):
        assert head in re.sub(r" +", " ", said)


@pytest.mark.parametrize("width", [390, 1360])
def test_a_reading_on_a_branch_stands_beside_its_tap(width):
    said = words(compose_strip(DUTY_AND_STANDBY, screen(), width))
    assert re.search(r"8\.50 T1b", said)
    assert re.search(r"8\.40 T2b", said)


@pytest.mark.parametrize("width", [390, 720, 1360])
def test_a_tripped_and_an_isolated_stream_are_told_in_one_colour_and_in_words(width):
    ready = replace(ONE_TRIPPED, parts=DUTY_AND_STANDBY.parts, branches=(STANDBY, *ONE_TRIPPED.branches[1:]))
    assert draw_strip(ONE_TRIPPED, one_colour(), width) != draw_strip(ready, one_colour(), width)
    said = words(compose_strip(ONE_TRIPPED, paper(), width))
    assert "TRIPPED, shut" in said
    assert "isolated" in said


def test_the_sentence_names_each_stream_with_its_state_and_readings():
    told = alt_text(ONE_TRIPPED)
    assert "Duty stream a, carries 7.0 L/s" in told
    assert "SOa TRIPPED" in told
    assert "beside it Standby stream b, carries 7.0 L/s: T1b 8.50 (read), T2b 8.40 (worked out)" in told
    assert "beside it Standby stream c, isolated: SOc ready, IV1c shut, IV2c shut" not in told
    assert "IV1c shut" in told
    assert "beside it Manual bypass, locked shut: BV shut" in told


def test_a_relief_valve_that_lifts_is_said():
    told = alt_text(STREAMS["building"])
    assert "RL lets water off" in told
    assert "RL" not in alt_text(LOW_FLOW)


def test_a_bypass_alone_keeps_its_plain_form():
    assert "beside it" not in alt_text(UPSTREAM)


def test_a_drained_station_has_a_scale_too():
    taps = tuple(TapPressure(tap.tap, 0.0) for tap in UPSTREAM.pressures)
    for width in (390, 1360):
        assert draw_strip(replace(UPSTREAM, pressures=taps, limits=()), screen(), width).startswith("<svg")


@pytest.mark.parametrize(
    ("branch", "words"),
    [
        (replace(STANDBY, parts=(reducer("RVb", "T3"),)), "no tap of branch b"),
        (replace(STANDBY, branches=(replace(STANDBY, id="c", after="T1"),)), "no part of branch b"),
        (replace(STANDBY, after="T9"), "no part here"),
    ],
)
def test_a_branch_that_names_what_it_does_not_hold_is_refused(branch, words):
    with pytest.raises(InputError, match=words):
        compose_strip(replace(DUTY_AND_STANDBY, branches=(branch,), pressures=()), screen(), 1360)


def test_a_pilot_may_feel_a_tap_of_its_own_branch():
    own = replace(reducer("RVb", ""), sensing=SensingLine("T3b", "root"))
    branch = replace(STANDBY, parts=(own, tap("T3b")))
    picture = replace(DUTY_AND_STANDBY, branches=(branch,))
    pressures = tuple(p for p in picture.pressures if p.tap not in ("T1b", "T2b"))
    drawn = draw_strip(replace(picture, pressures=pressures), one_colour(), 1360)
    assert drawn.count("stroke-dasharray") > 0


@pytest.mark.parametrize("width", WIDTHS)
def test_each_trip_carries_its_stream_and_each_window_its_name(width):
    said = words(compose_ladder(TWO_TRIPS, paper(), width))
    trips = ("5.10 trip: SOa,", "5.40 trip: SOb,", "4.90 relief opens: RL")
    for text in (*trips, "Duty stream a", "Standby stream b"):
        assert text in said, text
    assert "monitor" in said


@pytest.mark.parametrize("width", [390, 720])
def test_the_window_of_a_relief_valve_shows_where_its_crack_lies(width):
    said = words(compose_ladder(CRACK, paper(), width))
    assert "Crack of RL" in said
    assert "OPEN" in said
    assert "window of the crack 4.95 to 5.30 bar" in alt_text(CRACK)
    assert "EMPTY" in words(compose_ladder(EMPTY_CRACK, paper(), width))


def test_the_panel_of_each_window_shows_its_own_trip():
    canvas = compose_ladder(TWO_TRIPS, paper(), 390)
    said = words(canvas)
    assert "5.10 trip" in said
    assert "5.40 trip" in said
    assert said.count(" trip") > said.count(" trip:")


def test_the_same_tree_gives_the_same_bytes():
    for make in (screen, paper, one_colour):
        for width in (390, 1360):
            assert draw_strip(NESTED, make(), width) == draw_strip(NESTED, make(), width)


def test_levels_are_to_scale_for_the_main_way_only():
    high = replace(
        DUTY_AND_STANDBY,
        pressures=tuple(
            replace(p, now=30 * BAR) if p.tap == "T1b" else p for p in DUTY_AND_STANDBY.pressures
        ),
    )
    assert "30.00 T1b" in words(compose_strip(high, screen(), 1360))
    assert "30" not in [box.text for box in compose_strip(high, screen(), 1360).boxes]

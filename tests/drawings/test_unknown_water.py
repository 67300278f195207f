"""Beyond a shut-off that stands across the pipe nobody knows whether there is water."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.drawings import draw_strip, paper
from steadyhead.drawings.alt import alt_text
from steadyhead.reports.strip_water import unknown_beyond
from steadyhead.reports.strips import strip_picture
from tests.reports.stations import station, with_bypass
from tests.reports.stream_stations import MADE, duty_and_standby

WIDTHS = (1360.0, 336.0)


def states(picture):
    return {part.id: part.pipe_after for part in picture.parts}


def test_the_pipe_beyond_a_tripped_shut_off_is_not_known_and_the_pipe_before_it_full():
    picture = strip_picture(station(), tripped=frozenset({"SO"}))
    ids = [part.id for part in picture.parts]
    beyond = ids[ids.index("SO") :]
    assert picture.inlet_pipe == "full"
    assert {key for key, state in states(picture).items() if state == "unknown"} == set(beyond)
    assert "beyond SO not known" in alt_text(picture)
    for width in WIDTHS:
        drawn = draw_strip(picture, paper(), width)
        assert "water in it not known" in drawn
        assert 'stroke-dasharray="4 4"' in drawn


def test_the_pipes_of_a_station_that_is_not_shut_are_full():
    assert set(states(strip_picture(station())).values()) == {"full"}


def test_a_shut_bypass_is_not_known_beyond_its_valve_where_it_leaves_before_the_shut_off():
    picture = strip_picture(with_bypass(station()))
    wide = replace(picture.branches[0], after=picture.parts[0].id)
    shut = tuple(replace(part, tripped=True) if part.id == "SO" else part for part in picture.parts)
    parts, (bypass,) = unknown_beyond(shut, (wide,))
    assert bypass.inlet_pipe == "full"
    assert bypass.parts[-1].pipe_after == "unknown"
    for width in WIDTHS:
        draw_strip(replace(picture, parts=parts, branches=(bypass,)), paper(), width)


def test_a_bypass_that_lies_beyond_the_shut_off_is_not_known():
    picture = strip_picture(with_bypass(station()), tripped=frozenset({"SO"}))
    assert picture.branches[0].inlet_pipe == "unknown"
    for width in WIDTHS:
        draw_strip(picture, paper(), width)


def test_the_zone_stays_full_while_another_stream_still_feeds_it():
    about = duty_and_standby().station
    shut_offs = [part.id for part in about.parts() if part.part == "shut_off"]
    one = strip_picture(about, tripped=frozenset(shut_offs[:1]))
    every = strip_picture(about, tripped=frozenset(shut_offs))
    assert one.parts[-1].pipe_after == "full"
    assert every.parts[-1].pipe_after == "unknown"


@pytest.mark.parametrize("name", MADE)
def test_every_layout_is_drawn_with_all_shut_offs_shut(name):
    about = MADE[name]().station
    shut = frozenset(part.id for part in about.parts() if part.part == "shut_off")
    for width in WIDTHS:
        assert draw_strip(strip_picture(about, tripped=shut), paper(), width).startswith("<svg")

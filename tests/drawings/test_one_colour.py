"""What a drawing says must be readable in one colour: every state differs in form."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from typing import get_args

import pytest

from steadyhead.drawings import MARKS, draw_ladder, draw_mark, draw_strip, one_colour
from steadyhead.drawings.canvas import Layer
from steadyhead.drawings.hardware import draw_part
from steadyhead.drawings.ladder_facts import RUNG_PENS
from steadyhead.drawings.strip_facts import LIMIT_PENS
from steadyhead.drawings.symbols import pipe
from steadyhead.records.pictures import PartKind, StripPart
from tests.drawings.samples import DRAIN, INLET, REDUCER, SHUT_OFF, STRAINER, UPSTREAM, WORKED_EXAMPLE, tap

STATES = {
    "isolating valve": [replace(INLET, open_share=share) for share in (1.0, 0.4, 0.0, None)],
    "shut-off": [replace(SHUT_OFF, tripped=state) for state in (False, True, None)],
    "reducer": [replace(REDUCER, travel=share) for share in (1.0, 0.4, 0.0, None)],
    "pilot screw": [replace(REDUCER, screw_turns=turns) for turns in (6.0, 6.25, 6.5, None)],
    "strainer": [replace(STRAINER, fouling=factor) for factor in (1.0, 4.0, 16.0)],
    "drain": [replace(DRAIN, cock_open=state) for state in (True, False, None)],
    "vent": [StripPart("vent", "AV", cock_open=state) for state in (True, False, None)],
    "relief": [StripPart("relief", "RL", lifting=state) for state in (True, False, None)],
    "direct-acting": [replace(REDUCER, direct_acting=True, travel=share) for share in (1.0, 0.4, 0.0, None)],
    "tap": [tap("T1", is_open=state) for state in (True, False, None)],
}


def drawn(part: StripPart) -> str:
    layer = Layer(one_colour())
    draw_part(layer, part, 100.0, 100.0, 1.0, -1.0)
    return "".join(layer.marks)


@pytest.mark.parametrize("states", STATES.values(), ids=STATES)
def test_every_state_of_a_part_differs_in_form(states):
    assert len({drawn(part) for part in states}) == len(states)


def test_no_two_kinds_of_part_look_alike():
    kinds = get_args(PartKind)
    assert len({drawn(StripPart(kind, "X")) for kind in kinds}) == len(kinds)


@pytest.mark.parametrize("travel", [0.0, 0.4, 1.0, None])
def test_a_direct_acting_reducer_has_a_spring_and_no_pilot(travel):
    pilot, direct = (replace(REDUCER, travel=travel, direct_acting=own) for own in (False, True))
    assert drawn(pilot).count("<circle") > 0
    assert drawn(direct).count("<circle") == 0
    assert drawn(direct).count("<rect") == 1


def test_full_vented_and_unknown_pipes_differ_in_form():
    layers = []
    for state in ("full", "vented", "unknown"):
        layer = Layer(one_colour())
        pipe(layer, 0.0, 100.0, 50.0, state)
        layers.append("".join(layer.marks))
    assert len(set(layers)) == 3


def test_every_mark_differs_in_form():
    assert len({draw_mark(mark, "word", one_colour()) for mark in MARKS}) == len(MARKS)


def test_trip_alarm_limits_and_no_flow_differ_in_dash_or_weight():
    palette = one_colour()
    told_apart = ("fault", "normal", "trip", "alarm", "at no flow")
    pens = [palette.pen(LIMIT_PENS[kind]) for kind in told_apart]
    assert len(set(pens)) == len(told_apart)
    rungs = [
        palette.pen(RUNG_PENS[kind]) for kind in ("fault_limit", "trip", "alarm", "relief", "reset", "duty")
    ]
    assert len(set(rungs)) >= 5


def test_a_figure_that_was_read_differs_from_one_that_is_worked_out():
    worked = tuple(replace(tap, source="worked out") for tap in UPSTREAM.pressures)
    read = draw_strip(UPSTREAM, one_colour(), 1360)
    assert read.count("<circle") > draw_strip(replace(UPSTREAM, pressures=worked), one_colour(), 1360).count(
        "<circle"
    )


def test_a_peak_that_is_credited_differs_from_one_that_is_not():
    peak = WORKED_EXAMPLE.peaks[0]
    pictures = [replace(WORKED_EXAMPLE, peaks=(replace(peak, credited=state),)) for state in (True, False)]
    one, other = (draw_ladder(picture, one_colour(), 1360) for picture in pictures)
    assert one.replace("credited", "") != other.replace("NOT covered", "")
    assert "NOT covered" in other


def test_an_open_and_an_empty_window_differ_in_word_and_hatching():
    worst, independent = WORKED_EXAMPLE.stackings
    drawings = [
        draw_ladder(replace(WORKED_EXAMPLE, stackings=(each,)), one_colour(), 1360)
        for each in (worst, independent)
    ]
    assert "EMPTY" in drawings[0]
    assert "OPEN" in drawings[1]


@pytest.mark.parametrize("width", [390, 720, 1360])
def test_a_reading_shows_its_tolerance_where_the_scale_can(width):
    wide = tuple(replace(tap, tolerance=1e5) for tap in UPSTREAM.pressures)
    fine = tuple(replace(tap, tolerance=100.0) for tap in UPSTREAM.pressures)
    bars, none = (
        draw_strip(replace(UPSTREAM, pressures=taps), one_colour(), width).count("<path")
        for taps in (wide, fine)
    )
    assert bars - none == 3 * len(UPSTREAM.pressures)


def test_states_that_mean_different_things_never_share_a_drawing():
    every = [drawn(part) for states in STATES.values() for part in states[:3]]
    same = [(a, b) for a, b in combinations(range(len(every)), 2) if every[a] == every[b]]
    alike = {tuple(sorted((a, b))) for a, b in same}
    assert len(alike) <= 1  # a reducer at 0.4 stands in two lists

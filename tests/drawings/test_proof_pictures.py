"""Pictures of a run: rising runs, lock-up, flow test, ladder with as found and as left."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations
from typing import Any

import pytest

from steadyhead.drawings import one_colour, paper, screen
from steadyhead.drawings.flow_curves import compose_flow_test, draw_flow_test, flow_text, lost
from steadyhead.drawings.left_marks import LeftMark, LeftPicture, compose_left, draw_left, left_text
from steadyhead.drawings.lockup_curve import compose_lockup, draw_lockup, lockup_text, minutes
from steadyhead.drawings.trip_runs import compose_trip_runs, draw_trip_runs, trip_runs_text
from steadyhead.records.certificate import FlowPoint, FlowTest, LockupTest, Noted, TripProof, TripRun
from steadyhead.units import METRIC, US

BAR = 1e5


def noted(value: float, at: str = "12:28:00", quantity: str = "pressure") -> Noted:
    return Noted(value, quantity, "T3", "TG-07", at=f"2027-04-14T{at}+01:00")


def run(number: int, low: float, high: float, peak: float | None, inside: bool = True) -> TripRun:
    top = None if peak is None else noted(peak * BAR)
    closing = noted(5.6, quantity="time")
    return TripRun(number, "F1.SO", noted(low * BAR), noted(high * BAR), top, closing, None, None, None, None,
                   None, None, as_found=number == 1, inside=inside)  # fmt: skip


TRIP = TripProof(
    "SO", "T3", "shut-off", 4.95 * BAR, 5.25 * BAR, 5.1 * BAR, (5.0, 8.0),
    (run(1, 5.17, 5.22, 5.29), run(2, 5.07, 5.12, 5.19), run(3, 5.06, 5.11, 5.18)), None, None,
    "", "", "valid", "", "",
)  # fmt: skip
LOCKUP = LockupTest(
    "RV", (noted(4.18 * BAR, "13:40:00"), noted(4.20 * BAR, "13:47:30"), noted(4.22 * BAR, "13:55:00")),
    (noted(284.35, quantity="temperature"),), 0.0, 4000.0, 4.22 * BAR, (4.1 * BAR, 4.3 * BAR), "valid", "",
)  # fmt: skip
TABLE = [(0.4, 11.40, 11.40, 11.40, 4.20), (5, 11.33, 11.31, 11.30, 4.03), (22, 10.92, 10.56, 10.41, 3.90)]
FLOW = FlowTest(
    "", "T3",
    tuple(FlowPoint(n, True, q * 1e-3, {f"T{i}": p * BAR for i, p in enumerate(ps)}, "")
          for n, (q, *ps) in enumerate(TABLE, 1))
    + tuple(FlowPoint(9 - n, False, q * 1e-3, {"T3": ps[3] * BAR - 500.0}, "")
            for n, (q, *ps) in enumerate(TABLE, 1)),
    0.3 * BAR, 0.3 * BAR, 7.5e7, 3e7, "", "valid", "",
)  # fmt: skip
LEFT = LeftPicture(
    "Quernhollow Lane", 142.0,
    (("fault limit", 5.94 * BAR), ("trip", 5.1 * BAR), ("high alarm", 4.8 * BAR), ("duty", 4.0 * BAR)),
    (LeftMark("SO trip, rising", 5.2 * BAR, 5.11 * BAR), LeftMark("RV duty", None, 4.01 * BAR),
     LeftMark("RV lock-up, no flow", None, None, "refused")),
    ("setting of SO",),
)  # fmt: skip
PICTURES: dict[str, Any] = {
    "runs": (compose_trip_runs, draw_trip_runs, TRIP),
    "lockup": (compose_lockup, draw_lockup, LOCKUP),
    "flow": (compose_flow_test, draw_flow_test, FLOW),
    "left": (compose_left, draw_left, LEFT),
}


@pytest.mark.parametrize("name", PICTURES)
@pytest.mark.parametrize("width", [390.0, 720.0, 1360.0])
def test_no_lettering_lies_on_another(name, width):
    compose, _, shown = PICTURES[name]
    boxes = compose(shown, paper(), width).boxes
    met = [(one.text, other.text) for one, other in combinations(boxes, 2) if one.meets(other, -1.0)]
    assert met == []


@pytest.mark.parametrize("name", PICTURES)
def test_screen_and_paper_draw_the_same_from_the_same(name):
    _, draw, shown = PICTURES[name]
    for palette in (screen(embed=True), paper(), one_colour()):
        first, again = draw(shown, palette, 720.0), draw(shown, palette, 720.0)
        assert first == again
        assert 'role="img"' in first
        assert "<title>" in first
    assert "var(" not in draw(shown, paper(), 720.0)


def test_runs_stand_at_their_pressures_and_say_what_happened():
    told = trip_runs_text(TRIP)
    assert "run 1 held 5.17 bar, acted at 5.22 bar, peak 5.29 bar, shut in 5.6 s" in told
    drawn = draw_trip_runs(TRIP, paper(), 720.0)
    for words in ("run 2", "5.25 bar most", "4.95 bar least", "5.10 bar trip", "as found"):
        assert words in drawn


def test_a_run_outside_the_band_says_so_in_a_word():
    outside = replace(TRIP, runs=(run(1, 5.3, 5.35, None, inside=False),))
    assert "OUTSIDE" in draw_trip_runs(outside, one_colour(), 720.0)


def test_a_higher_pressure_stands_higher_on_the_page():
    rings = re.findall(r'<circle[^>]*cy="([\d.]+)" r="5"', draw_trip_runs(TRIP, paper(), 720.0))
    first, second, third = map(float, rings)
    assert first < second < third


def test_a_lock_up_test_runs_over_minutes_and_tells_flow_and_wall():
    assert minutes(LOCKUP) == [0.0, 7.5, 15.0]
    told = lockup_text(LOCKUP)
    assert told.startswith("Lock-up test of RV: 4.18 bar at 0 min")
    assert "Flow 0.00 L/s; wall 11.2 °C; rise 0.04 bar." in told


def test_a_test_with_flow_is_called_no_lock_up_test():
    refused = replace(LOCKUP, lockup=None, flow=3.5e-4, state="refused")
    assert "NO LOCK-UP TEST" in draw_lockup(refused, paper(), 720.0)
    assert lockup_text(refused).startswith("Not a lock-up test")


def test_a_flow_test_shows_both_ways_and_both_losses():
    drawn = draw_flow_test(FLOW, paper(), 720.0)
    for words in ("T3 rising", "T3 falling", "T0 to T1", "T1 to T2", "bar lost"):
        assert words in drawn
    assert lost(FLOW.points, "T0", "T1")[-1] == pytest.approx((0.022, 0.36 * BAR))
    assert "22.00 L/s rising 3.90 bar" in flow_text(FLOW)


def test_as_found_is_hollow_as_left_is_full_and_what_is_not_known_is_said():
    drawn = draw_left(LEFT, one_colour(), 720.0)
    assert drawn.count("<circle") == 3
    told = left_text(LEFT)
    assert "SO trip, rising: as found 5.20 bar, as left 5.11 bar" in told
    assert "RV lock-up, no flow: as found not known, as left not known" in told
    assert "Not known as left: RV lock-up, no flow (refused)." in told
    assert "Touched between: setting of SO." in told


@pytest.mark.parametrize("units", [METRIC, US])
def test_figures_are_in_the_units_of_the_reader(units):
    sign = units.heading("pressure")
    assert sign in draw_trip_runs(TRIP, paper(), 720.0, units)
    assert sign in draw_flow_test(FLOW, paper(), 720.0, units)
    assert sign in draw_left(replace(LEFT, units=units), paper(), 720.0)


def test_a_run_without_any_reading_is_drawn_all_the_same():
    assert "<svg" in draw_trip_runs(replace(TRIP, runs=(), low=None, high=None), paper(), 720.0)
    assert "<svg" in draw_lockup(replace(LOCKUP, points=(), walls=(), rise=None, flow=None), paper(), 720.0)
    assert "<svg" in draw_flow_test(replace(FLOW, points=()), paper(), 720.0)
    assert "<svg" in draw_left(replace(LEFT, rungs=(), marks=(), touched=()), paper(), 720.0)

"""Defects of logger data: planted ones are found, ordinary life is left alone, values stay."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from steadyhead.watch.defects import long
from steadyhead.watch.defects.defaults import SPIKE_PRESSURE
from steadyhead.watch.defects.episode import BIT, JUDGED, Code, standing
from steadyhead.watch.defects.judging import Judged, flags, judge
from steadyhead.watch.defects.series import series
from tests.logger.defects import DEFECTS, by_exception, gap
from tests.logger.handing import channel, channels, context, frame
from tests.logger.happening import EVENTS, surge
from tests.logger.measuring import Seen, measured
from tests.logger.truth import BAR, DAY, HOUR, MONDAY, Place, place, water

SEED = 20
QUIET = Place(4.0e5, 0.15e5, 0.02e5, 0.01, 8.0e5, 0.4e5, 0.3e5, 0.012, 0.3, 120.0, 0.05)
"""A station on which nothing is drawn: outlet 4 bar, inlet 8 bar, 43 m³/h."""


def record(number: int, event: str = "", days: float = 12.0, step: float = 600.0) -> Seen:
    rng = np.random.default_rng([SEED, number])
    life = water(rng, QUIET, MONDAY, days, step)
    if event:
        EVENTS[event](rng, life)
    return measured(rng, life)


def judged(seen: Seen) -> Judged:
    return judge(channels(seen), context(seen))


def codes(seen: Seen) -> list[str]:
    return [str(e.code) for e in judged(seen).episodes]


@pytest.mark.parametrize("kind", [*DEFECTS])
def test_a_planted_defect_is_found_and_nothing_else_is_said(kind):
    seen = record(sorted(DEFECTS).index(kind))
    DEFECTS[kind](np.random.default_rng([SEED, len(kind)]), seen)
    said = judged(seen).episodes
    assert {str(e.code) for e in said} == {h.kind for h in seen.happened}
    for true in seen.happened:
        sizes = [e.magnitude for e in said if e.code == true.kind and e.magnitude is not None]
        if true.magnitude is not None:
            assert min(abs(size / true.magnitude - 1.0) for size in sizes) < 0.25


@pytest.mark.parametrize("event", [*EVENTS])
def test_a_true_event_of_the_station_is_no_defect_of_its_data(event):
    assert codes(record(50 + sorted(EVENTS).index(event), event)) == []


def test_what_both_pressures_see_is_a_surge_and_what_one_sees_is_a_spike():
    seen = record(70)
    i = 1500
    seen.traces["in"].v[i] += 2.0 * BAR
    alone = [e for e in judged(seen).episodes if e.code is Code.SPIKE]
    assert [e.channels for e in alone] == [("in",)]
    assert alone[0].start.timestamp() == seen.traces["in"].t[i]
    assert alone[0].magnitude == pytest.approx(2.0 * BAR, abs=0.1 * BAR)
    seen.traces["out"].v[i] += 0.3 * BAR
    assert codes(seen) == []


def test_a_movement_too_small_to_go_with_a_spike_is_no_witness():
    seen = record(99, step=60.0)
    i = 700
    seen.traces["out"].v[i] += 2.5 * BAR
    seen.traces["in"].v[i] += 0.13 * BAR
    alone = [e for e in judged(seen).episodes if e.code is Code.SPIKE]
    assert [e.channels for e in alone] == [("out",)]
    seen.traces["in"].v[i] += 0.3 * BAR
    assert codes(seen) == []


def drawn(times: float, hours: float, *, shown: bool) -> Seen:
    """Return a record with a small flow, two draws of each day, and once a long draw so many times as large.

    shown: the pressures answer the long draw; else the flow's record alone changes.
    """
    seen = record(79, days=6.0, step=60.0)
    rng = np.random.default_rng(5)
    t = seen.traces["flow"].t
    hour = (t % DAY) / HOUR
    usual = 3e-4 * (1.0 + 0.02 * rng.standard_normal(t.size))
    usual[((hour > 6.0) & (hour < 7.5)) | ((hour > 18.0) & (hour < 20.0))] *= 12.0
    long_draw = (t > t[0] + 8.6 * HOUR) & (t < t[0] + (8.6 + hours) * HOUR)
    flow = np.where(long_draw, times * 3e-4 * (1.0 + 0.02 * rng.standard_normal(t.size)), usual)
    true = flow if shown else usual
    seen.traces = {name: seen.traces[name] for name in ("in", "out", "flow")}
    seen.traces["flow"].v = flow
    for name, level, droop in (("in", 8.0, 2e6), ("out", 4.0, 8e6)):
        seen.traces[name].v = level * BAR - droop * true + 700.0 * rng.standard_normal(t.size)
    seen.visits, seen.flow_about, seen.lockup, seen.inlet_about = [], times * 3e-4, 4.0 * BAR, 8.0 * BAR
    return seen


def test_a_long_draw_that_the_pressures_show_is_no_wrong_factor():
    assert codes(drawn(10.0, 20.0, shown=True)) == []


def test_a_short_part_with_a_factor_that_no_pressure_shows_is_told_itself_not_the_rest():
    seen = drawn(10.0, 20.0, shown=False)
    (told,) = judged(seen).episodes
    assert told.code is Code.PULSES
    assert told.magnitude == 10.0
    assert told.start.timestamp() == pytest.approx(seen.traces["flow"].t[0] + 8.6 * HOUR, abs=HOUR)
    assert told.end.timestamp() == pytest.approx(seen.traces["flow"].t[0] + 28.6 * HOUR, abs=HOUR)


def test_a_spike_smaller_than_the_limit_is_left_alone():
    seen = record(71)
    seen.traces["out"].v[900] += 0.5 * SPIKE_PRESSURE.si
    assert codes(seen) == []


def test_reports_by_exception_hold_no_gap_unless_all_are_silent_for_long():
    seen = record(72)
    by_exception(np.random.default_rng(1), seen)
    assert codes(seen) == []
    start = seen.traces["in"].t[0] + 5.0 * DAY
    for trace in seen.traces.values():
        keep = (trace.t < start) | (trace.t > start + 1.5 * DAY)
        trace.t, trace.v = trace.t[keep], trace.v[keep]
    assert codes(seen) == ["gap"]


def test_the_hour_that_the_clocks_leave_out_is_no_gap():
    seen = record(73)
    change = 1_806_195_600.0  # 28 March 2027, 01:00 UTC
    for trace in seen.traces.values():
        trace.t += change - 5.0 * DAY - MONDAY
        trace.t[trace.t >= change] += HOUR
    seen.visits, seen.zone = [], "Europe/Vienna"
    assert codes(seen) == ["clock change hour"]
    seen.zone = "UTC"
    assert codes(seen) == ["clock change hour"]  # set by somebody: the days behind it run an hour later


@pytest.mark.parametrize("rows", [700_000, 500])
def test_the_hour_that_the_clocks_put_back_stands_twice(rows, monkeypatch):
    monkeypatch.setattr(long, "ROWS", rows)
    seen = record(76)
    change = 1_824_944_400.0  # 31 October 2027, 01:00 UTC
    for trace in seen.traces.values():
        trace.t += change - 5.0 * DAY - MONDAY
        trace.t[trace.t >= change] -= HOUR
    seen.visits, seen.zone = [], "Europe/Vienna"
    assert codes(seen) == ["clock change hour"]


def test_a_clock_that_a_visit_found_wrong_is_not_laid_on_a_flow_that_keeps_time():
    seen = record(77, step=300.0)
    for name, trace in seen.traces.items():
        trace.t += 2400.0 * (name != "flow")
    for visit in seen.visits:
        visit["clock"] = 2400.0
    (told,) = judged(seen).episodes
    assert told.code is Code.CLOCK_OFFSET
    assert set(told.channels) == set(seen.traces) - {"flow"}
    assert told.magnitude == 2400.0


def test_the_frames_that_were_judged_are_as_they_were():
    seen = record(74)
    for kind in ("unit confusion", "channel swap", "stuck"):
        DEFECTS[kind](np.random.default_rng(3), seen)
    frames = channels(seen)
    before = [f.clone() for _, f in frames]
    judge(frames, context(seen))
    assert all(f.equals(b) for (_, f), b in zip(frames, before, strict=True))


def test_each_sample_says_whether_it_is_believed_doubted_or_refused():
    seen = record(75)
    seen.traces["in"].v[700] += 2.0 * BAR
    rng = np.random.default_rng(5)
    gap(rng, seen)
    seen.traces["battery"] = replace(seen.traces["out"], quantity="battery")
    result = judged(seen)
    one = series(channel("in", seen.traces["in"], seen.flow_unit), frame(seen.traces["in"]))
    bits = flags(one, result)
    assert bits[699] == JUDGED
    assert [standing(int(b)) for b in bits[699:702]] == ["believed", "refused", "believed"]
    assert bits[700] == JUDGED | BIT[Code.SPIKE]
    battery = series(channel("battery", seen.traces["battery"], ""), frame(seen.traces["battery"]))
    assert {standing(int(b)) for b in flags(battery, result)} == {"unseen"}
    assert standing(JUDGED | BIT[Code.QUANTISATION]) == "doubted"


def test_without_a_visit_neither_offset_nor_drift_nor_absolute_is_called():
    for number, kind in enumerate(("datum offset", "offset drift", "gauge or absolute")):
        seen = record(80 + number)
        DEFECTS[kind](np.random.default_rng([SEED, number]), seen)
        seen.visits = []
        assert codes(seen) == []


def test_an_offset_and_stairs_that_begin_within_the_record_are_told_with_their_time():
    seen = record(95)
    one, two = seen.traces["in"], seen.traces["out"]
    start = one.t[0] + 5.3 * DAY
    one.v[one.t >= start] += 1.013 * BAR
    coarse = (two.t >= start) & (two.t < start + 3.0 * DAY)
    two.v[coarse] = np.round(two.v[coarse] / (0.05 * BAR)) * 0.05 * BAR
    absolute, stairs = sorted(judged(seen).episodes, key=lambda e: e.channels)
    assert (absolute.code, stairs.code) == (Code.ABSOLUTE, Code.QUANTISATION)
    assert absolute.start.timestamp() == pytest.approx(start, abs=seen.step)
    assert absolute.magnitude == pytest.approx(1.013 * BAR, rel=0.1)
    assert stairs.start.timestamp() == pytest.approx(start, abs=2.0 * HOUR)
    assert stairs.end.timestamp() == pytest.approx(start + 3.0 * DAY, abs=2.0 * HOUR)


def test_a_surge_in_a_fast_record_is_no_spike():
    rng = np.random.default_rng([SEED, 90])
    life = water(rng, place(rng), MONDAY, 1.0, 1.0)
    surge(rng, life)
    assert "spike" not in codes(measured(rng, life))


def test_a_record_too_short_to_judge_says_nothing():
    seen = record(91, days=0.02)
    seen.visits = []
    assert codes(seen) == []
    for trace in seen.traces.values():
        trace.t, trace.v = trace.t[:0], trace.v[:0]
    assert judged(seen).judged == ()


@pytest.mark.parametrize("kind", ["spike", "stuck", "clipping", "quantisation", "gap", "channel swap"])
def test_a_record_judged_in_portions_says_what_the_whole_says(kind, monkeypatch):
    seen = record(sorted(DEFECTS).index(kind))
    DEFECTS[kind](np.random.default_rng([SEED, len(kind)]), seen)
    whole = judged(seen)
    monkeypatch.setattr(long, "ROWS", 500)
    parts = judged(seen)
    assert len(list(long.portions(channels(seen)))) >= 4
    said = [[(e.code, e.channels, e.start, e.end, e.magnitude) for e in j.episodes] for j in (whole, parts)]
    assert said[0] == said[1]
    assert parts.judged == whole.judged

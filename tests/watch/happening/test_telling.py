"""Events of a station: planted ones are told with size and time, ordinary life is left alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from steadyhead.watch.defects import long
from steadyhead.watch.defects.episode import Code, Episode, moment
from steadyhead.watch.defects.judging import Judged, judge
from steadyhead.watch.happening import Event, Happening, Told, tell
from tests.campaigns.logger_events import PLANTED
from tests.logger.defects import by_exception
from tests.logger.habits import HABITS, live
from tests.logger.handing import channels, context
from tests.logger.happening import EVENTS, surge
from tests.logger.measuring import Seen, Trace, measured
from tests.logger.truth import BAR, DAY, HOUR, MONDAY, Place, Water, water

SEED = 31
QUIET = Place(4.0e5, 0.15e5, 0.02e5, 0.01, 8.0e5, 0.4e5, 0.3e5, 0.012, 0.3, 120.0, 0.05)
"""A station on which nothing is drawn: outlet 4 bar, inlet 8 bar, 43 m³/h."""


NO_GAUGE = (Event.PARTLY_SHUT, Event.SHUT_OFF)
"""Not seen without a gauge between the valves."""


def life(number: int, days: float = 12.0, step: float = 300.0) -> tuple[np.random.Generator, Water]:
    rng = np.random.default_rng([SEED, number])
    return rng, water(rng, QUIET, MONDAY, days, step)


def with_switch(rng: np.random.Generator, now: Water) -> Seen:
    """Return what is stored, a switch of the shut-off and the travel among it."""
    seen = measured(rng, now)
    seen.traces["closed"] = Trace("shut-off closed", "spot", now.t.copy(), now.closed.copy(), 1.0, "step")
    travel = np.round(np.clip(now.travel, 0.0, 1.0), 3)
    seen.traces["travel"] = Trace("travel", "spot", now.t.copy(), travel, 0.001)
    return seen


def told(seen: Seen) -> Told:
    return tell(channels(seen), context(seen))


def said(seen: Seen) -> tuple[Happening, ...]:
    return told(seen).happenings


@pytest.mark.parametrize("kind", [*PLANTED])
def test_a_planted_event_is_told_with_time_and_size_and_nothing_else_is_said(kind):
    rng, now = life(10 * sorted(PLANTED).index(kind))
    EVENTS[kind](rng, now)
    seen = measured(rng, now)
    (true,) = seen.happened
    got = said(seen)
    assert {h.code for h in got} - {Event.TRIPPED_AGAIN} == {PLANTED[kind]}
    one = next(h for h in got if h.code is PLANTED[kind])
    start, end = one.start.timestamp(), one.end.timestamp()
    assert end >= true.start - 300.0
    assert start <= true.end + 300.0
    assert one.magnitude == pytest.approx(true.magnitude, rel=0.35)
    assert one.words
    assert one.evidence


@pytest.mark.parametrize("name", [*HABITS])
def test_a_habit_of_the_zone_is_no_event(name):
    rng, now = life(200 + sorted(HABITS).index(name))
    live(name, rng, now)
    assert said(measured(rng, now)) == ()


@pytest.mark.parametrize("name", ["short draw", "supply change", "still nights"])
def test_a_hydrant_a_switched_supply_and_still_nights_are_no_events(name):
    rng, now = life(300 + len(name))
    EVENTS[name](rng, now)
    assert said(measured(rng, now)) == ()


def plant_trip(now: Water, again: bool = False) -> tuple[float, float]:
    """Plant a trip on day five at noon: rise of 15 min, closed for two hours (reset and closed again)."""
    start = MONDAY + 5.5 * DAY
    end = start + 900.0 + 2.0 * HOUR
    rise = (now.t >= start) & (now.t < start + 900.0)
    shut = (now.t >= start + 900.0) & (now.t < end)
    share = (now.t - start) / 900.0
    now.outlet[rise] += (share * (5.2 * BAR - now.outlet))[rise]
    now.travel[rise] += 0.4 * share[rise]
    now.outlet[shut] = 0.5 * BAR + 4.6 * BAR * np.exp(-(now.t[shut] - start - 900.0) / 600.0)
    now.flow[shut], now.closed[shut] = 0.0, 1.0
    if again:
        once = (now.t >= start + 1.0 * HOUR) & (now.t < start + 1.2 * HOUR)
        now.closed[once], now.flow[once], now.outlet[once] = 0.0, 3.0 * QUIET.mean_flow, 5.5 * BAR
    return start, end


def test_a_trip_is_told_from_its_first_sign_to_the_reset_and_its_cause_by_the_table_alone():
    rng, now = life(1, step=60.0)
    start, end = plant_trip(now)
    (one,) = said(with_switch(rng, now))
    assert one.code is Event.TRIP
    assert one.start.timestamp() == pytest.approx(start, abs=180.0)
    assert one.end.timestamp() == pytest.approx(end, abs=60.0)
    assert one.magnitude == pytest.approx(5.2 * BAR, rel=0.03)
    assert "The reducer opened while the outlet rose." in one.words
    assert "likely" not in one.words
    assert [when.timestamp() for when in one.times] == sorted(when.timestamp() for when in one.times)
    assert "switch of the shut-off" in one.evidence


def test_a_closing_after_the_reset_is_told_by_itself_and_within_the_trip():
    rng, now = life(2, step=60.0)
    _, end = plant_trip(now, again=True)
    first, second = said(with_switch(rng, now))
    assert (first.code, second.code) == (Event.TRIP, Event.TRIPPED_AGAIN)
    assert first.end == second.end
    assert first.end.timestamp() == pytest.approx(end, abs=60.0)
    assert second.magnitude == pytest.approx(5.5 * BAR, rel=0.02)


def test_a_switch_that_says_closed_while_water_flows_is_not_believed():
    rng, now = life(3)
    now.closed[1000:1100] = 1.0
    assert said(with_switch(rng, now)) == ()


def test_a_zone_that_drains_with_the_supply_lost_has_not_tripped():
    rng, now = life(4)
    at = slice(1500, 1560)
    now.inlet[at], now.outlet[at], now.flow[at] = 0.4 * BAR, 0.3 * BAR, 0.0
    now.travel[at] = 1.0
    seen = with_switch(rng, now)
    del seen.traces["closed"]
    assert [h.code for h in said(seen)] == [Event.SUPPLY_LOSS]


def test_what_the_defects_refuse_tells_nothing():
    rng, now = life(5)
    surge(rng, now)
    seen = measured(rng, now)
    assert [h.code for h in said(seen)] == [Event.SURGE]
    out = seen.traces["out"]
    out.v[:] = measured(rng, life(5)[1]).traces["out"].v
    frames, known = channels(seen), context(seen)
    judged = judge(frames, known)
    assert [str(e.code) for e in judged.episodes] == ["spike"]
    assert tell(frames, known, judged).happenings == ()


def test_a_factor_that_a_defect_explains_is_no_change_of_demand():
    rng, now = life(6)
    seen = with_switch(rng, now)
    flow = seen.traces["flow"]
    flow.v[flow.t >= flow.t[0] + 6.3 * DAY] *= 10.0
    frames, known = channels(seen), context(seen)
    assert [str(e.code) for e in judge(frames, known).episodes] == ["pulse scaling"]
    assert tell(frames, known).happenings == ()


def test_a_drifting_sensor_moves_no_setting():
    rng, now = life(7)
    seen = measured(rng, now)
    out = seen.traces["out"]
    out.v += 0.6 * BAR * np.clip((out.t - out.t[0] - 4.0 * DAY) / (8.0 * DAY), 0.0, 1.0)
    for visit in seen.visits:
        visit["outlet"] = visit["outlet"] or 3.9 * BAR
    assert said(seen) == ()


@pytest.mark.parametrize(
    ("step", "words"), [(0.5, None), (5.0, "in part"), (60.0, "Cannot see"), (900.0, "Cannot see")]
)
def test_what_the_sampling_cannot_show_of_hunting_is_said(step, words):
    rng, now = life(8, days=0.5, step=step)
    got = [n for n in told(measured(rng, now)).not_seen if n.code is Event.HUNTING]
    assert [n.code for n in got] == ([Event.HUNTING] if words else [])
    assert all(words in n.words for n in got)


def test_what_is_not_recorded_or_cannot_be_trusted_is_said_to_be_unseen():
    rng, now = life(15)
    seen = measured(rng, now)
    assert {n.code for n in told(seen).not_seen} == {Event.SURGE, Event.HUNTING, *NO_GAUGE}
    del seen.traces["flow"]
    assert {Event.BURST, Event.CREEP, Event.STRAINER, Event.DEMAND} < {n.code for n in told(seen).not_seen}
    frames, known = channels(seen), context(seen)
    first = seen.traces["out"].t[0]
    drift = Episode(Code.DRIFT, moment(first), moment(first + 12.0 * DAY), ("out",), 0.5 * BAR, "Pa", "")
    got = tell(frames, known, Judged((drift,), ("in", "out"))).not_seen
    assert any(n.code is Event.SETTING and "sensor" in n.words for n in got)


def test_a_burst_reported_by_exception_is_told_and_surges_and_hunting_are_said_to_be_unseen():
    rng, now = life(16)
    EVENTS["burst"](rng, now)
    seen = measured(rng, now)
    by_exception(rng, seen)
    got = told(seen)
    assert [h.code for h in got.happenings] == [Event.BURST]
    assert {n.code for n in got.not_seen if "by exception" in n.words} == {Event.SURGE, Event.HUNTING}


def test_hunting_that_is_sampled_fast_has_a_period_and_a_band_of_flow():
    rng, now = life(9, days=3.0, step=1.0)
    at = (now.flow > 0.6 * QUIET.mean_flow) & (now.flow < 0.9 * QUIET.mean_flow)
    now.outlet[at] += 0.1 * BAR * np.sin(2.0 * np.pi * now.t[at] / 11.0)
    (one,) = said(measured(rng, now))
    assert one.code is Event.HUNTING
    assert "period about 11 s" in one.words
    assert one.confidence == "certain"
    assert one.magnitude == pytest.approx(0.2 * BAR, rel=0.15)


def test_a_gauge_before_the_strainer_tells_its_own_growth():
    rng, now = life(11)
    share = np.clip((now.t - MONDAY - 4.0 * DAY) / (8.0 * DAY), 0.0, 1.0)
    before = now.inlet.copy()
    now.inlet -= 0.1 * BAR * (1.0 + 3.0 * share) * (now.flow / QUIET.mean_flow) ** 2
    seen = measured(rng, now)
    seen.traces["before"] = replace(seen.traces["in"], t=now.t.copy(), v=np.round(before, -2))
    frames = [
        (replace(c, place={"before": "T0", "in": "T1"}.get(c.id, c.place)), f) for c, f in channels(seen)
    ]
    (one,) = tell(frames, context(seen)).happenings
    assert one.code is Event.STRAINER
    assert one.confidence == "certain"
    assert "before" in one.channels
    assert one.magnitude == pytest.approx(4.0, rel=0.15)


def test_nights_above_the_known_lock_up_are_told_though_no_night_is_without():
    rng, now = life(12)
    hour = (now.t % DAY) / HOUR
    now.outlet += 0.6 * BAR * np.exp(-(((hour - 3.0) / 1.5) ** 2))
    got = said(measured(rng, now))
    assert [h.code for h in got] == [Event.CREEP]
    assert "lock-up on record" in got[0].words


@pytest.mark.parametrize("kind", ["trip", "surge", "night creep", "burst"])
def test_a_record_told_in_portions_says_what_the_whole_says(kind, monkeypatch):
    rng, now = life(400 + len(kind), step=60.0)
    EVENTS[kind](rng, now)
    seen = with_switch(rng, now)
    whole = said(seen)
    assert whole
    monkeypatch.setattr(long, "ROWS", 4000)
    assert long.is_long(channels(seen))
    parts = said(seen)
    assert [(h.code, h.start, h.end) for h in parts] == [(h.code, h.start, h.end) for h in whole]


def test_too_little_to_tell_from_tells_nothing():
    rng, now = life(13, days=0.03)
    seen = measured(rng, now)
    seen.visits = []
    assert said(seen) == ()
    for trace in seen.traces.values():
        trace.t, trace.v = trace.t[:0], trace.v[:0]
    assert said(seen) == ()
    assert said(replace(seen, traces={})) == ()


@pytest.mark.parametrize("apart", [0.0, 40.0, -40.0, 90.0])
@pytest.mark.parametrize("which", ["out", "flow"])
def test_a_quick_trip_is_told_where_the_clocks_of_two_loggers_stand_apart(apart, which):
    rng, now = life(4, days=8.0, step=10.0)
    start = MONDAY + 5.5 * DAY
    end = start + 30.0 + 2.0 * HOUR
    rise = (now.t >= start) & (now.t < start + 30.0)
    shut = (now.t >= start + 30.0) & (now.t < end)
    now.outlet[rise] += ((now.t - start) / 30.0 * (5.4 * BAR - now.outlet))[rise]
    now.outlet[shut] = 0.5 * BAR + 4.6 * BAR * np.exp(-(now.t[shut] - start - 30.0) / 600.0)
    now.flow[shut] = 0.0
    seen = measured(rng, now)
    seen.traces.pop("closed", None)
    seen.traces[which].t += apart
    (one,) = [each for each in said(seen) if each.code is Event.TRIP]
    assert one.start.timestamp() == pytest.approx(start, abs=150.0)
    assert one.magnitude == pytest.approx(5.1 * BAR, abs=0.4 * BAR)
    assert one.confidence == "certain"

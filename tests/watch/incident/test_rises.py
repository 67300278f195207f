"""A rise that stays is no spike, what lies between two samples is not claimed; which event is meant."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from steadyhead.watch.defects.judging import judge
from steadyhead.watch.happening import Event, tell
from steadyhead.watch.incident import Incident, incident
from steadyhead.watch.incident.incident import Clause, Reading
from steadyhead.watch.incident.telling import said_of
from tests.logger.handing import channels, context
from tests.logger.measuring import Seen
from tests.logger.truth import BAR, DAY, HOUR, MONDAY, Water
from tests.services.logs.tripped import at
from tests.watch.happening.test_telling import QUIET, life, said, with_switch
from tests.watch.incident.test_incident import shut, told


def test_one_reading_alone_is_not_said_to_be_told_apart_from_others():
    def reading(name: str) -> Reading:
        return Reading(name, "possible", (Clause("a sign", True, "seen"),), "look")

    one, two = reading("creep"), reading("surge")
    assert said_of([one]) == "Signs are seen of one alone: creep (possible; not proved)."
    assert said_of([one, two]) == "Its signs do not tell these apart: creep, surge."


SAMPLINGS = [(1.0, 2.5), (10.0, 4.0), (60.0, 8.0), (300.0, 12.0)]


def noon(days: float) -> float:
    return MONDAY + int(0.6 * days) * DAY + 12.3 * HOUR


def failed_open(now: Water, start: float, size: float = 0.9) -> None:
    """Let outlet and travel rise within 20 s, and the shut-off close 40 s after the first sign."""
    share = np.clip((now.t - start) / 20.0, 0.0, 1.0)
    rise = (now.t >= start) & (now.t < start + 40.0)
    now.outlet[rise] += (size * BAR * share)[rise]
    now.travel[rise] = np.clip(now.travel + 0.4 * share, 0.0, 1.0)[rise]
    shut(now, start + 40.0, start + 2.0 * HOUR)


def spike_of(one: Incident | None) -> tuple[str, str, Clause]:
    assert one is not None
    behind = next(r for r in one.readings if r.name == "surge from downstream")
    (sign,) = [c for c in behind.clauses if c.sign == "outlet spikes"]
    opened = next(r for r in one.readings if r.name == "reducer failed open")
    return opened.sure, behind.sure, sign


@pytest.mark.parametrize(("step", "days"), SAMPLINGS)
@pytest.mark.parametrize("size", [0.3, 0.8, 1.5])
def test_a_step_up_that_stays_is_a_setting_at_any_sampling_and_no_defect(step, days, size):
    rng, now = life(31, days=days, step=step)
    now.outlet[now.t >= noon(days)] += size * BAR
    seen = with_switch(rng, now)
    assert judge(channels(seen), context(seen)).episodes == ()
    assert [h.code for h in said(seen)] == [Event.SETTING]


@pytest.mark.parametrize(("step", "days"), SAMPLINGS)
def test_a_reducer_that_fails_open_within_a_minute_is_no_surge_from_downstream(step, days):
    rng, now = life(31, days=days, step=step)
    failed_open(now, noon(days) + 0.2 * step)
    one = told(with_switch(rng, now), noon(days))
    opened, behind, sign = spike_of(one)
    assert one is not None
    assert one.readings[0].name == "reducer failed open"
    if step <= 10.0:
        assert (opened, behind) == ("likely", "ruled out")
        assert "it stays up for" in sign.words
    else:  # which of them it was lies between two samples
        assert sign.is_seen is None
        assert (opened, behind) in {("possible", "possible"), ("possible", "ruled out")}
        assert "between samples" in sign.words


def test_a_spike_that_goes_back_before_the_closing_is_one():
    rng, now = life(31, days=2.0, step=1.0)
    start = noon(2.0)
    wave = (now.t >= start) & (now.t < start + 8.0)
    now.outlet[wave] += (1.5 * BAR * np.exp(-np.clip(now.t - start, 0.0, 60.0) / 4.0))[wave]
    shut(now, start + 8.0, start + 2.0 * HOUR)
    _, behind, sign = spike_of(told(with_switch(rng, now), start))
    assert sign.is_seen is True
    assert behind != "ruled out"


def test_the_inlet_that_stands_higher_once_the_flow_has_stopped_is_no_leap():
    rng, now = life(31, days=14.0, step=900.0)
    start = noon(14.0)
    rise = (now.t >= start) & (now.t < start + 900.0)
    now.outlet[rise] += 0.9 * BAR
    shut(now, start + 900.0, start + 3.0 * HOUR)
    stopped = (now.t >= start + 900.0) & (now.t < start + 3.0 * HOUR)
    now.inlet[stopped] += 1.2 * BAR
    one = told(with_switch(rng, now), start)
    assert one is not None
    assert {r.name: r.sure for r in one.readings}["reducer failed open"] != "ruled out"
    assert {r.name: r.sure for r in one.readings}["surge from upstream"] == "ruled out"


def hunts_and_trips() -> tuple[Seen, float]:
    rng, now = life(9, days=3.0, step=1.0)
    band = (now.flow > 0.6 * QUIET.mean_flow) & (now.flow < 0.9 * QUIET.mean_flow)
    now.outlet[band] += 0.1 * BAR * np.sin(2.0 * np.pi * now.t[band] / 12.0)
    start = MONDAY + 1.5 * DAY
    failed_open(now, start)
    return with_switch(rng, now), start


@pytest.fixture(scope="module")
def hunting():
    seen, start = hunts_and_trips()
    given, known = channels(seen), context(seen)
    judged = judge(given, known)
    return given, known, tell(given, known, judged), judged, start


@pytest.mark.parametrize("off", [-20.0, 0.0, 40.0, 2.1])
def test_at_a_trip_within_days_of_hunting_the_trip_is_told(hunting, off):
    given, known, all_told, judged, start = hunting
    when = at(start) + (timedelta(seconds=off * 60.0) if off < 3.0 else timedelta(seconds=off))
    swings = next(h for h in all_told.happenings if h.code is Event.HUNTING)
    assert swings.start < when < swings.end
    one = incident(given, known, when, all_told, judged)
    assert one is not None
    assert one.event.code is Event.TRIP


def test_hours_from_the_trip_the_hunting_is_told(hunting):
    given, known, all_told, judged, start = hunting
    one = incident(given, known, at(start - 5.0 * HOUR), all_told, judged)
    assert one is not None
    assert one.event.code is Event.HUNTING


@pytest.mark.parametrize("step", [60.0, 300.0, 900.0])
def test_an_outlet_raised_for_a_while_is_held_against_the_table(step):
    rng, now = life(32, days=12.0, step=step)
    start = MONDAY + 8.0 * DAY + 10.2 * HOUR
    at = (now.t >= start) & (now.t < start + 3.0 * HOUR)
    now.outlet += 0.6 * BAR * at
    one = told(with_switch(rng, now), start)
    assert one is not None
    assert one.event.code is Event.RAISED
    assert one.readings[0].name == "reducer failed open"
    sure = {r.name: r.sure for r in one.readings}
    assert sure["backfeed from another zone"] == "ruled out"
    assert sure["water that warms in a closed zone"] == "ruled out"
    assert sure["surge from downstream"] == "ruled out"
    assert "over days" not in one.words


def test_a_rise_between_two_slow_samples_is_not_said_to_be_slow():
    rng, now = life(31, days=14.0, step=900.0)
    start = noon(14.0) + 180.0
    rise = (now.t >= start) & (now.t < start + 900.0)
    now.outlet[rise] += 0.9 * BAR
    shut(now, start + 900.0, start + 3.0 * HOUR)
    one = told(with_switch(rng, now), start)
    assert one is not None
    (creep,) = [r for r in one.readings if r.name == "creep through the reducer at night"]
    (slow,) = [c for c in creep.clauses if c.sign == "outlet rises slowly"]
    assert slow.is_seen is not True

"""A closed zone, another source, and the shut-off's resistance: told where they are, and only there."""

from __future__ import annotations

import numpy as np
import pytest

from steadyhead.watch.defects import long
from steadyhead.watch.happening import Event
from tests.logger.handing import channels
from tests.logger.happening import EVENTS
from tests.logger.measuring import Seen, measured
from tests.logger.truth import BAR, DAY, HOUR, MONDAY, Happened
from tests.watch.happening.test_telling import life, said, told, with_switch

KINDS = {
    "thermal rise": Event.THERMAL,
    "backfeed": Event.BACKFEED,
    "shut off left partly shut": Event.PARTLY_SHUT,
    "shut off sinks": Event.SHUT_OFF,
}


@pytest.mark.parametrize("kind", [*KINDS])
def test_it_is_told_with_time_and_size_and_nothing_else_is_said(kind):
    rng, now = life(500)
    EVENTS[kind](rng, now)
    seen = measured(rng, now)
    (true,) = seen.happened
    (one,) = said(seen)
    assert one.code is KINDS[kind]
    assert one.magnitude == pytest.approx(true.magnitude, rel=0.35)
    assert overlap(true, one.start.timestamp(), one.end.timestamp()) > 0.6
    assert "likely" in one.words


def overlap(true: Happened, start: float, end: float) -> float:
    return (min(end, true.end) - max(start, true.start)) / max(end - start, true.end - true.start)


def test_a_seat_that_leaks_into_a_closed_zone_is_no_warmed_water():
    rng, now = life(510)
    for day in range(3, 9):
        start = MONDAY + day * DAY + 22.0 * HOUR
        at = (now.t >= start) & (now.t < start + 7.0 * HOUR)
        now.flow[at] = 0.0
        now.outlet[at] += (now.inlet[at] - now.outlet[at]) * (
            1.0 - np.exp(-(now.t[at] - start) / (3.0 * HOUR))
        )
    assert Event.THERMAL not in {h.code for h in said(measured(rng, now))}


def test_a_trip_behind_which_the_zone_drains_is_no_backfeed_and_a_backfeed_no_trip():
    rng, now = life(511)
    EVENTS["backfeed"](rng, now)
    seen = measured(rng, now)
    seen.traces.pop("closed", None)
    assert [h.code for h in said(seen)] == [Event.BACKFEED]
    rng, now = life(512)
    EVENTS["trip"](rng, now)
    seen = measured(rng, now)
    seen.traces.pop("closed", None)
    assert {h.code for h in said(seen)} <= {Event.TRIP, Event.TRIPPED_AGAIN}
    assert Event.TRIP in {h.code for h in said(with_switch(rng, now))}


def test_a_zone_that_stays_high_behind_a_closed_shut_off_has_tripped():
    rng, now = life(515)
    start = MONDAY + 5.0 * DAY + 10.0 * HOUR
    rise = (now.t >= start) & (now.t < start + 900.0)
    shut = (now.t >= start + 900.0) & (now.t < start + 3.0 * HOUR)
    now.outlet[rise] += 1.1 * BAR * ((now.t[rise] - start) / 900.0)
    now.outlet[shut], now.flow[shut] = 5.1 * BAR, 0.0
    seen = measured(rng, now)
    seen.traces.pop("closed", None)
    assert Event.BACKFEED not in {h.code for h in said(seen)}
    assert Event.TRIP in {h.code for h in said(seen)}


def test_a_gauge_between_the_valves_that_walks_moves_no_resistance():
    rng, now = life(513)
    EVENTS["sound shut off"](rng, now)
    assert now.middle is not None
    now.middle += 0.3 * BAR * (now.t - MONDAY) / (12.0 * DAY)
    assert not {Event.SHUT_OFF, Event.PARTLY_SHUT} & {h.code for h in said(measured(rng, now))}


def without(seen: Seen, name: str) -> Seen:
    seen.traces.pop(name, None)
    return seen


def test_without_a_gauge_between_the_valves_the_shut_off_is_said_to_be_unseen():
    rng, now = life(514)
    EVENTS["sound shut off"](rng, now)
    seen = measured(rng, now)
    assert Event.PARTLY_SHUT not in {n.code for n in told(seen).not_seen}
    got = {n.code: n.words for n in told(without(seen, "mid")).not_seen}
    assert "no pressure between the valves" in got[Event.PARTLY_SHUT]
    assert Event.SHUT_OFF in got


@pytest.mark.parametrize("kind", ["thermal rise", "backfeed", "shut off sinks"])
def test_a_record_told_in_portions_says_what_the_whole_says(kind, monkeypatch):
    rng, now = life(520, days=9.0, step=120.0)
    EVENTS[kind](rng, now)
    seen = measured(rng, now)
    whole = said(seen)
    assert [h.code for h in whole] == [KINDS[kind]]
    monkeypatch.setattr(long, "ROWS", 1500)
    assert long.is_long(channels(seen))
    assert [(h.code, h.start, h.end) for h in said(seen)] == [(h.code, h.start, h.end) for h in whole]

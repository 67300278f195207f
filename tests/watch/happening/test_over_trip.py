"""An outlet over the trip with the shut-off open is told; a surge and a trip are none."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from steadyhead.records.logger import Context, Known
from steadyhead.watch.happening import tell
from steadyhead.watch.happening.event import Event
from steadyhead.watch.happening.over_trip import MOSTLY
from tests.logger.handing import channels, context
from tests.logger.measuring import measured
from tests.logger.truth import BAR, DAY, HOUR, MONDAY, Place, water

PLACE = Place(4.0e5, 0.15e5, 0.04e5, 0.02, 8.0e5, 0.4e5, 0.3e5, 0.012, 0.3, 120.0, 0.05)
TRIP, UPPER = 4.75e5, 5.0e5


def told(change, *, step: float = 60.0, known: Known | None = None, number: int = 0):
    """Return the events of ten days; `change` gets time since Monday [h] and the water."""
    rng = np.random.default_rng([61, number])
    now = water(rng, PLACE, MONDAY, 10.0, step)
    change((now.t - now.t[0]) / HOUR, now)
    seen = measured(rng, now)
    at: Context = replace(context(seen), known=known or Known(trip=TRIP, trip_upper=UPPER))
    return tell(channels(seen), at).happenings


def over(events):
    return [one for one in events if one.code is Event.OVER_TRIP]


def failed(start: float, hours: float, top: float = 6.2, more: float = 0.003):
    def change(hour, now):
        inside = (hour >= start) & (hour < start + hours)
        now.outlet[inside] = top * BAR
        now.flow[inside] += more

    return change


@pytest.mark.parametrize(
    ("step", "hours", "top"), [(60.0, 10 / 60, 6.2), (60.0, 1.0, 5.6), (300.0, 0.5, 6.2), (900.0, 1.0, 5.4)]
)
def test_a_shut_off_that_does_not_close_is_told(step, hours, top):
    (one,) = over(told(failed(100.0, hours, top), step=step))
    assert one.magnitude == pytest.approx(top * BAR, abs=0.1 * BAR)
    assert abs(one.start.timestamp() - MONDAY - 100.0 * HOUR) <= step
    assert one.end.timestamp() - one.start.timestamp() == pytest.approx(hours * HOUR, abs=2.0 * step)
    assert "not seen to close" in one.words
    assert "prove the trip" in one.words
    assert one.confidence == "likely"


def test_a_creep_over_the_trip_is_told_though_it_rises_slowly():
    def change(hour, now):
        since = hour - 100.0
        now.outlet += np.where((since > 0.0) & (since < 4.0), np.minimum(since, 1.5) * 1.0 * BAR, 0.0)

    (one,) = over(told(change))
    assert one.magnitude == pytest.approx(5.4 * BAR, abs=0.15 * BAR)


def test_it_is_told_once_where_the_outlet_is_raised_too():
    codes = [one.code for one in told(failed(100.0, 2.0, 5.4, more=0.0))]
    assert codes.count(Event.OVER_TRIP) == 1
    assert Event.RAISED not in codes


def test_a_single_sample_the_trip_itself_and_a_station_without_a_trip_are_none():
    assert over(told(failed(100.0, 1 / 60, 6.2))) == []
    assert over(told(lambda _hour, _now: None)) == []
    assert over(told(failed(100.0, 5 / 60, 4.9))) == []
    assert over(told(failed(100.0, 1.0), known=Known())) == []


def test_without_its_upper_edge_a_tenth_over_the_trip_is():
    assert over(told(failed(100.0, 5 / 60, 5.1), known=Known(trip=TRIP))) == []
    assert len(over(told(failed(100.0, 5 / 60, 5.5), known=Known(trip=TRIP)))) == 1


def test_long_within_the_tolerance_it_is_told_as_such():
    (one,) = over(told(failed(100.0, 2.0, 4.9)))
    assert "within the trip's tolerance, below 5.00 bar" in one.words


def test_a_record_that_mostly_stands_over_the_trip_may_be_another_trip():
    (one,) = over(told(failed(24.0, 8 * 24.0, 5.4, more=0.0)))
    assert MOSTLY in one.evidence
    assert "may be another" in one.words
    assert one.end.timestamp() - one.start.timestamp() == pytest.approx(8 * DAY, rel=0.01)

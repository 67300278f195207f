"""One event told in full: steps in order with their spans, its signature, what is not known."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from steadyhead.watch.defects.judging import judge
from steadyhead.watch.happening import Event, tell
from steadyhead.watch.incident import Incident, incident
from tests.logger.handing import channels, context
from tests.logger.happening import EVENTS
from tests.logger.measuring import Seen, measured
from tests.logger.truth import BAR, DAY, HOUR, MONDAY
from tests.services.logs.tripped import at
from tests.watch.happening.test_telling import QUIET, life, plant_trip, with_switch


def told(seen: Seen, seconds: float) -> Incident | None:
    """Return the event about a time."""
    given, known = channels(seen), context(seen)
    found = judge(given, known)
    return incident(given, known, at(seconds), tell(given, known, found), found)


def shut(now, start: float, end: float) -> None:
    """Close the shut-off: no flow, the outlet decays."""
    part = (now.t >= start) & (now.t < end)
    now.outlet[part] = 0.5 * BAR + 4.6 * BAR * np.exp(-(now.t[part] - start) / 600.0)
    now.flow[part], now.closed[part] = 0.0, 1.0


def first(one: Incident | None) -> tuple[str, str]:
    assert one is not None
    return one.readings[0].name, one.readings[0].sure


def test_a_reducer_that_failed_open_is_told_in_its_order_with_what_is_ruled_out():
    rng, now = life(1, step=60.0)
    start, _ = plant_trip(now)
    one = told(with_switch(rng, now), start + HOUR)
    assert first(one) == ("reducer failed open", "likely")
    assert one is not None
    steps = [step.words for step in one.steps]
    assert steps[0].startswith("The outlet rises")
    assert "The switch of the shut-off says closed." in steps
    assert steps[-1].startswith(("The switch says open", "Flow passes again"))
    for step in one.steps:
        assert timedelta(0) <= step.by - step.after <= timedelta(minutes=3)
    assert one.steps[0].after.timestamp() <= start + 180.0
    assert {r.name for r in one.readings if r.sure == "ruled out"} >= {"supply loss", "surge from upstream"}
    assert "not proved" in one.words


def test_a_creep_at_night_that_trips_is_told_apart_from_a_failure_by_day():
    rng, now = life(3, step=60.0)
    start, closing = MONDAY + 5.0 * DAY + 1.5 * HOUR, MONDAY + 5.0 * DAY + 3.5 * HOUR
    night = (now.t >= MONDAY + 5.0 * DAY + HOUR) & (now.t < closing)
    now.flow[night] = 0.02 * QUIET.mean_flow
    rise = (now.t >= start) & (now.t < closing)
    now.outlet[rise] += (1.3 * BAR * (now.t - start) / (closing - start))[rise]
    shut(now, closing, closing + 2.0 * HOUR)
    one = told(with_switch(rng, now), closing)
    assert first(one)[0] == "creep through the reducer at night"
    assert one is not None
    assert {r.name: r.sure for r in one.readings}["reducer failed open"] == "ruled out"
    (hour,) = [c for c in one.readings[0].clauses if c.sign == "between midnight and six"]
    assert hour.words.endswith(", clock of UTC"), (
        "stamps in UTC do not tell the clock where the station stands"
    )


@pytest.mark.parametrize("step", [10.0, 60.0])
def test_a_reducer_that_fails_open_within_two_minutes_of_the_night_is_no_creep(step):
    rng, now = life(3, days=10.0 if step == 60.0 else 7.0, step=step)
    midnight = MONDAY + 5.0 * DAY
    start, closing = midnight + 2.6 * HOUR, midnight + 2.6 * HOUR + 100.0
    calm = (now.t >= midnight - 0.5 * HOUR) & (now.t < closing)
    now.outlet[calm] += 0.16 * BAR  # the level of the night over that of the evening
    rise = (now.t >= start) & (now.t < closing)
    now.outlet[rise] += (0.9 * BAR * (now.t - start) / (closing - start))[rise]
    shut(now, closing, closing + 2.0 * HOUR)
    one = told(with_switch(rng, now), closing)
    assert one is not None
    sure = {r.name: r.sure for r in one.readings}
    assert sure["reducer failed open"] != "ruled out"
    assert sure["creep through the reducer at night"] == "ruled out"


def test_a_leap_of_the_inlet_with_the_outlet_is_a_surge_from_upstream():
    rng, now = life(4, step=60.0)
    start = MONDAY + 5.5 * DAY
    leap = (now.t >= start) & (now.t < start + 60.0)
    now.inlet[leap] += 4.0 * BAR
    now.outlet[leap] += 1.4 * BAR
    shut(now, start + 60.0, start + 2.0 * HOUR)
    assert first(told(with_switch(rng, now), start + HOUR)) == ("surge from upstream", "likely")


def test_flow_that_rises_with_the_outlet_comes_from_the_reducer_not_from_behind_it():
    rng, now = life(6, days=2.0, step=1.0)
    start = MONDAY + DAY + 12.0 * HOUR
    share = np.clip((now.t - start) / 30.0, 0.0, 1.0)
    rise = (now.t >= start) & (now.t < start + 30.0)
    now.outlet[rise] += (1.3 * BAR * share)[rise]
    now.flow[rise] *= (1.0 + 0.5 * share)[rise]
    shut(now, start + 30.0, start + 2.0 * HOUR)
    seen = with_switch(rng, now)
    del seen.traces["travel"]
    one = told(seen, start + HOUR)
    assert first(one) == ("reducer failed open", "likely")
    assert one is not None
    (behind,) = [r for r in one.readings if r.name == "surge from downstream"]
    (sign,) = [c for c in behind.clauses if c.sign == "flow steps"]
    assert sign.is_seen is False
    assert "rises with the outlet" in sign.words


def test_at_five_minutes_the_order_of_what_lies_between_two_samples_is_not_claimed():
    rng, now = life(1, step=300.0)
    start, _ = plant_trip(now)
    one = told(with_switch(rng, now), start + HOUR)
    assert one is not None
    assert any(not step.in_order for step in one.steps)
    assert all(step.by - step.after <= timedelta(minutes=15) for step in one.steps)


@pytest.mark.parametrize("hours", [-30.0, 30.0])
def test_where_nothing_is_told_near_there_is_no_incident(hours):
    rng, now = life(1, step=300.0)
    start, end = plant_trip(now)
    assert told(with_switch(rng, now), (start if hours < 0 else end) + hours * HOUR) is None


SHOWS = {
    "trip": "reducer failed open", "supply loss": "supply loss", "burst": "burst behind the station",
    "thermal rise": "water that warms in a closed zone", "backfeed": "backfeed from another zone",
}  # fmt: skip


@pytest.mark.parametrize("kind", SHOWS)
def test_a_planted_event_has_its_own_signature_first(kind):
    rng, now = life(900 + 10 * sorted(EVENTS).index(kind), step=300.0)
    EVENTS[kind](rng, now)
    seen = measured(rng, now)
    one = told(seen, seen.happened[0].start)
    assert first(one)[0] == SHOWS[kind]


def test_a_backfeed_that_comes_at_once_by_day_is_no_creep_and_flow_that_stops_does_not_stay():
    rng, now = life(900 + 10 * sorted(EVENTS).index("backfeed"), step=60.0)
    start = MONDAY + 7.0 * DAY + 12.0 * HOUR
    fed = (now.t >= start) & (now.t < start + 5.0 * HOUR)
    now.outlet[fed] = float(np.max(now.outlet)) + 0.5 * BAR + 0.01 * BAR * np.sin(now.t[fed] / 600.0)
    now.flow[fed] = 0.0
    one = told(measured(rng, now), start)
    assert one is not None
    assert one.event.code is Event.BACKFEED
    rows = {r.name: r for r in one.readings}
    assert one.readings[0].name == "backfeed from another zone"
    assert rows["creep through the reducer at night"].sure == "ruled out"
    assert rows["water that warms in a closed zone"].sure == "ruled out"
    (flow,) = [c for c in rows["reducer failed open"].clauses if c.sign == "flow rises"]
    assert flow.is_seen is False
    assert "it falls by" in flow.words


def test_an_event_that_comes_over_days_has_no_signature():
    rng, now = life(900 + 10 * sorted(EVENTS).index("demand change"), step=300.0)
    EVENTS["demand change"](rng, now)
    seen = measured(rng, now)
    one = told(seen, seen.happened[0].start)
    assert one is not None
    assert one.readings == ()
    assert "comes over days" in one.words

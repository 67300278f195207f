"""A seat that leaks and water that warms are held apart by what differs, and neither is cleared without."""

from __future__ import annotations

import numpy as np
import pytest

from steadyhead.watch.happening import Event
from steadyhead.watch.incident import Incident
from steadyhead.watch.incident.incident import Clause, Reading
from tests.logger.truth import BAR, DAY, HOUR, MONDAY
from tests.watch.happening.test_telling import QUIET, life, with_switch
from tests.watch.incident.test_incident import shut, told

CREEP, WARMS = "creep through the reducer at night", "water that warms in a closed zone"
NIGHT = MONDAY + 9.0 * DAY


def rises_at_night(flow: float, inlet: float = 0.0, follows: float = 0.0) -> Incident:
    """Tell a night's rise by 1.3 bar over two hours up to a trip.

    flow: while it rises, over the mean; it ran until then. inlet: its swing, `follows`: that of the outlet
    with it [bar].
    """
    rng, now = life(41, days=14.0, step=60.0)
    start, closing = NIGHT + 0.5 * HOUR, NIGHT + 2.5 * HOUR
    now.inlet[:] = 8.0 * BAR + rng.normal(0.0, 0.02 * BAR, now.t.size)
    rise = (now.t >= start) & (now.t < closing)
    swing = np.sin((now.t - start) / HOUR * np.pi * 1.7) * rise
    now.inlet += inlet * BAR * swing
    now.flow[rise] = np.maximum(flow + 0.3 * flow * rng.normal(size=now.t.size), 0.0)[rise] * QUIET.mean_flow
    now.outlet[rise] = (
        4.1 * BAR + (1.3 * BAR * (now.t - start) / (closing - start) + follows * BAR * swing)[rise]
    )
    now.outlet[rise] += rng.normal(0.0, 0.006 * BAR, now.t.size)[rise]
    shut(now, closing, closing + 3.0 * HOUR)
    seen = with_switch(rng, now)
    del seen.traces["travel"]
    one = told(seen, closing)
    assert one is not None
    assert one.event.code is Event.TRIP
    return one


def rows(one: Incident) -> dict[str, Reading]:
    return {r.name: r for r in one.readings}


def sign(row: Reading, name: str) -> Clause:
    (found,) = [c for c in row.clauses if c.sign == name]
    return found


def test_a_creep_with_a_little_flow_is_no_warmed_water_though_the_inlet_stands_level():
    one = rises_at_night(0.012)
    creep, warms = rows(one)[CREEP], rows(one)[WARMS]
    assert (one.readings[0].name, creep.sure, warms.sure) == (CREEP, "likely", "possible")
    assert sign(creep, "flow about none").is_seen is True
    assert "while it lasts" in sign(creep, "flow about none").words
    assert sign(warms, "no flow").is_seen is None
    assert "hardly any" in sign(warms, "no flow").words


def test_without_any_flow_the_two_are_not_told_apart_and_the_reducer_is_not_cleared():
    one = rises_at_night(0.0)
    assert {rows(one)[name].sure for name in (CREEP, WARMS)} == {"possible"}
    assert one.words.startswith("Its signs do not tell these apart: ")
    assert CREEP in one.words


def test_an_inlet_that_moves_by_its_noise_alone_says_nothing_of_following():
    follows = sign(rows(rises_at_night(0.0))[CREEP], "outlet follows the inlet")
    assert follows.is_seen is None
    assert "hardly moves" in follows.words


@pytest.mark.parametrize(("share", "seen"), [(0.7, True), (0.0, False)])
def test_an_inlet_that_moves_tells_whether_the_outlet_follows_it(share, seen):
    one = rises_at_night(0.0, inlet=0.9, follows=share)
    follows = sign(rows(one)[CREEP], "outlet follows the inlet")
    assert "correlation" in follows.words
    assert rows(one)[WARMS].sure != "likely"
    if not seen:
        assert follows.is_seen is False


def test_a_slow_rise_that_lies_between_two_samples_is_no_likely_creep():
    rng, now = life(41, days=14.0, step=900.0)
    start = NIGHT + 2.0 * HOUR + 180.0
    calm = (now.t >= start - 3.0 * HOUR) & (now.t < start + 900.0)
    now.flow[calm] = 0.02 * QUIET.mean_flow
    rise = (now.t >= start) & (now.t < start + 900.0)
    now.outlet[rise] += 0.9 * BAR
    shut(now, start + 900.0, start + 3.0 * HOUR)
    one = told(with_switch(rng, now), start)
    assert one is not None
    assert rows(one)[CREEP].sure != "likely"

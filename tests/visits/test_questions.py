"""Questions: which readings a layout is asked for, and where its taps stand."""

from __future__ import annotations

import numpy as np
import pytest

from steadyhead.records.station import Station
from steadyhead.station.layout import read_layout
from steadyhead.visits.questions import SITUATIONS, questions, tap_of_role
from tests.visits.known_stations import STATION_A, default_station, station_a, without_part
from tests.visits.random_stations import random_station


def keys(station, **changes):
    asked = {"flow_points": 5, "trip": True, "alarm": True, "dead_band": True} | changes
    return [q.key for q in questions(read_layout(station), **asked)]


def test_roles_of_taps_follow_the_sections_not_the_names():
    assert tap_of_role(read_layout(station_a())) == {r: r for r in ("T0", "T1", "T2", "T3", "T4")}
    renamed = station_a(T1__id="UPSTREAM")
    assert tap_of_role(read_layout(renamed))["T1"] == "UPSTREAM"


def test_a_shut_off_brings_the_questions_of_its_trip():
    found = keys(station_a())
    assert {"trickle.T3", "lockup.T3", "v2.T1", "at_trip.T3", "trip.T3", "after_trip.T2", "flow.3.T1"} <= set(
        found
    )
    assert {"closing.time", "reset.T3", "turns.RV", "alarm.T3", "strainer.loss", "shut_off.loss"} <= set(
        found
    )


def test_a_shut_off_without_a_stated_trip_is_not_asked_for_one():
    assert not [key for key in keys(station_a(), trip=False) if "trip" in key or key == "closing.time"]


def test_a_reducer_alone_is_asked_nothing_of_a_shut_off():
    alone = without_part(STATION_A, "SO")
    assert not [key for key in keys(alone, trip=False) if key.startswith(("after_trip", "shut_off", "reset"))]


def test_a_tap_that_is_not_there_is_not_read():
    data = without_part(STATION_A, "T2").model_dump(mode="json", exclude_unset=True)
    assert not [key for key in keys(Station.model_validate(data)) if key.endswith(".T2")]


def test_keys_are_unique_and_their_situations_explained():
    for number in range(20):
        data = random_station(np.random.default_rng([3, number]))
        layout = read_layout(Station.model_validate(data))
        asked = questions(layout, flow_points=6, trip=True, alarm=True, dead_band=True)
        assert len({q.key for q in asked}) == len(asked)
        assert all(q.situation.split(".")[0] in SITUATIONS and q.meaning for q in asked)


@pytest.mark.parametrize("points", [1, 6])
def test_flow_points_are_counted_from_one(points):
    numbers = {
        key.split(".")[1] for key in keys(default_station(), flow_points=points) if key.startswith("flow.")
    }
    assert numbers == {str(number) for number in range(1, points + 1)}

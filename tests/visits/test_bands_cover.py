"""The bands against hidden true stations, at a small share of the campaign's size and with a fixed seed."""

from __future__ import annotations

import numpy as np
import pytest

from steadyhead.records.station import Station
from steadyhead.visits.numbers import work_out
from tests.campaigns import bands
from tests.visits.random_stations import random_station
from tests.visits.truth import Truth


@pytest.fixture(scope="module")
def result():
    return bands.run(seed=31, n=5)


@pytest.mark.source(
    kind="independent", ref="hidden true stations drawn apart from the bands, tests/visits/truth.py"
)
def test_bands_hold_about_their_share_of_true_readings(result):
    assert result["held"], result
    assert result["readings"] > 1000


def test_taps_behind_a_reducer_get_bands_far_narrower_than_flat_ones(result):
    assert result["mean width at T3, bar"] < 0.7 * result["mean width of a flat ±10 % band at T3, bar"]


@pytest.mark.source(
    kind="independent", ref="hidden true stations drawn apart from the bands, tests/visits/truth.py"
)
def test_bands_of_pairs_monitors_reliefs_and_own_springs_hold_their_share_too():
    """One station of each kind with five hidden true ones: one day's supply is in many readings of each."""
    result = bands.run(seed=41, n=8, make=bands.chain)
    assert result["held"], result
    assert {"monitor.T3", "first_open.T2b", "relief_crack.RL", "after_trip.T2a"} <= set(
        result["inside by key"]
    )


@pytest.mark.source(kind="analytic", ref="binomial: chance leaves no more than one run in 10⁷ below")
@pytest.mark.parametrize(("visits", "share"), [(150, 118 / 150), (1200, 1052 / 1200)])
def test_a_question_may_stray_by_chance_only_as_far_as_its_visits_allow(visits: int, share: float):
    assert bands.fewest(visits) == pytest.approx(share, abs=1.5 / visits)
    assert bands.fewest(5) <= bands.fewest(40) <= bands.fewest(visits)


@pytest.mark.source(
    kind="analytic", ref="an open drain runs by what stands above it, and droops with what runs"
)
def test_band_of_the_open_drain_at_the_lowest_setting_never_asks_for_a_vacuum():
    for number in range(4):
        data = bands.chain(np.random.default_rng([7, number, 1]), number)
        plan = work_out(Station.model_validate(data), "first", samples=60)
        band = plan.bands["v2_drain_lowest.T3"]
        assert band.low <= band.nominal <= band.high
        assert band.low > -0.25e5


def test_a_station_off_its_tolerances_is_noticed():
    """Bands are no blanket: a trip half a bar from where the file has it falls outside."""
    data = random_station(np.random.default_rng(12))
    while not any(part["part"] == "shut_off" for part in data["line"]):
        data = random_station(np.random.default_rng(13))
    plan = work_out(Station.model_validate(data), "first", samples=100)
    shown = Truth(data, plan, np.random.default_rng(1)).go()
    band = plan.bands["trip.T3"]
    assert not band.low <= shown["trip.T3"] + (band.high - band.low) <= band.high

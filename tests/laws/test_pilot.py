from __future__ import annotations

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.laws import pilot
from steadyhead.laws.coefficients import k_of_kv

SPECIFICATION = "physics specification of the project, worked out by its independent reference"
R0, R1, S0, S1 = 0.45, 0.15, 0.05e5, 0.08e5
FEED, PILOT = 0.06, 0.12

openings = st.floats(0.0, 1.0)
differences = st.floats(1e3, 2e6)


@pytest.mark.source(kind="analytic", ref="both flows of the circuit are equal at the holding pressure")
@given(p1=st.floats(1e5, 2e6), share=st.floats(0.0, 1.0), feed=st.floats(1e-3, 1), drain=st.floats(0, 1))
def test_feed_and_drain_are_equal_at_the_holding_pressure(p1, share, feed, drain):
    p2 = p1 * share
    rest = pilot.holding_pressure(p1, p2, feed, drain)
    assert p2 - 1e-6 <= rest <= p1 + 1e-6
    inflow = pilot.chamber_inflow(
        rest, p1, p2, feed, drain
    )  # a root: a rounding of p₁ is felt as its square root
    assert inflow == pytest.approx(0.0, abs=(feed + drain) * (1e-14 * p1) ** 0.5 + 1e-9 * (p1 - p2) ** 0.5)


@pytest.mark.source(kind="analytic", ref="share at a pilot twice the feed is 1/(1 + 4)")
def test_pilot_twice_as_large_as_the_feed_leaves_a_fifth_in_the_chamber():
    assert pilot.holding_share(FEED, PILOT) == pytest.approx(0.2, rel=1e-15)
    assert pilot.holding_share(FEED, 0.0) == 1.0


@given(lift=st.floats(1e-3, 0.99), difference=differences)
def test_stem_stands_where_chamber_and_balance_meet(lift, difference):
    opening = pilot.steady_pilot_opening(lift, difference, FEED, PILOT, R0, R1, S0, S1)
    if not 0.0 < opening < 1.0:
        return
    share = pilot.holding_share(FEED, pilot.pilot_coefficient(opening, PILOT, inf, 0.0))
    found = pilot.balanced_lift(difference, share, R0, R1, S0, S1, 0.0)
    assert found == pytest.approx(lift, rel=1e-9, abs=1e-9)
    p1, p2 = 5e5 + difference, 5e5
    rest = pilot.holding_pressure(p1, p2, FEED, opening * PILOT)
    assert pilot.balance_pressure(lift, p1, p2, R0, R1, S0, S1) == pytest.approx(rest, rel=1e-9)


@pytest.mark.source(
    kind="independent", ref=f"{SPECIFICATION}: full lift needs 1.3 bar, 0.6 bar reaches 0.59 at most"
)
def test_small_difference_limits_the_lift():
    share = pilot.holding_share(FEED, PILOT)
    assert pilot.balanced_lift(1.3e5, share, R0, R1, S0, S1, 0.0) == pytest.approx(1.0, abs=1e-9)
    assert pilot.balanced_lift(1.29e5, share, R0, R1, S0, S1, 0.0) < 1.0
    assert pilot.balanced_lift(0.6e5, share, R0, R1, S0, S1, 0.0) == pytest.approx(0.59, abs=0.005)


@pytest.mark.source(
    kind="independent", ref=f"{SPECIFICATION}: worked numbers and curve of its default station"
)
@pytest.mark.parametrize(
    ("lift", "inlet", "outlet", "opening"),
    [
        (0.0035736072, 8.9992405, 4.0481045, 0.5648694),
        (0.10834523, 8.6889879, 4.031055, 0.58618127),
        (0.30683192, 7.4171919, 3.9914598, 0.63567529),
    ],
)
def test_droop_law_gives_the_pilot_opening_of_the_reference(lift, inlet, outlet, opening):
    found = pilot.steady_pilot_opening(lift, (inlet - outlet) * 1e5, FEED, PILOT, R0, R1, S0, S1)
    assert found == pytest.approx(opening, abs=2e-8)


def test_valve_that_cannot_hold_asks_for_more_than_a_pilot_can_give():
    assert pilot.steady_pilot_opening(0.9, 0.2e5, FEED, PILOT, R0, R1, S0, S1) == inf
    assert pilot.steady_pilot_opening(0.0, 1e5, FEED, PILOT, 1.2, R1, 0.0, S1) == 0.0


@given(difference=differences, more=st.floats(0, 1e6), drain=st.floats(0, 1), lowest=st.floats(0, 0.5))
def test_balanced_lift_never_falls_with_the_difference(difference, more, drain, lowest):
    share = pilot.holding_share(FEED, drain)
    here = pilot.balanced_lift(difference, share, R0, R1, S0, S1, lowest)
    there = pilot.balanced_lift(difference + more, share, R0, R1, S0, S1, lowest)
    assert lowest <= here <= there <= 1.0


def test_pilot_is_shut_at_its_closing_pressure_and_wide_open_a_band_below():
    assert pilot.pilot_opening(4.5e5, 4.5e5, 0.8e5) == 0.0
    assert pilot.pilot_opening(4.1e5, 4.5e5, 0.8e5) == pytest.approx(0.5)
    assert pilot.pilot_opening(1e5, 4.5e5, 0.8e5) == 1.0
    assert pilot.pilot_opening(9e5, 4.5e5, 0.8e5) == 0.0


def test_needle_in_series_and_tear_beside_the_pilot():
    assert pilot.pilot_coefficient(1.0, PILOT, inf, 0.0) == PILOT
    assert pilot.pilot_coefficient(1.0, PILOT, 0.09, 0.0) == pytest.approx(0.072)
    assert pilot.pilot_coefficient(0.0, PILOT, inf, 0.5) == 0.5


@given(old=st.floats(0, 20), new=st.floats(0, 20), half=st.floats(0, 0.5))
def test_part_with_play_follows_only_when_pushed(old, new, half):
    rest = pilot.play(old, new, half)
    assert new - half <= rest <= new + half
    if new - half <= old <= new + half:
        assert rest == old


def test_free_turns_raise_nothing():
    assert pilot.closing_pressure_of_turns(1.5, 2.0, 0.5e5) == 0.0
    assert pilot.closing_pressure_of_turns(11.0, 2.0, 0.5e5) == pytest.approx(4.5e5)


def test_stem_closes_above_opens_below_and_sticks_within_friction():
    p1, p2, area = 9e5, 4e5, 0.01745
    feed, drain = k_of_kv(FEED, 1000.0), k_of_kv(0.07, 1000.0)
    rest = pilot.holding_pressure(p1, p2, feed, drain)
    assert pilot.stem_velocity(0.5, p1, p2, rest - 1e4, 0.0, feed, drain, area) < 0.0
    assert pilot.stem_velocity(0.5, p1, p2, rest + 1e4, 0.0, feed, drain, area) > 0.0
    assert pilot.stem_velocity(0.5, p1, p2, rest + 1e4, 2e4, feed, drain, area) == 0.0
    assert pilot.stem_velocity(0.5, p1, p2, rest - 1e4, 0.5e4, feed, drain, area) < 0.0
    assert pilot.stem_velocity(0.0, p1, p2, rest - 1e4, 0.0, feed, drain, area) == 0.0
    assert pilot.stem_velocity(1.0, p1, p2, rest + 1e4, 0.0, feed, drain, area) == 0.0


@pytest.mark.source(
    kind="own estimate",
    ref="physics specification of the project, DN 100: full stroke closes in 14 s at 3.5 bar, 0.44 L",
)
def test_full_stroke_of_a_middling_valve_takes_the_derived_time():
    feed = k_of_kv(FEED, 999.7)
    speed = -pilot.stem_velocity(0.5, 7e5, 0.0, 3.5e5, 0.0, feed, 0.0, 0.01745)
    assert 0.025 / speed == pytest.approx(14.0, abs=0.5)


@pytest.mark.source(kind="analytic", ref="chamber and balance agree where a stem rests, backwards too")
@given(difference=st.floats(1e2, 5e4), share=st.floats(0.6, 1.0))
def test_stem_of_a_valve_that_passes_water_back_stands_where_chamber_and_balance_meet(difference, share):
    found = pilot.balanced_lift_back(difference, share, R0, R1, S0, S1, 0.0)
    p1, p2 = 4e5, 4e5 + difference
    rest = p2 - share * difference
    balance = pilot.balance_pressure(found, p1, p2, R0, R1, S0, S1)
    if 0.0 < found < 1.0:
        assert rest == pytest.approx(balance, rel=1e-12)
    else:
        assert (rest - balance) * (1.0 - 2.0 * found) >= -1e-6  # pressed on its stop


@pytest.mark.source(kind="analytic", ref="pilot shut: the disc is pushed off at s₀/(1 − r₀)")
def test_shut_valve_is_pushed_off_backwards_at_its_spring_over_the_ring_and_never_falls_back():
    pushed_off = S0 / (1.0 - R0)
    assert pilot.balanced_lift_back(0.999 * pushed_off, 1.0, R0, R1, S0, S1, 0.0) == 0.0
    lifts = [
        pilot.balanced_lift_back(pushed_off * (1.0 + 0.05 * n), 1.0, R0, R1, S0, S1, 0.0) for n in range(40)
    ]
    assert lifts == sorted(lifts)
    assert lifts[-1] == 1.0
    assert pilot.balanced_lift_back(10.0 * pushed_off, R0, R0, R1, S0, S1, 0.0) == 0.0


@pytest.mark.source(kind="analytic", ref="residual p_h − p_eq at the lift at which the disc rests = 0")
def test_disc_that_rests_on_debris_is_pushed_off_where_its_own_lift_no_longer_balances() -> None:
    debris, share = 0.03, R0 + 0.03  # the pilot half open: the ring alone is pushed off late
    off = (S0 + S1 * debris) / (share - R0 + R1 * debris)
    lifts = [
        pilot.balanced_lift_back(difference, share, R0, R1, S0, S1, debris)
        for difference in (0.999 * off, 1.001 * off)
    ]
    assert lifts == [debris, 1.0]

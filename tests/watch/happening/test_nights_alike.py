"""A night creep is told whatever the nights draw before and after it; nights that draw less are none."""

from __future__ import annotations

import numpy as np
import pytest

from steadyhead.watch.happening import Event, NotSeen, Told
from tests.logger.measuring import measured
from tests.logger.truth import BAR, DAY, MONDAY, Array, Place, Water, outlet_of, place, water
from tests.watch.happening.test_telling import told

SMALL = Place(4.0e5, 0.15e5, 0.02e5, 0.01, 8.0e5, 0.4e5, 0.3e5, 0.003, 0.25, 40.0, 0.05)
"""A small zone: 3 L/s in the mean, 0.75 L/s at night."""
MORE = 1.5e-3
"""What a new user draws at all hours. [m³/s]"""


def life(number: int, days: float) -> tuple[np.random.Generator, Water]:
    rng = np.random.default_rng([37, number])
    return rng, water(rng, SMALL, MONDAY, days, 900.0)


def day(now: Water) -> Array:
    return np.asarray((now.t - MONDAY) / DAY)


def draws(now: Water, factor: Array | float, extra: Array | float = 0.0) -> None:
    """Let the zone draw by a factor and by an extra flow [m³/s], with what it does to inlet and outlet."""
    before, noise = now.flow.copy(), now.outlet - outlet_of(now.place, now.flow, now.inlet, now.step)
    now.flow = now.flow * factor + extra
    now.inlet -= now.place.friction * (now.flow**2 - before**2) / now.place.mean_flow**2
    now.outlet = outlet_of(now.place, now.flow, now.inlet, now.step) + noise


def creeps(now: Water, first: float, last: float, size: float, *, grows: bool = True) -> None:
    """Let the seat leak at the lowest flow of these days, up to `size` [Pa]."""
    calm = np.clip(1.0 - now.flow / (1.6 * SMALL.night_share * SMALL.mean_flow), 0.0, 1.0) / 0.375
    share = np.clip((day(now) - first) / (last - first), 0.0, 1.0) if grows else 1.0
    now.outlet += size * np.minimum(calm, 1.0) * share * ((day(now) >= first) & (day(now) < last))


def crept(rng: np.random.Generator, now: Water) -> tuple[list[tuple[float, float, float]], list[NotSeen]]:
    """Return first and last day and rise [bar] of each creep, and what is said to be unseen of it."""
    got: Told = told(measured(rng, now))
    return [
        (
            (one.start.timestamp() - MONDAY) / DAY, (one.end.timestamp() - MONDAY) / DAY,
            (one.magnitude or 0.0) / BAR,
        )
        for one in got.happenings
        if one.code is Event.CREEP
    ], [one for one in got.not_seen if one.code is Event.CREEP]  # fmt: skip


@pytest.mark.parametrize("size", [0.12, 0.2])
def test_a_creep_of_february_is_told_alone_and_with_three_months_that_draw_more_at_night(size):
    for days in (28.0, 120.0):
        rng, now = life(1, days)
        draws(now, 1.0, MORE * (day(now) >= 28.0))
        creeps(now, 8.0, 28.0, size * BAR)
        ((first, last, rise),), unseen = crept(rng, now)
        assert first == pytest.approx(9.0, abs=4.0)
        assert last == pytest.approx(27.5, abs=1.5)
        assert rise == pytest.approx(size, rel=0.2)
        assert unseen == []


@pytest.mark.parametrize("summer", [False, True])
def test_a_creep_amid_a_year_that_is_repaired_is_told_with_its_days(summer):
    rng, now = life(2, 365.0)
    draws(now, 1.0, MORE * ((day(now) >= 190.0) & (day(now) < 290.0)) if summer else 0.0)
    creeps(now, 150.0, 185.0, 0.25 * BAR)
    ((first, last, rise),), _ = crept(rng, now)
    assert first == pytest.approx(150.0, abs=8.0)
    assert last == pytest.approx(184.5, abs=2.0)
    assert rise == pytest.approx(0.25, rel=0.2)


def test_a_creep_from_the_first_night_is_held_against_the_nights_after_it_that_draw_as_much():
    rng, now = life(3, 150.0)
    draws(now, 1.0, MORE * (day(now) >= 50.0))
    creeps(now, -1.0, 25.0, 0.2 * BAR, grows=False)
    ((first, last, rise),), _ = crept(rng, now)
    assert first < 3.0
    assert last == pytest.approx(24.5, abs=1.5)
    assert rise == pytest.approx(0.2, rel=0.25)


def test_nights_with_none_to_compare_with_are_said_to_be_unseen():
    rng, now = life(3, 150.0)
    draws(now, 1.0, MORE * (day(now) >= 25.0))
    creeps(now, -1.0, 25.0, 0.2 * BAR, grows=False)
    got, (one,) = crept(rng, now)
    assert got == []
    assert "none to compare with" in one.words
    assert "0.19 bar above the other nights" in one.words
    assert "from 2026-12-2" in one.words
    assert "A test at zero flow would tell." in one.words


@pytest.mark.parametrize("number", [25, 53])
def test_a_season_in_which_the_nights_draw_less_and_less_is_no_creep(number):
    of, rng = place(np.random.default_rng([77, number])), np.random.default_rng([78, number])
    now = water(rng, of, MONDAY, 365.0, 900.0)
    draws(now, 1.0 + 0.6 * np.sin(2.0 * np.pi * (day(now) - rng.uniform(60.0, 200.0)) / 365.0))
    share = now.flow / of.mean_flow
    now.outlet += BAR * (0.35 * np.exp(-7.5 * share) - 0.1 * share)  # steep near the lock-up
    assert crept(rng, now)[0] == []


def test_nights_that_are_watered_for_ten_weeks_are_no_creep():
    rng, now = life(5, 200.0)
    hour = (now.t % DAY) / 3600.0
    draws(now, 1.0, 2.0 * MORE * ((day(now) >= 60.0) & (day(now) < 130.0) & (hour < 5.0)))
    assert crept(rng, now) == ([], [])

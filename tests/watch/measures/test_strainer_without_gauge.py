"""One inlet gauge, at T1: what is said of strainer and supply line is true, whatever the supply does."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from steadyhead.services.logs.limits import _strainer
from steadyhead.services.logs.measuring import MeasureView, _views
from steadyhead.watch.counting import signed
from steadyhead.watch.defects.judging import judge
from steadyhead.watch.happening import Event, Told, set_aside, tell
from steadyhead.watch.measures import days_of, strainer_trend
from steadyhead.watch.measures.strainer import StrainerTrend
from tests.logger.handing import channels, context
from tests.logger.measuring import measured
from tests.logger.truth import BAR, DAY, HOUR, MONDAY, Array, Water, water
from tests.watch.happening.test_telling import QUIET

DAYS, STEP = 90.0, 300.0
PLACE = replace(QUIET, restless=0.06, pump_step=0.0)
CLEAN = PLACE.friction / PLACE.mean_flow**2


def life(number: int) -> tuple[np.random.Generator, Water]:
    rng = np.random.default_rng([77, number])
    return rng, water(rng, PLACE, MONDAY, DAYS, STEP)


def said(rng: np.random.Generator, now: Water) -> tuple[StrainerTrend, Told]:
    seen = measured(rng, now)
    frames, known = channels(seen), context(seen)
    judged = judge(frames, known)
    told = tell(frames, known, judged)
    return strainer_trend(days_of(frames, known, judged, set_aside(told)), own=True), told


def at_peaks(now: Water) -> Array:
    """Return 1 at the hours of the peaks, begun a little early or late each day."""
    day = ((now.t - now.t[0]) // DAY).astype(int)
    early = np.random.default_rng(5).normal(0.0, 0.2, (int(day.max()) + 1, 2))
    hour = (now.t % DAY) / HOUR
    morning = (hour > 6.2 + early[day, 0]) & (hour < 9.0)
    return np.asarray(morning | ((hour > 17.5 + early[day, 1]) & (hour < 21.0)), dtype=float)


def by_flow(now: Water) -> Array:
    """Return 1 while a second pump runs: on above 1.3 of the mean flow, off below the mean."""
    out, runs = np.zeros(now.t.size), 0.0
    for place, flow in enumerate(now.flow / PLACE.mean_flow):
        runs = 1.0 if flow > 1.3 else 0.0 if flow < 1.0 else runs
        out[place] = runs
    return out


def share(now: Water) -> Array:
    return np.asarray((now.t - MONDAY) / (DAYS * DAY))


def shifted(now: Water) -> None:
    now.inlet += 0.8 * BAR * at_peaks(now) * (share(now) < 0.5)


def slipping(now: Water) -> None:
    now.inlet += 0.8 * BAR * by_flow(now) * (1.0 - share(now))


def late(now: Water) -> None:
    now.inlet -= 0.8 * BAR * at_peaks(now) * (share(now) > 0.5)


def season(now: Water) -> None:
    now.inlet += 0.5 * BAR * np.sin(2.0 * np.pi * share(now))


def grown(now: Water) -> None:
    more = 1.0 + share(now) / 3.0
    now.inlet -= CLEAN * now.flow**2 * (more**2 - 1.0)
    now.flow *= more


SUPPLY = {one.__name__: one for one in (shifted, slipping, late, season, grown)}


@pytest.mark.parametrize("name", SUPPLY)
def test_a_supply_that_switches_drifts_or_gives_more_is_no_blinding(name):
    rng, now = life(1)
    SUPPLY[name](now)
    got, told = said(rng, now)
    assert Event.STRAINER not in {h.code for h in told.happenings}
    assert got.now.value == pytest.approx(CLEAN, rel=0.06)
    assert (got.meets, got.earliest, got.latest) == (None, None, None)
    assert got.now.trust != "good"
    assert abs(got.trend.value or 0.0) * DAYS < 0.12 * CLEAN


@pytest.mark.parametrize("times", [0.45, 2.0])
def test_a_main_that_is_opened_or_shut_is_a_step_and_no_blinding(times):
    rng, now = life(2)
    half = share(now) > 0.5
    now.inlet[half] -= ((times - 1.0) * CLEAN * now.flow**2)[half]
    got, told = said(rng, now)
    assert Event.STRAINER not in {h.code for h in told.happenings}
    assert got.now.value == pytest.approx(times * CLEAN, rel=0.06)
    assert (got.now.trust, got.trend.value, got.meets) == ("poor", None, None)
    assert f"steps by {signed(f'{100.0 * (times - 1.0):+.0f}')}"[:-1] in got.trend.words
    assert "2027-02-1" in got.trend.words  # day 45 of 90
    assert "a gauge at T0 would tell" in got.trend.words


def test_what_others_draw_from_the_line_is_not_measured_and_says_what_would_tell():
    rng, now = life(3)
    pattern = np.interp(now.t % DAY, np.arange(24.0) * HOUR, _day(now))
    more = 1.2 * (1.0 + share(now))
    now.inlet -= CLEAN * ((now.flow + more * pattern) ** 2 - now.flow**2) / 3.0
    got, told = said(rng, now)
    assert Event.STRAINER not in {h.code for h in told.happenings}
    assert (got.now.value, got.trend.value, got.meets) == (None, None, None)
    assert "not measured" in got.now.words
    assert "a gauge at T0 would tell" in got.now.words
    (hidden,) = [n for n in told.not_seen if n.code is Event.STRAINER]
    assert "a gauge at T0 would tell" in hidden.words


def _day(now: Water) -> Array:
    hour = ((now.t % DAY) // HOUR).astype(int)
    return np.array([now.flow[hour == h].mean() for h in range(24)])


@pytest.mark.parametrize("name", ["none", *SUPPLY])
def test_a_blinding_is_told_as_of_strainer_or_line_with_its_size_and_without_a_date(name):
    rng, now = life(4)
    growth = np.clip((share(now) - 0.4) / 0.6, 0.0, 1.0)
    SUPPLY.get(name, lambda _: None)(now)
    now.inlet -= 1.5 * CLEAN * growth * now.flow**2
    got, told = said(rng, now)
    (one,) = [h for h in told.happenings if h.code is Event.STRAINER]
    assert one.confidence == "likely"
    assert one.magnitude == pytest.approx(2.5, rel=0.15)
    assert "strainer or supply line" in one.words
    assert "a gauge at T0 would tell" in one.words
    assert got.now.value == pytest.approx(2.5 * CLEAN, rel=0.12)
    assert got.now.trust == got.trend.trust == "fair"
    assert (got.meets, got.earliest, got.latest) == (None, None, None)
    assert "strainer or supply line moves +" in got.trend.words
    assert "a gauge at T0 would tell" in got.trend.words


def test_over_a_limit_it_is_of_strainer_or_line():
    rng, now = life(5)
    now.inlet -= 2.0 * CLEAN * np.clip((share(now) - 0.4) / 0.6, 0.0, 1.0) * now.flow**2
    got, _ = said(rng, now)
    view = next(one for one in _views(got) if one.code == "strainer coefficient")
    assert isinstance(view, MeasureView)
    result = _strainer(view, None)  # type: ignore[arg-type]
    assert result is not None
    assert result[1]
    assert result[2].startswith("resistance of strainer or supply line ")
    assert "a gauge at T0 would tell which" in result[2]

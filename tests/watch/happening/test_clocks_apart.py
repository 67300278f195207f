"""Surges that two loggers recorded whose clocks stand apart: told as surges, with the lag, and no spikes."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from steadyhead.watch.defects import long
from steadyhead.watch.defects.apart import between, loggers
from steadyhead.watch.defects.judging import Judged, judge
from steadyhead.watch.defects.series import series
from steadyhead.watch.happening import Event, Told, tell
from steadyhead.watch.incident import incident
from tests.logger.handing import channels, context
from tests.logger.measuring import Seen, measured
from tests.logger.truth import BAR, Water
from tests.watch.happening.test_telling import life

HEIGHTS = (1.2, -0.9, 1.8, 1.4, -2.0)


def frames(seen: Seen, *, two: bool = True):
    """Return the channels: the outlet's from a file of its own, or all from one."""
    other = ("b",) if two else ("a",)
    return [
        (replace(c, source_sha256=other if c.quantity == "outlet pressure" else ("a",)), f)
        for c, f in channels(seen)
    ]


def surges(now: Water, number: int, width: float) -> list[float]:
    """Plant surges that inlet and outlet show; return their times."""
    out = []
    for k, height in enumerate(HEIGHTS[:number]):
        first = int(now.t.size * (k + 0.6) / (number + 0.3))
        shape = np.exp(-np.arange(max(1, int(width / now.step))) * now.step / max(0.3 * width, 1.0))
        at = slice(first, first + shape.size)
        now.inlet[at] += height * BAR * shape
        now.outlet[at] += 0.25 * height * BAR * shape
        out.append(float(now.t[first]))
    return out


def recorded(
    step: float, days: float, lag: float, number: int, width: float = 1.0
) -> tuple[Seen, list[float]]:
    rng, now = life(50 + number, days=days, step=step)
    times = surges(now, number, width)
    seen = measured(rng, now)
    for name in [name for name in seen.traces if name not in ("in", "out", "flow")]:
        del seen.traces[name]
    seen.traces["out"].t = seen.traces["out"].t + lag
    return seen, times


def told(seen: Seen, *, two: bool = True) -> tuple[Judged, Told]:
    given, known = frames(seen, two=two), context(seen)
    judged = judge(given, known)
    return judged, tell(given, known, judged)


@pytest.mark.parametrize(
    ("step", "days", "lag"), [(1.0, 0.5, 40.0), (1.0, 0.5, -200.0), (10.0, 4.0, 90.0), (60.0, 12.0, -300.0)]
)
@pytest.mark.parametrize("width", [1.0, 20.0])
def test_surges_of_two_clocks_are_found_with_their_lag_and_are_no_spikes(step, days, lag, width):
    seen, times = recorded(step, days, lag, 3, width)
    judged, got = told(seen)
    assert judged.episodes == ()
    assert [h.code for h in got.happenings] == [Event.SURGE] * 3
    for one, true in zip(got.happenings, times, strict=True):
        assert one.start.timestamp() == pytest.approx(true, abs=2.0 * step)
        assert one.confidence == "certain"
        assert f"clocks of the loggers stand {abs(lag):.0f} s apart, by 3 such excursions" in one.words
        assert any(("after" if lag > 0.0 else "before") in phrase for phrase in one.evidence)


def test_a_single_surge_alone_for_hours_is_likely():
    seen, _ = recorded(1.0, 0.5, 40.0, 1)
    judged, got = told(seen)
    assert judged.episodes == ()
    (one,) = got.happenings
    assert (one.code, one.confidence) == (Event.SURGE, "likely")
    assert "stand 40 s apart, likely: this one alone tells it" in one.words


def test_one_logger_has_one_clock_and_no_lag_is_looked_for():
    seen, _ = recorded(1.0, 0.5, 40.0, 3)
    judged, got = told(seen, two=False)
    assert {str(e.code) for e in judged.episodes} == {"spike"}
    assert got.happenings == ()


def test_clocks_that_keep_time_are_not_called_apart():
    seen, _ = recorded(1.0, 0.5, 0.0, 3)
    judged, got = told(seen)
    assert judged.episodes == ()
    assert [h.code for h in got.happenings] == [Event.SURGE] * 3
    assert not any("clocks" in h.words for h in got.happenings)


def test_spikes_of_one_sensor_stay_spikes_beside_another_logger():
    seen, _ = recorded(1.0, 0.5, 40.0, 0)
    for name, places in (("in", (9000, 21000, 33000)), ("out", (14000, 28500))):
        for place in places:
            seen.traces[name].v[place] += 1.5 * BAR
    judged, got = told(seen)
    assert [str(e.code) for e in judged.episodes] == ["spike"] * 5
    assert got.happenings == ()


def test_a_spike_among_surges_of_known_lag_stays_a_spike():
    seen, _ = recorded(1.0, 0.5, 40.0, 3)
    seen.traces["in"].v[30_000] += 1.5 * BAR
    judged, got = told(seen)
    assert [(str(e.code), e.channels) for e in judged.episodes] == [("spike", ("in",))]
    assert [h.code for h in got.happenings] == [Event.SURGE] * 3


def test_a_long_record_in_portions_says_the_same(monkeypatch):
    seen, _ = recorded(10.0, 4.0, 90.0, 3)
    _, whole = told(seen)
    monkeypatch.setattr(long, "ROWS", 9000)
    assert long.is_long(frames(seen))
    judged, parts = told(seen)
    assert judged.episodes == ()
    assert [(h.code, h.start, h.end) for h in parts.happenings] == [
        (h.code, h.start, h.end) for h in whole.happenings
    ]


def test_channels_of_one_logger_are_known_by_their_files():
    seen, _ = recorded(1.0, 0.1, 0.0, 0)
    given = [channel for channel, _ in frames(seen)]
    assert loggers(given) == [0, 1, 0]
    assert loggers([replace(c, source_sha256=()) for c in given]) == [0, 0, 0]
    one, other = (series(c, f) for c, f in frames(seen)[:2])
    assert between(one, other) is None


def test_the_steps_of_such_a_surge_are_told_by_one_clock():
    seen, times = recorded(1.0, 0.5, 40.0, 3)
    given, known = frames(seen), context(seen)
    judged, got = told(seen)
    when = got.happenings[1].start
    one = incident(given, known, when, got, judged)
    assert one is not None
    assert any("stand 40 s apart (by 3 excursions" in words for words in one.clocks)
    assert all(abs(step.by - when) < timedelta(seconds=3) for step in one.steps)
    assert {step.channel for step in one.steps} >= {"in", "out"}
    assert times[1] == pytest.approx(when.timestamp(), abs=2.0)

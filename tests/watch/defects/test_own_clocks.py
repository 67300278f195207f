"""A logger other than the flow's whose clock is off or runs away is told with its channels, and put right."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from steadyhead.watch.defects import long
from steadyhead.watch.defects.clocks import found
from steadyhead.watch.defects.episode import BIT, JUDGED, Code
from steadyhead.watch.defects.judging import flags, judge
from steadyhead.watch.defects.series import series
from steadyhead.watch.happening.believing import scene
from tests.logger.handing import channels, context
from tests.logger.measuring import Seen, measured
from tests.logger.truth import BAR, MONDAY, Place, water

QUIET = Place(4.0e5, 0.15e5, 0.02e5, 0.01, 8.0e5, 0.4e5, 0.3e5, 0.012, 0.3, 120.0, 0.05)
OTHER = 2400.0
"""How far a clock is off, or by the end of the record. [s]"""


def record(seed: int, step: float = 60.0, days: float = 12.0) -> Seen:
    rng = np.random.default_rng([37, seed])
    seen = measured(rng, water(rng, QUIET, MONDAY, days, step))
    seen.traces = {name: seen.traces[name] for name in ("in", "out", "flow")}
    return seen


def moved(seen: Seen, name: str, off: float, *, runs: bool) -> None:
    trace = seen.traces[name]
    part = (trace.t - trace.t[0]) / (trace.t[-1] - trace.t[0]) if runs else np.ones(trace.t.size)
    trace.t = trace.t + np.round(off * part)


def of_files(seen: Seen, *alone: str):
    """Return the channels with their frames; those named come from a file of their own."""
    return [
        (replace(c, source_sha256=("b" if c.id in alone else "a",)), frame) for c, frame in channels(seen)
    ]


def clocks(frames, seen: Seen):
    return [e for e in judge(frames, context(seen)).episodes if "clock" in e.code]


@pytest.mark.parametrize(
    ("name", "runs", "own_file"),
    [
        ("out", False, True),
        ("in", False, True),
        ("out", True, True),
        ("out", False, False),
        ("in", False, False),
    ],
)
@pytest.mark.parametrize("off", [OTHER, -OTHER])
def test_a_pressure_on_another_clock_is_told_with_its_size(runs, name, off, own_file):
    seen = record(1)
    moved(seen, name, off, runs=runs)
    (told,) = clocks(of_files(seen, *[name] * own_file), seen)
    assert told.code is (Code.CLOCK_DRIFT if runs else Code.CLOCK_OFFSET)
    assert told.channels == (name,)
    assert told.magnitude == pytest.approx(off, abs=240.0)
    assert told.confidence == "likely"
    assert seen.traces[name].quantity in told.words


def test_a_visit_that_read_that_clock_makes_it_sure():
    seen = record(2)
    moved(seen, "out", OTHER, runs=False)
    for visit in seen.visits:
        visit["clock"] = OTHER
    (told,) = clocks(of_files(seen, "out"), seen)
    assert (told.channels, told.magnitude, told.confidence) == (("out",), OTHER, "certain")


def test_what_lies_in_the_file_of_that_logger_shares_its_clock():
    seen = record(3)
    moved(seen, "out", OTHER, runs=False)
    seen.traces["battery"] = replace(seen.traces["out"], quantity="battery")
    (told,) = clocks(of_files(seen, "out", "battery"), seen)
    assert set(told.channels) == {"out", "battery"}


def test_a_flow_apart_from_both_pressures_is_still_the_flow():
    seen = record(4)
    moved(seen, "flow", OTHER, runs=False)
    (told,) = clocks(of_files(seen, "flow"), seen)
    assert told.channels == ("flow",)


@pytest.mark.parametrize("seed", range(6))
def test_two_files_that_keep_time_are_left_alone(seed):
    seen = record(10 + seed, (60.0, 300.0, 900.0)[seed % 3])
    assert clocks(of_files(seen, "out"), seen) == []


@pytest.mark.parametrize("runs", [False, True])
def test_events_are_told_from_one_clock_and_the_stamps_stay(runs):
    seen = record(5)
    true = seen.traces["out"].t.copy()
    moved(seen, "out", OTHER, runs=runs)
    frames = of_files(seen, "out")
    judged = judge(frames, context(seen))
    every = [series(channel, frame) for channel, frame in frames]
    outlet = next(s for s in every if s.id == "out")
    assert np.all(flags(outlet, judged)[100:-100] & BIT[Code.CLOCK_DRIFT if runs else Code.CLOCK_OFFSET])
    flow = next(s for s in every if s.id == "flow")
    assert set(flags(flow, judged).tolist()) == {JUDGED}
    mended = scene(every, judged.episodes).outlet
    assert mended is not None
    assert np.max(np.abs(mended.t - true)) < 240.0


@pytest.mark.parametrize("rows", [700_000, 3000])
def test_what_the_other_clock_stamps_is_no_spike_for_want_of_a_witness(rows, monkeypatch):
    monkeypatch.setattr(long, "ROWS", rows)
    seen = record(6)
    for name, high in (("in", 2.0), ("out", 0.6)):
        seen.traces[name].v[9000] += high * BAR
    assert judge(of_files(seen, "out"), context(seen)).episodes == ()
    moved(seen, "out", OTHER, runs=False)
    assert {e.code for e in judge(of_files(seen, "out"), context(seen)).episodes} == {Code.CLOCK_OFFSET}


def test_without_another_channel_in_time_it_is_not_known_whose_clock_is_off():
    seen = record(7)
    moved(seen, "out", OTHER, runs=False)
    moved(seen, "in", -OTHER, runs=False)
    every = [series(channel, frame) for channel, frame in of_files(seen, "out", "in")]
    assert found(every, replace(context(seen), visits=())) == []

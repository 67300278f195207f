from __future__ import annotations

import shutil
from dataclasses import replace
from functools import partial
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from steadyhead import surge
from steadyhead.cli.bench_text import bench_text
from steadyhead.services.speed import Measured, SpeedAnswer, lines, measure_speed, measuring, speed_data
from steadyhead.services.speed import interior as interior_module
from steadyhead.services.speed.cases import FINE, STUDY, friction_error, pair, window
from steadyhead.services.speed.stiff import twin_of
from steadyhead.services.speed.timing import Figure
from steadyhead.surge.kernel import layout as at

ONE = Measured("step", "of a station", 2.9, "µs", 0.04, 9, 6.0)


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Put two short jobs in place of all; return what was done."""
    done: list[str] = []

    def job(name: str) -> list[Measured]:
        done.append(name)
        return [replace(ONE, name=name)]

    def jobs(*_: Any) -> list[Any]:
        return [measuring._Job(name, partial(job, name)) for name in ("one", "two")]

    monkeypatch.setattr(measuring, "_jobs", jobs)
    return done


def test_every_figure_is_told_with_progress(quick):
    told = []
    answer = measure_speed(progress=lambda done, total, what: told.append((done, total, what)))
    assert [one.name for one in answer.figures] == ["one", "two"]
    assert told == [(0, 2, "one"), (1, 2, "two"), (2, 2, "done")]
    assert not answer.was_stopped


def test_what_was_finished_is_told_where_somebody_stops(quick):
    answer = measure_speed(cancel=lambda: bool(quick))
    assert answer.was_stopped
    assert [one.name for one in answer.figures] == ["one"]
    assert "Stopped: the rest was not measured." in bench_text(answer)


def test_without_compiled_code_every_figure_is_left_out_for_that_reason(quick, monkeypatch):
    monkeypatch.setattr(measuring, "mode", lambda: "plain")
    answer = measure_speed()
    assert quick == []
    assert {one.missing for one in answer.figures} == {"kernels run plain here, not compiled"}
    assert all(one.value is None and one.is_met is None for one in answer.figures)


def test_a_goal_is_met_below_or_above_as_it_says():
    assert ONE.is_met
    assert not replace(ONE, value=6.1).is_met
    share = Measured("share", "of C", 0.69, "", goal=0.70, better="above")
    assert not share.is_met
    assert replace(share, value=0.70).is_met
    assert replace(ONE, goal=None).is_met is None


def test_figures_are_data_with_what_is_aimed_at_and_why_one_is_missing():
    missing = Measured("against scipy", "", None, "", missing="scipy is not installed")
    held = speed_data(SpeedAnswer((ONE, missing), False, False, "a machine"))
    assert held["figures"][0] == {
        "name": "step", "about": "of a station", "value": 2.9, "unit": "µs", "spread": 0.04, "rounds": 9,
        "goal": 6.0, "better": "below", "met": True, "missing": "", "ratio": None, "ratio_spread": 0.0,
        "ratio_to": "",
    }  # fmt: skip
    assert held["figures"][1]["value"] is None
    assert held["figures"][1]["missing"] == "scipy is not installed"


def test_figures_are_lines_a_person_reads():
    slow = replace(ONE, value=7.125)
    missing = Measured("against scipy", "", None, "", missing="scipy is not installed")
    text = bench_text(SpeedAnswer((ONE, slow, missing), True, False, "a machine"))
    assert "2.90 µs ± 4%   aimed at: below 6 µs\n" in text
    assert "7.12 µs ± 4%   aimed at: below 6 µs (not met here)" in text
    assert "left out: scipy is not installed" in text


def test_without_a_compiler_the_share_of_c_is_left_out_for_that_reason(monkeypatch):
    monkeypatch.setattr(shutil, "which", lambda name: None)
    interior_module.compiled_c.cache_clear()
    try:
        (found,) = measuring._interior(1, lambda: False)
    finally:
        interior_module.compiled_c.cache_clear()
    assert found.missing == "no C compiler here that takes the text"


@pytest.mark.source(kind="independent", ref="the method of lines finds its steady state by itself; 1e-6")
def test_the_yardstick_begins_at_the_steady_state_of_the_same_station():
    plan = pair(STUDY)
    rest = surge.steady_rest(surge.compile_plan(plan))
    event = lines.Event(((0.0, 30.0),))
    found = lines.integrate(twin_of(lines, plan), event, np.array([0.0, 0.01]), cells=20)
    plant = surge.compile_plan(plan)
    assert found.flow[0] == pytest.approx(rest.flow, rel=1e-6)
    assert found.inlet[0] == pytest.approx(rest.nodes[plant.nodes["T1"]], rel=1e-6)
    assert found.outlet[0] == pytest.approx(rest.nodes[plant.nodes["T3"]], rel=1e-6)
    assert found.lift[0] == pytest.approx(rest.lifts["RV1"], rel=1e-5)


def test_the_grids_that_are_measured_have_the_nodes_they_are_named_by():
    assert surge.compile_plan(pair(FINE)).node_count == 262
    assert surge.compile_plan(pair(STUDY)).node_count == 67


def test_a_window_is_searched_over_the_design_cases_asked_for():
    found: Any = window(1)()
    assert found.state == "open"
    plant = surge.compile_plan(pair(STUDY))
    state = surge.start(plant)
    assert float(state.run[at.INFLOW]) > 0.0


@pytest.mark.parametrize("method", ["BDF", "LSODA"])
def test_other_stiff_methods_come_near_the_first(method):
    asked = twin_of(lines, pair(STUDY))
    event = lines.Event(((0.0, 30.0), (0.2, 30.0), (0.6, 25.0)))
    times = np.linspace(0.0, 1.5, 16)
    runs = [
        lines.integrate(asked, event, times, cells=15, accuracy=1e-5, method=m) for m in ("Radau", method)
    ]
    assert np.abs(runs[0].outlet - runs[1].outlet).max() < 500.0


def test_memory_that_bdf_has_not_filled_yet_does_not_warn(monkeypatch: pytest.MonkeyPatch):
    """Rows of its table start as whatever lay there: filled with signalling NaN, nothing may change."""
    from scipy.integrate._ivp import bdf

    def dirty(shape: Any, dtype: Any = float) -> np.ndarray:
        return np.full(shape, 0x7FF4_0000_0000_0000, dtype=np.int64).view(dtype)

    monkeypatch.setattr(bdf, "np", SimpleNamespace(**{**vars(np), "empty": dirty}))
    test_other_stiff_methods_come_near_the_first("BDF")


def test_figures_that_took_turns_tell_their_ratio_to_the_first():
    first, second = Figure(2.0, 2.0, 0.1, 1.0, 0.0), Figure(5.0, 5.0, 0.1, 2.5, 0.02)
    made = measuring._to_first([ONE, replace(ONE, name="step, two streams")], [first, second])
    assert (made[0].ratio, made[1].ratio, made[1].ratio_to) == (None, 2.5, "step")
    answer = SpeedAnswer(tuple(made), False, False, "a machine")
    assert "×2.50 ±2% of step" in bench_text(answer)
    assert speed_data(answer)["figures"][1]["ratio"] == 2.5


@pytest.mark.source(kind="published", ref="Churchill 1977; physics specification: table within 1e-4")
def test_the_error_of_the_friction_table_is_measured():
    assert 0.0 < friction_error() < 1e-4


def test_memory_does_not_grow_with_the_number_of_runs():
    (figure,) = measuring._memory(False, lambda: False)
    assert figure.is_met, figure

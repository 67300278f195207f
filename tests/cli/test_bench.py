from __future__ import annotations

import json
from typing import Any

import pytest

from steadyhead.cli import bench_text
from steadyhead.cli.app import run
from steadyhead.services.speed import Measured, SpeedAnswer
from steadyhead.work import Cancel, Progress

STEP = Measured("step of a station", "262 nodes", 2.9, "µs", 0.04, 9, 6.0)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[bool]:
    """Put one known figure in place of the measurement; return what was asked for."""
    given: list[bool] = []

    def measured(*, full: bool, progress: Progress, cancel: Cancel) -> SpeedAnswer:
        given.append(full)
        return SpeedAnswer((STEP,), full, len(given) > 1, "a machine")

    monkeypatch.setattr(bench_text, "measure_speed", measured)
    monkeypatch.setattr("steadyhead.services.first_use.needs_compiling", lambda: False)
    return given


def test_bench_prints_figures_and_judges_nothing(asked: list[bool], capsys: Any) -> None:
    assert run(["bench"]) == 0
    told = capsys.readouterr().out
    assert "2.90 µs" in told
    assert "quick; --full measures longer" in told
    assert asked == [False]


def test_bench_as_json_is_the_same_figures(asked: list[bool], capsys: Any) -> None:
    assert run(["bench", "--json", "--full"]) == 0
    held = json.loads(capsys.readouterr().out)
    assert held["format"] == "steadyhead/speed/1"
    assert held["full"] is True
    assert [one["name"] for one in held["figures"]] == ["step of a station"]


def test_bench_that_was_stopped_shows_what_is_finished(asked: list[bool], capsys: Any) -> None:
    run(["bench"])
    capsys.readouterr()
    assert run(["bench"]) == 130
    told = capsys.readouterr().out
    assert "2.90 µs" in told
    assert "Stopped: the rest was not measured." in told

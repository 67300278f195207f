"""The benchmark of the app: a small part of it runs, and what is not kept is told."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from bench import web
from bench.__main__ import suites

pytestmark = pytest.mark.by_turns(6)
FOUND: dict[str, Any] = {
    "start": {"cold_s": 1.9, "warm_s": 1.1, "warm_cpu_s": 1.0},
    "pages": {"list": {"first_cpu_ms": 9.0, "cpu_ms": 6.0, "cpu_p95_ms": 8.0, "wait_ms": 7.0}},
    "ladder": {"wait_ms": 90.0, "wait_p95_ms": 120.0, "cpu_ms": 80.0},
    "idle": {"pages": 600, "wait_ms": 8.0, "wait_p95_ms": 20.0, "cpu_mean_ms": 6.0},
    "study": {
        "pages": 600, "wait_ms": 9.0, "wait_p95_ms": 25.0, "cpu_mean_ms": 6.0,
        "study_at_begin": "running", "study_at_end": "running",
    },
    "memory": {"pages": 5000, "before_mb": 300.0, "halfway_mb": 301.0, "after_mb": 302.0, "growth_mb": 2.0},
    "noise": {"loop_median_ms": 4.0, "loop_least_ms": 3.9, "loop_most_ms": 5.0, "loop_cpu_median_ms": 4.0},
}  # fmt: skip


def test_what_is_promised_is_held_against_what_was_found():
    assert web.missed(FOUND) == []
    slow = copy.deepcopy(FOUND)
    slow["pages"]["list"]["cpu_ms"] = 12.0
    slow["start"]["cold_s"] = 3.0
    assert web.missed(slow) == [
        "processor time of a page, median: 12 ms, promised 10 ms",
        "start, cold: 3 s, promised 2 s",
    ]
    assert "missed: start, cold: 3 s, promised 2 s" in web.as_text(slow)


def test_it_is_one_of_the_suites_and_a_small_part_of_it_runs(capsys):
    assert suites()["web"] is web.run
    assert web.run(web.QUICK) == 0
    told = capsys.readouterr().out
    for name in ("list", "face", "pressures", "design", "station upkeep", "history"):
        assert f"  {name} " in told
    assert "people, idle: " in told
    assert "study while they walked: running, running" in told
    assert "memory over 60 pages" in told

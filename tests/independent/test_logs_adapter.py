"""The logger cases shared with us are read as their truth says: channels, units, stamps, values."""

from __future__ import annotations

import json
import os
from datetime import datetime
from pathlib import Path
from typing import Any, get_args

import pytest

from steadyhead.records.logger import FactCode, Quantity, Statistic
from steadyhead.watch.defects.episode import Code
from steadyhead.watch.happening import Event
from tests.independent.logs_adapter import DEFECTS, EVENTS, FACTS, QUANTITIES, STATISTICS, read

SAMPLES = Path(
    os.environ.get("STEADYHEAD_LOGS", Path(__file__).parents[3] / "shared" / "checks" / "judging_samples")
)


def _cases() -> list[str]:
    listed = SAMPLES / "logs_context.json"
    return sorted(json.loads(listed.read_text("utf-8"))) if listed.is_file() else ["none"]


@pytest.mark.parametrize("case", _cases())
def test_a_shared_logger_case_is_read_as_its_truth_says(case):
    if case == "none":
        pytest.skip("the shared samples are not here")
    context = json.loads((SAMPLES / "logs_context.json").read_text("utf-8"))[case]
    truth = json.loads((SAMPLES / "logs_truth.json").read_text("utf-8"))[case]
    found = read([str(SAMPLES / name) for name in context["files"]], context)
    got = {(one["quantity"], one["stat"]): one for one in found["channels"]}
    assert sorted(got) == sorted((one["quantity"], one["stat"]) for one in truth["channels"])
    for one in truth["channels"]:
        compare(got[one["quantity"], one["stat"]], one, truth["t_tol_s"])
    assert set(truth["import_facts"]) <= set(found["import_facts"])
    assert set(truth["must_ask"]) <= set(found["asked"])
    wanted = {(one["kind"], one["channel"]) for one in truth["findings"]}
    assert {(one["kind"], one["channel"]) for one in found["findings"]} <= wanted, "no false alarm"
    assert wanted <= {(one["kind"], one["channel"]) for one in found["findings"]}
    for one in truth["findings"]:
        overlaps(next(x for x in found["findings"] if x["kind"] == one["kind"]), one)


def overlaps(got: dict[str, Any], truth: dict[str, Any]) -> None:
    start, end = max(got["start"], truth["start"], key=seconds), min(got["end"], truth["end"], key=seconds)
    span = max(seconds(one["end"]) - seconds(one["start"]) for one in (got, truth))
    assert seconds(end) - seconds(start) > 0.8 * span
    if truth["magnitude"] is not None:
        assert got["magnitude"] == pytest.approx(truth["magnitude"], rel=0.05)


def compare(got: dict[str, Any], truth: dict[str, Any], tolerance: float) -> None:
    assert got["unit"] == truth["unit"]
    assert len(got["t"]) == truth["n"]
    assert sum(value is None for value in got["v"]) == truth["n_missing"]
    for stamp, end in ((truth["first"], 0), (truth["last"], -1)):
        assert abs(got["t"][end] - seconds(stamp)) <= tolerance
    by_time = dict(zip(got["t"], got["v"], strict=True))
    for stamp, value in truth["probes"]:
        assert by_time[seconds(stamp)] == pytest.approx(value, abs=0.5 * 10 ** -truth["decimals"])


def seconds(stamp: str) -> float:
    return datetime.fromisoformat(stamp).timestamp()


def test_the_adapter_s_names_are_names_of_the_product():
    assert set(QUANTITIES) < set(get_args(Quantity))
    assert set(STATISTICS) == set(get_args(Statistic))
    assert set(FACTS) < set(get_args(FactCode))
    assert set(EVENTS) < set(Event)
    assert set(DEFECTS) < set(Code)

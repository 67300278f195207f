"""The lock-up of each stream of a yearly proof is judged for its own flow, whichever was tried last."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from tests.independent.run_adapter import judge

STORIES = json.loads((Path(__file__).parents[2] / "independent/stories/stories.json").read_text("utf-8"))
WATCHED = "TD shut, meter 0, 5 min"


def _running(stream: str, flow: float, *, words: bool) -> dict[str, Any]:
    """Return the clean yearly proof of two streams with water running in the lock-up of one of them."""
    story: dict[str, Any] = copy.deepcopy(next(one for one in STORIES if one["id"] == "U26"))
    (entry,) = [one for one in story["entries"] if one["text"].startswith(f"{stream} stream: {WATCHED}")]
    entry["did"] = [one for one in entry["did"] if one["verb"] != "closed"]
    entry.pop("positions")
    for one in entry["readings"]:
        one["flow"] = flow
    told = f"TD left a crack open, meter {flow} L/s, 5 min" if words else "5 min"
    entry["text"] = entry["text"].replace(WATCHED, told)
    return story


@pytest.mark.parametrize("stream", ["Duty", "Standby"])
@pytest.mark.parametrize(("flow", "words"), [(0.1, True), (0.35, False)])
def test_water_runs_in_the_lock_up_of_one_stream(stream: str, flow: float, *, words: bool) -> None:
    found = judge(_running(stream, flow, words=words))
    assert not found["final_allowed"]
    assert any(one["level"] == "block" and "lock-up" in one["text"] for one in found["issues"])


def test_with_none_running_it_is_clean() -> None:
    story = next(one for one in STORIES if one["id"] == "U26")
    assert judge(copy.deepcopy(story))["final_allowed"]

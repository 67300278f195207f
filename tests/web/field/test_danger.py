"""Which pressures stop a step: above its own limit where it sets one, else above the test limit."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.web.field.field_js import in_node, pack_of, plan_of

pytestmark = [pytest.mark.skipif(not shutil.which("node"), reason="no Node"), pytest.mark.by_turns(2)]
IMPORTS = {"danger": "tooHigh", "view": "planOf"}
BODY = """
const plan = planOf(data.pack)
result = data.steps.map((step) => tooHigh(plan, step).map((one) => one.name))
"""
OWN, GENERAL = 539_494.897, 534_494.897
"""Limits at the outlet: while the cut-off section is pumped up, and at every other step. [Pa]"""


def read(step: str, name: str, value: float, *, where: str = "", worked: bool = False) -> dict[str, Any]:
    """Return a step with one pressure. [Pa]"""
    verdict = {"value": value, "where": where}
    one = {"name": name, "kind": "pressure", "isWorked": worked, "band": None, "verdict": verdict}
    return {"id": step, "inputs": [one]}


def found(folder: Path, *steps: dict[str, Any]) -> list[list[str]]:
    """Return the readings of each step that stop it."""
    told: list[list[str]] = in_node(
        folder,
        IMPORTS,
        BODY,
        {"pack": pack_of(plan_of("quernhollow-lane"), said=False), "steps": list(steps)},
    )
    return told


def test_the_plan_pumps_a_cut_off_section_higher_than_its_test_limit():
    plan = json.loads(plan_of("quernhollow-lane").stored)
    refused = next(one for one in plan["nodes"] if one["id"] == "D2.main")["refuses"]
    assert [
        one["when"]["gt"][1] for one in refused if one["when"].get("gt", [{}])[0].get("value") == "T3.first"
    ] == [OWN]
    assert plan["limits"]["test_limit@main"] == GENERAL


def test_a_step_with_a_limit_of_its_own_stops_above_that_one(tmp_path: Path):
    told = found(
        tmp_path,
        read("D2.main", "T3.first", 539_000.0),
        read("D2.main", "T3.last", 539_000.0),
        read("D2.main", "T3.first", 540_000.0),
        read("D2.main", "T3.last", 540_000.0),
    )
    assert told == [[], [], ["T3.first"], ["T3.last"]]


def test_a_step_without_a_limit_of_its_own_stops_above_the_test_limit(tmp_path: Path):
    told = found(
        tmp_path,
        read("ES3.SO", "T3", 534_000.0),
        read("ES3.SO", "T3", 539_000.0),
        read("F2.SO", "T3.watch", 539_000.0),
        read("ES3.SO", "T1", 1_060_000.0),
        read("ES3.SO", "T3", 539_000.0, worked=True),
    )
    assert told == [[], ["T3"], ["T3.watch"], [], []]


def test_a_pressure_above_its_band_stops_whatever_the_limits_say(tmp_path: Path):
    high = read("B2", "T1", 50_000.0, where="outside")
    high["inputs"][0]["band"] = {"low": -10_000.0, "high": 10_000.0}
    low = read("B2", "T1", -50_000.0, where="outside")
    low["inputs"][0]["band"] = {"low": -10_000.0, "high": 10_000.0}
    assert found(tmp_path, high, low) == [["T1"], []]

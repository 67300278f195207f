"""What a turn is not worked out from: a run that goes on past the trip, a slip of the unit, another gauge."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from steadyhead.cli.advise_text import advised_text
from steadyhead.procedure.ledger import dump
from steadyhead.procedure.plain import plain
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.services.advising import Advised, advise_run, advised_data
from steadyhead.services.plan_files import plan_file
from steadyhead.services.running import judge_run
from steadyhead.units import METRIC
from tests.procedure.in_js import in_node
from tests.procedure.lane import plan
from tests.procedure.walking import GAUGE, Device, walk

LANE, ROW = "quernhollow-lane", "quillenby-row"


def begun(step: str, station: str = LANE) -> tuple[list[Entry], Device]:
    """Return a clean visit, its pilots to be set, up to a step, and the tablet that goes on from there."""
    made = plan("first", station)
    way = {one.id: "set" for one in made.choices}
    entries: list[Entry] = []
    for one in walk(made, way):
        if one.node == step:
            break
        entries.append(one)
    return entries, Device("tab-2", start=entries[-1].t_mono)


def shown(device: Device, step: str, name: str, bar: float, **more: Any) -> Entry:
    payload = {
        "input": name,
        "quantity": "pressure",
        "tap": "T3",
        "value": bar * 1e5,
        "instrument": GAUGE["name"],
    }
    return device.make("reading", {**payload, **more}, step)


def raised(device: Device, step: str) -> Entry:
    act = {"do": "raise", "thing": "RV.setting", "amount": 0.125, "unit": "turn"}
    return device.make("action", act, step)


def told(entries: list[Entry], station: str = LANE) -> Advised:
    return advise_run(judge_run(plan_file(plan("first", station)), dump(entries)), "RV")[0]


def status(entries: list[Entry], station: str = LANE) -> str:
    advice = told(entries, station).advice
    assert advice is not None
    assert advice.turn >= 0.0
    return advice.status if advice.turn == 0.0 else "turn"


def run_at(bar: float, station: str) -> list[Entry]:
    entries, device = begun("F1.SO", station)
    low = shown(device, "F1.SO", "hold", bar - 0.1, flow=1e-4)
    return [*entries, low, raised(device, "F1.SO"), shown(device, "F1.SO", "hold", bar, flow=1e-4)]


@pytest.mark.source(kind="common practice", ref="handbook 3.2 F1: passes P_T + tol without action: stop")
@pytest.mark.parametrize(
    ("station", "bar", "wanted"),
    [(LANE, 5.15, "no room"), (LANE, 5.22, "no room"), (LANE, 5.3, "over"), (ROW, 5.32, "no room"),
     (ROW, 5.36, "not acted"), (ROW, 5.42, "not acted")],
)  # fmt: skip
def test_a_run_in_which_nothing_acts_is_never_said_to_be_there(station: str, bar: float, wanted: str):
    assert status(run_at(bar, station), station) == wanted


@pytest.mark.parametrize(("station", "most"), [(LANE, "5.24 bar"), (ROW, "5.35 bar")])
def test_a_run_is_told_its_highest_reading_and_no_target_beyond_the_limit(station: str, most: str):
    text = advised_text([told(begun("F1.SO", station)[0], station)], METRIC)
    assert f"To be reached at T3: until the shut-off acts, {most} at most." in text


@pytest.mark.parametrize(("station", "is_past"), [(LANE, True), (ROW, False)])
def test_the_target_as_data_is_never_past_the_limit_and_an_aim_past_it_is_told(station: str, is_past: bool):
    found = told(run_at(5.1, station), station)
    data = advised_data((found,))["screws"][0]
    assert data["target_past_limit"] is is_past
    assert data["target_pa"] == min(found.aim.target, data["limit_pa"])
    text = " ".join(advised_text([found], METRIC).split())
    assert ("lies below what this step aims at, 5.30 bar: stop at the limit." in text) is is_past


def test_a_reading_that_fell_with_no_turn_counts_once_it_is_read_again():
    entries, device = begun("ES1.RV")
    entries += [shown(device, "ES1.RV", "first", 3.9), shown(device, "ES1.RV", "reading", 0.28)]
    assert status(entries) == "read first"
    assert status([*entries, shown(device, "ES1.RV", "reading", 3.9)]) == "turn"


def test_a_reading_that_still_moved_is_no_reading_to_turn_from():
    entries, device = begun("ES1.RV")
    moved = shown(device, "ES1.RV", "first", 3.5, steady_for=60.0, steady_within=1e5)
    assert status([*entries, moved]) == "read first"
    assert (
        status([*entries, shown(device, "ES1.RV", "first", 3.5, steady_for=60.0, steady_within=1e3)])
        == "turn"
    )


def wrong() -> dict[str, list[Entry]]:
    """Return visits in which a screw would be turned by what tells nothing of it."""
    entries, device = begun("ES1.RV")
    coarse = device.make("instrument", {**GAUGE, "name": "TG-9", "class": 0.04})
    old = device.make("instrument", {**GAUGE, "name": "TG-9", "due": "2020-09-30"})
    undated = device.make("instrument", {**GAUGE, "name": "TG-9", "due": ""})
    by = shown(device, "ES1.RV", "first", 3.5, instrument="TG-9")
    bare = shown(device, "ES1.RV", "first", 3.5, instrument="")
    good = shown(device, "ES1.RV", "first", 3.5)
    shut = device.make("position", {"thing": "IV1", "is": "shut"}, "ES1.RV")
    return {
        "coarse": [*entries, coarse, by],
        "overdue": [*entries, old, by],
        "not described": [*entries, by],
        "no due date": [*entries, undated, by],
        "no gauge named": [*entries, bare],
        "inlet shut": [*entries, good, shut],
        "none": [*entries, good],
    }


def test_no_turn_is_worked_out_from_an_unfit_gauge_or_with_the_inlet_shut():
    cases = wrong()
    for name, entries in cases.items():
        assert status(entries) == ("turn" if name == "none" else "needs first"), name
    again = shown(Device("tab-3", start=cases["coarse"][-1].t_mono), "ES1.RV", "reading", 3.5)
    assert status([*cases["coarse"], again]) == "turn"


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_the_same_is_missing_in_js(tmp_path: Path):
    procedure, cases = plan("first"), list(wrong().values())
    body = """
const { missingBefore } = await import("./judge.js")
result = data.cases.map((entries) => missingBefore(data.plan, entries, "ES1.RV"))
"""
    lines = [[plain_entry(one) for one in entries] for entries in cases]
    got = in_node(tmp_path, body, {"plan": plain(procedure), "cases": lines})
    assert got == [list(told(entries).waits) for entries in cases]

"""What the device holds against what is known: a reading against what was left, a gauge against its file."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from steadyhead.services.field.device_words import unit_table
from steadyhead.units import METRIC
from tests.web.field.field_js import in_node

pytestmark = pytest.mark.skipif(not shutil.which("node"), reason="no Node")
TRICKLE = 4e-4
"""A flow at which water is drawn by the drain. [m³/s]"""


def left(key: str, value: float, *, tap: str = "T3", flow: float | None = None) -> dict[str, Any]:
    return {
        "key": key,
        "what": key.replace(".", " "),
        "value": f"{value / 1e5:.2f} bar",
        "value_si": value,
        "flow_si": flow,
        "quantity": "pressure",
        "tap": tap,
        "on": "3 May 2026",
        "stands": "",
    }


LEFT = [left("RV.duty", 4e5, flow=TRICKLE), left("RV.lockup", 4.2e5), left("SO.trip", 5.2e5)]


def test_a_reading_is_held_against_what_is_of_one_kind_with_it_and_no_other(tmp_path: Path):
    two = [left("A.duty", 4e5), left("B.duty", 4.1e5)]
    body = """result = data.asked.map(([rows, state, tap, step]) =>
      likeOf(rows, state, tap, step).map((one) => one.key))"""
    asked = [
        (LEFT, "served", "T3", "Y1"),
        (LEFT, "trickle", "T3", "Y3"),
        (LEFT, "lockup.early", "T3", "Y3"),
        (LEFT, "trip_mid", "T3", "Y4"),
        (LEFT, "trip_set_mid", "T3", "F1.SO"),
        (LEFT, "duty", "T3", "H1.RV"),
        (LEFT, "served", "T1", "Y1"),
        (two, "trickle", "T3", "Y3.B@b"),
        (two, "served", "T3", "Y1"),
    ]
    got = in_node(tmp_path, {"found": "likeOf"}, body, {"asked": asked})
    assert got == [
        ["RV.duty"],
        ["RV.duty"],
        ["RV.lockup"],
        ["SO.trip"],
        [],
        [],
        [],
        ["B.duty"],
        ["A.duty", "B.duty"],
    ]


def test_it_says_by_how_much_it_lies_off_and_whether_the_flow_explains_some_of_it(tmp_path: Path):
    body = "result = data.reads.map((one) => offWords(data.table, data.left, one))"
    reads = [
        {"label": "T3", "value": 3.88e5, "half": 2000.0, "flow": TRICKLE},
        {"label": "T3", "value": 4.12e5, "half": 2000.0, "flow": 10 * TRICKLE},
        {"label": "T3", "value": 4.02e5, "half": 2000.0, "flow": None},
    ]
    data = {"table": unit_table(METRIC), "left": LEFT[0], "reads": reads}
    below, above, same = in_node(tmp_path, {"found": "offWords"}, body, data)
    assert below == "T3: 0.12 bar below what was left (RV duty 4.00 bar, left 3 May 2026)."
    assert above.startswith("T3: 0.12 bar above what was left (")
    assert above.endswith("Then at 0.40 L/s, now at 4.00 L/s: some of it is the flow.")
    assert same == "T3: as it was left, as far as the gauges tell (RV duty 4.00 bar, left 3 May 2026)."


def test_the_list_of_causes_tells_it_and_the_rest_stays_to_be_compared_by_eye(tmp_path: Path):
    read = {
        "name": "T3",
        "label": "T3",
        "tap": "T3",
        "kind": "pressure",
        "band": None,
        "verdict": {"value": 3.88e5, "entries": []},
    }
    signature = {
        "step": "Y1",
        "axes": [{"state": "served", "flows": [0.0]}],
        "absent": [],
        "reads": [
            {"input": "T3", "state": "served", "place": "T3", "flow": "", "usual": 0.0, "choice": None}
        ],
        "healthy": {"served/T3": [[4e5], [0.0], [0.0], [5e3]]},
        "causes": [],
        "none": {"name": "None of these fits", "tell": "", "then": "", "high": ""},
    }
    data = {
        "pack": {"causes": {"Y1": signature}, "as_left": LEFT, "units": unit_table(METRIC)},
        "step": {"id": "Y1", "inputs": [read], "worked": []},
    }
    body = """const view = { judged: { choices: {} }, instruments: {}, book: { stands: () => undefined } }
    result = causesOf(data.pack, view, data.step).marks"""
    got = in_node(tmp_path, {"pictures/causes": "causesOf"}, body, data)
    assert got[0].startswith("T3: 0.12 bar below what was left (RV duty 4.00 bar")
    assert [one.split(":")[0] for one in got[1:]] == ["Left last time at T3"] * 2


def test_a_gauge_that_the_station_file_describes_otherwise_says_so_and_the_label_decides(tmp_path: Path):
    body = "result = data.told.map((one) => fileWords(data.pack, data.table, one))"
    gauges = [{"name": "TG-1", "high": 10e5, "due": "2027-06-30"}, {"name": "TG-2", "high": 6e5, "due": ""}]
    told = [
        {"name": "TG-1", "high": 16e5, "due": "2026-12-31"},
        {"name": "TG-1", "high": 16e5, "due": "2027-06-30"},
        {"name": "TG-1", "high": 10.001e5, "due": "2027-06-30"},
        {"name": "TG-2", "high": 6e5, "due": "2027-01-01"},
        {"name": "TG-9", "high": 1e5, "due": ""},
    ]
    data = {"pack": {"gauges": gauges}, "table": unit_table(METRIC), "told": told}
    both, span, *same = in_node(tmp_path, {"screens/gauges": "fileWords"}, body, data)
    assert both == "the station file says to 10.00 bar, due 30 Jun 2027; the label decides"
    assert span == "the station file says to 10.00 bar; the label decides"
    assert same == ["", "", ""]

"""A Stop of one device reaches the other one, and stands until it is recorded, whatever a clock did."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from steadyhead.records.entry import plain_entry
from tests.procedure.lane import before
from tests.procedure.test_outlet_past_a_test import MOVES, _visit
from tests.procedure.walking import GAUGE, Device
from tests.web.field.field_js import RUN, in_node, pack_of, plan_of

pytestmark = [pytest.mark.skipif(not shutil.which("node"), reason="no Node"), pytest.mark.by_turns(2)]
READ = {"quantity": "pressure", "tap": "T3", "instrument": "TG-1", "typed": "6.00", "unit": "bar"}
IMPORTS = {"view": "see, planOf", "stops": "heeded"}
BODY = """
const plan = planOf(data.pack)
result = data.runs.map((entries) => {
  const view = see(data.pack, plan, entries, null, { step: "B1" })
  return { stops: view.stops, there: heeded(view.stops, "tab-2", "B1"),
    own: heeded(view.stops, "tab-1", "B1") }
})
"""


def entries() -> list[dict[str, Any]]:
    """Return a Stop of the air, one that was said, and what records each; the clock is set back between."""
    one, other = Device("tab-1", RUN), Device("tab-2", RUN)
    air = one.make("observation", {"input": "air", "value": False}, "A4")
    said = one.make("note", {"text": "Stop: Somebody is hurt."}, "A5")
    nobody = one.make("note", {"text": "After the Stop: seen. Nobody agreed to go on."}, "A4")
    agreed = one.make("note", {"text": "Aired. Agreed with the desk."}, "A4")
    over = other.make(
        "note", {"text": "After the Stop of tab-1 no. 2: all out and safe. Agreed with the desk."}, "A5"
    )
    made = [plain_entry(each) for each in (air, said, nobody, agreed, over)]
    made[3]["clock_offset"] = made[0]["clock_offset"] - 3600.0
    made[4]["clock_offset"] = -3600.0
    return made


def test_a_stop_takes_the_other_device_until_it_is_recorded(tmp_path: Path):
    air, said, nobody, agreed, over = entries()
    runs = [[air], [air, nobody], [air, agreed], [said], [air, said, agreed], [air, said, agreed, over]]
    given = {"pack": pack_of(plan_of("quernhollow-lane")), "runs": runs}
    found = in_node(tmp_path, IMPORTS, BODY, given)
    assert [[one["step"] for one in each["stops"]] for each in found] == [
        ["A4"], ["A4"], [], ["A5"], ["A5"], [],
    ]  # fmt: skip
    there = found[0]["there"]
    assert (there["step"], there["who"], there["device"], there["isSaid"]) == (
        "A4",
        air["who"],
        "tab-1",
        False,
    )
    assert there["when"]
    assert found[0]["own"] is None
    assert found[3]["own"]["words"] == found[3]["there"]["words"] == "Somebody is hurt."


def test_a_pressure_too_high_stops_the_other_device_though_the_step_tells_of_it(tmp_path: Path):
    device = Device("tab-1", RUN)
    made = [
        device.make("instrument", GAUGE),
        device.make("reading", {"input": "lockup", "value": 6.0e5, **READ}, "Y3.main"),
    ]
    lower = device.make("reading", {"input": "lockup", "value": 4.05e5, **READ}, "Y3.main")
    runs = [[plain_entry(one) for one in made], [plain_entry(made[0]), plain_entry(lower)]]
    given = {"pack": pack_of(plan_of("quernhollow-lane", "yearly")), "runs": runs}
    high, low = in_node(tmp_path, IMPORTS, BODY.replace('step: "B1"', 'step: "Y1"'), given)
    assert [one["step"] for one in high["stops"]] == ["Y3.main"]
    assert high["there"]["step"] == "Y3.main"
    assert "Y3.main" not in [one["step"] for one in low["stops"]]


def test_a_raise_against_an_inlet_valve_said_to_stand_open_stops_the_other_device(tmp_path: Path):
    runs = []
    for name in ("far", "a little"):
        made = sorted(before(_visit("first"), "F1.SO", MOVES[name][0]), key=lambda one: one.order)
        last = max(at for at, one in enumerate(made) if one.node == "F1.SO")
        runs.append([plain_entry(one) for one in made[: last + 1]])
    given = {"pack": pack_of(plan_of("quernhollow-lane")), "runs": runs}
    far, little = in_node(tmp_path, IMPORTS, BODY, given)
    assert "F1.SO" in [one["step"] for one in far["stops"]]
    assert far["there"]["step"] == "F1.SO"
    assert "F1.SO" not in [one["step"] for one in little["stops"]]

"""A band without one of its ends is told in plain words, on the device as in the office."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from steadyhead.findings import Severity, tell
from steadyhead.procedure.ledger import Ledger
from steadyhead.records.run import Remark
from steadyhead.services.running_words import Speaker
from tests.web.field.field_js import in_node, pack_of, plan_of

pytestmark = [pytest.mark.skipif(not shutil.which("node"), reason="no Node"), pytest.mark.by_turns(2)]
ENDS = (
    (None, 5.51e5, "up to 5.51 bar"),
    (2e5, None, "at least 2.00 bar"),
    (2e5, 3e5, "2.00 bar to 3.00 bar"),
)


def test_a_band_without_a_lower_end_is_told_as_up_to_its_upper_one(tmp_path: Path):
    plan = plan_of("quillenby-row", "restart")
    step, name = next(
        (node.id, one.name)
        for node in plan.procedure.nodes
        for one in node.inputs
        if one.quantity == "pressure"
    )
    rows: list[dict[str, Any]] = [
        {"input": name, "value": 6e5, "low": low, "high": high} for low, high, _ in ENDS
    ]
    remarks: list[dict[str, Any]] = [
        {"code": "RUN-14", "about": step, "entries": [], "params": row, "message": None} for row in rows
    ]
    body = """
const plan = planOf(data.pack)
result = data.remarks.map((one) => new Speaker(data.pack, plan, []).finding(one, "stop").statement)
"""
    data = {"pack": pack_of(plan), "remarks": remarks}
    there = in_node(tmp_path, {"saying": "Speaker", "view": "planOf"}, body, data)
    speaker = Speaker(plan.procedure, Ledger((), ()))
    here = [tell(speaker.finding(Remark("RUN-14", step, (), row), Severity.STOP)).statement for row in rows]
    assert there == here
    assert [one.rpartition("expected ")[2] for one in here] == [f"{words}." for _, _, words in ENDS]

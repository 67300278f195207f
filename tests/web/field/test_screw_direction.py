"""Which way a screw is turned is what the plan says of that very valve; where it does not, the plate."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from steadyhead.procedure.plain import from_json, plain
from steadyhead.records.procedure import Procedure
from steadyhead.services.advising import raises
from steadyhead.services.planning import make_plan
from steadyhead.station import examples
from tests.web.field.field_js import in_node

CLOCKWISE = "raises: clockwise"


def _plan(low_flow: str, others: str) -> Procedure:
    """Return the plan of a station whose low-flow screw raises so, the others otherwise."""
    before, mark, after = examples.read("quernhollow-lane").decode().partition("id: LB")
    own = after.replace(CLOCKWISE, low_flow, 1)
    made = make_plan((before.replace(CLOCKWISE, others) + mark + own).encode(), "first")
    assert made.procedure is not None
    return from_json(json.dumps(plain(made.procedure)).encode())


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_each_screw_has_its_own_direction_on_the_dial_as_on_the_terminal(tmp_path: Path) -> None:
    plans = (
        _plan("raises: anticlockwise", CLOCKWISE),
        _plan(CLOCKWISE, "raises: anticlockwise"),
    )
    names = ("RV", "SO", "LB")
    found = [[raises(one, name) for name in names] for one in plans]
    right, left = "clockwise", "anticlockwise"
    assert found == [[right, right, left], [left, left, right]]
    body = """
const both = (plan, name) => [true, false].map((isUp) => isClockwise(plan, name, isUp))
result = data.plans.map((plan) => data.names.map((name) => both(plan, name)))
"""
    data = {"plans": [plain(one) for one in plans], "names": names}
    got = in_node(tmp_path, {"advising": "isClockwise"}, body, data)
    assert got == [[[way == right, way != right] for way in one] for one in found]


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_a_direction_that_is_not_stated_is_not_guessed(tmp_path: Path) -> None:
    source = examples.read("quillenby-row").decode().replace(f", {CLOCKWISE}", "")
    made = make_plan(source.encode(), "first").procedure
    assert made is not None
    assert [raises(made, name) for name in ("RV", "SO")] == ["", ""]
    body = 'result = ["RV", "SO"].map((name) => isClockwise(data, name, true))'
    assert in_node(tmp_path, {"advising": "isClockwise"}, body, plain(made)) == [None, None]

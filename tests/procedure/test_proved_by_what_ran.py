"""What proves nothing though each field is filled: no water at a duty, a zone that falls, a step not done."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import dump, read
from steadyhead.procedure.plain import from_json, plain
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.records.procedure import Procedure
from steadyhead.records.run import Judgement
from steadyhead.services.planning import make_plan
from steadyhead.station import examples
from tests.procedure.in_js import in_node
from tests.procedure.lane import against, judged, plan, visit
from tests.procedure.test_in_js import close
from tests.procedure.walking import Device, walk

BAR = 1e5
STATION = "dunmarrow-bottom"
WAY = {"E0.RV": "set", "E0.SO": "set"}


def _other(entries: list[Entry], node: str, **values: float) -> list[Entry]:
    """Return a visit with some readings of a step otherwise; flow: beside every one of them too."""

    def changed(entry: Entry) -> Entry:
        if entry.node != node or entry.kind != "reading":
            return entry
        told = dict(entry.payload)
        name = str(told["input"])
        if name in values:
            told["value"] = values[name]
        if "flow" in values and told.get("flow") is not None:
            told["flow"] = values["flow"]
        return replace(entry, payload=told)

    return [changed(entry) for entry in entries]


def _said(found: Judgement) -> set[tuple[str, str]]:
    return {
        (one.remark.about, one.remark.message.id) for one in found.blocks if one.remark.message is not None
    }


def test_a_duty_read_with_hardly_any_water_running_is_none():
    entries = visit("first", WAY, STATION)
    assert not against(judged("first", entries, STATION))
    found = judged("first", _other(entries, "H1.RV", flow=0.0), STATION)
    assert ("H1.RV", "rf.duty_still") in _said(found)
    assert found.proof("RV.duty").state == "refused"


@pytest.fixture(scope="module")
def without_pump() -> Procedure:
    """The plan of a station whose crew has no hand pump: the outlet valve is tried by the reducer."""
    source = examples.read(STATION).decode()
    bare = source.replace("hand_pump: yes", "hand_pump: no")
    assert bare != source
    made = make_plan(bare.encode(), "first").procedure
    assert made is not None
    assert "T4.first" in {one.name for one in made.node("D2").inputs}
    assert "strokes" not in {one.name for one in made.node("D2").inputs}
    return from_json(json.dumps(plain(made)).encode())


@pytest.mark.parametrize(
    ("values", "text"),
    [
        ({"T4.first": 3.0 * BAR, "T4.last": 1.0 * BAR}, "rf.pump_fed"),
        ({"T4.first": 9.0 * BAR, "T4.last": 9.0 * BAR}, "rf.pump_level"),
    ],
)
def test_an_outlet_valve_tried_by_the_reducer_is_not_proved_by_a_zone_that_falls_or_stands_higher(
    without_pump: Procedure, values: dict[str, float], text: str
):
    entries = list(walk(without_pump, WAY))
    assert judge(without_pump, read(dump(entries))).proof("IV2.tight").state == "valid"
    found = judge(without_pump, read(dump(_other(entries, "D2", **values))))
    assert ("D2", text) in _said(found)
    assert found.proof("IV2.tight").state == "refused"


def _never_shut(late: bool) -> list[Entry]:
    """Return a visit in which the shut-off never shut at DS4: said in its turn, or at the end of the day."""
    entries = visit("first", WAY, STATION)
    at = next(at for at, one in enumerate(entries) if one.node == "DS4x")
    rest = [one for one in entries if one.node != "DS4x"]
    said = Device("tab-2").make("observation", {"input": "shut", "value": False}, "DS4x")
    said = replace(said, t_device=entries[-1 if late else at].t_device)
    return [*rest, said]


@pytest.mark.parametrize("late", [False, True])
def test_a_step_that_is_said_not_to_have_taken_place_touches_nothing(late: bool):
    entries = _never_shut(late)
    found = judged("first", entries, STATION)
    assert {found.proof(name).state for name in ("SO.acts", "SO.trip", "SO.accepted")} == {"valid"}
    if not late:
        assert not against(found)


@pytest.mark.parametrize(("after", "agrees"), [(0.0, True), (0.25, True), (0.35, False), (3.0, False)])
def test_a_shut_off_called_fully_open_whose_two_sides_differ_is_not(after: float, *, agrees: bool):
    entries = visit("first", WAY, STATION)
    before = next(
        one.payload["value"] for one in entries if one.node == "DS4x" and one.payload.get("input") == "T2"
    )
    found = judged("first", _other(entries, "DS4x", T3=before - after * BAR), STATION)
    assert (("RUN-08", "DS4x") not in against(found)) is agrees


def _not_shut_after_all() -> list[Entry]:
    """Return a visit in which the two sides differed at DS4x, and *it had not shut* is said in its place."""
    entries = _other(visit("first", WAY, STATION), "DS4x", T3=0.0)
    return [
        replace(one, payload={**one.payload, "value": False})
        if one.node == "DS4x" and one.payload.get("input") == "shut"
        else one
        for one in entries
    ]


def test_where_it_has_not_shut_its_two_sides_are_asked_nothing():
    assert ("RUN-08", "DS4x") not in against(judged("first", _not_shut_after_all(), STATION))


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_both_judges_say_the_same_of_all_of_it(tmp_path: Path):
    whole = visit("first", WAY, STATION)
    records = [
        _never_shut(False),
        _never_shut(True),
        _other(whole, "H1.RV", flow=0.0),
        _other(whole, "DS4x", T3=0.0),
    ]
    data = {
        "plan": plain(plan("first", STATION)),
        "runs": [[plain_entry(one) for one in entries] for entries in records],
    }
    got = in_node(tmp_path, "result = data.runs.map((one) => judge(data.plan, one))", data)
    for at, (entries, one) in enumerate(zip(records, got, strict=True)):
        found = judged("first", read(dump(entries)).entries, STATION)
        close(one, json.loads(json.dumps(plain_judgement(found))), str(at))

"""An outlet that stands too high once the consumers are connected, and gauges and zones that contradict."""

from __future__ import annotations

import json
import shutil
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.ledger import dump, read
from steadyhead.procedure.plain import plain
from steadyhead.records.entry import Entry, plain_entry
from tests.procedure.in_js import in_node
from tests.procedure.lane import RETURNS, act, against, before, judged, plan, stands, visit
from tests.procedure.test_in_js import close
from tests.procedure.walking import clean_ways

BAR = 1e5
STATION = "dunmarrow-bottom"
"""Shut-off behind the reducer, another feed; lock-up 3.6, alarm 4.2, trip 4.75, its upper edge 5.06 bar."""
SET = {"E0.RV": "set", "E0.SO": "set"}
Case = tuple[str, Mapping[tuple[str, str], Any], tuple[str, str]]
HIGH: tuple[Case, ...] = (
    ("restart", {("J2", "T3"): 4.4 * BAR, ("J2", "T4"): 4.4 * BAR}, ("RUN-14", "J2")),
    ("restart", {("J3", "T3"): 5.3 * BAR, ("J3", "T4"): 5.3 * BAR}, ("RUN-08", "J3")),
    ("restart", {("J6", "gauge"): 6.5 * BAR, ("J6", "logger"): 6.5 * BAR}, ("RUN-08", "J6")),
    ("yearly", {("Y8", "T3"): 4.4 * BAR, ("Y8", "T4"): 4.4 * BAR}, ("RUN-14", "Y8")),
    ("yearly", {("Y8", "T4"): 6.0 * BAR}, ("RUN-08", "Y8")),
    ("first", {("J3", "T4"): 4.4 * BAR}, ("RUN-14", "J3")),
    ("first", {("A6", "second"): 4.0 * BAR}, ("RUN-08", "A6")),
    ("first", {("DS0", "T1"): 3.0 * BAR}, ("RUN-08", "DS0")),
    ("first", {("DS1", "T3"): 6.0 * BAR}, ("RUN-08", "DS1")),
    ("first", {("DS2", "first"): 6.0 * BAR}, ("RUN-08", "DS2")),
    ("first", {("ES2.RV", "reading"): 6.5 * BAR}, ("RUN-08", "ES2.RV")),
    ("first", {("DS4x", "T3"): 6.5 * BAR}, ("RUN-59", "DS4x")),
    ("first", {("C5", "T3"): 6.0 * BAR}, ("RUN-08", "C5")),
    ("first", {("B1", "T4.last"): 0.0}, ("RUN-08", "B1")),
)
FINE: tuple[tuple[str, Mapping[tuple[str, str], Any]], ...] = (
    ("first", {("A6", "second"): 3.03 * BAR}),
    ("first", {("B1", "T4.first"): 0.0, ("B1", "T4.last"): 0.0}),
    ("restart", {("J2", "T3"): 4.0 * BAR, ("J2", "T4"): 4.0 * BAR}),
)


def _visit(kind: str) -> list[Entry]:
    way = SET if kind == "first" else RETURNS if kind == "restart" else clean_ways(plan(kind, STATION))[0]
    return visit(kind, way, STATION)


def _read(kind: str, values: Mapping[tuple[str, str], Any]) -> list[Entry]:
    """Return a clean visit with some inputs answered otherwise."""
    entries = _visit(kind)
    asked = [(one.node, str(one.payload.get("input"))) for one in entries]
    assert set(values) <= set(asked)
    return [
        replace(one, payload={**one.payload, "value": values[key]}) if key in values else one
        for one, key in zip(entries, asked, strict=True)
    ]


@pytest.mark.parametrize(("kind", "values", "asked"), HIGH)
def test_what_no_station_may_read_there_stands_against_final(
    kind: str, values: Mapping[tuple[str, str], Any], asked: tuple[str, str]
):
    assert asked in against(judged(kind, _read(kind, values), STATION))


@pytest.mark.parametrize(("kind", "values"), FINE)
def test_what_may_be_read_there_does_not(kind: str, values: Mapping[tuple[str, str], Any]):
    assert not against(judged(kind, _read(kind, values), STATION))


def test_above_the_lock_up_and_below_the_alarm_is_told_where_another_feed_may_hold_it():
    told = judged("restart", _read("restart", {("J2", "T3"): 4.0 * BAR, ("J2", "T4"): 4.0 * BAR}), STATION)
    assert ("RUN-08", "J2") in {(one.code, one.about) for one in told.told}


def test_a_touch_answers_no_outlet_read_above_the_limit_of_a_test():
    entries = before(_read("first", {("DS4x", "T3"): 6.5 * BAR}), "DS5", act("turn", "SO.setting"))
    assert ("RUN-59", "DS4x") in against(judged("first", entries, STATION))


def test_a_shut_off_said_to_be_in_service_stands_as_it_is_left():
    assert not against(judged("yearly", before(_visit("yearly"), "Y8", stands("SO", "in service")), STATION))
    entries = [*before(_visit("yearly"), "Y8", stands("SO", "open")), stands("SO", "in service")]
    assert not against(judged("yearly", entries, STATION))


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_the_two_judges_agree(tmp_path: Path) -> None:
    runs = [(kind, _read(kind, values)) for kind, values, _ in HIGH]
    runs += [(kind, _read(kind, values)) for kind, values in FINE]
    data = {
        "plans": {kind: plain(plan(kind, STATION)) for kind, _ in runs},
        "runs": [{"kind": kind, "entries": [plain_entry(one) for one in entries]} for kind, entries in runs],
    }
    got = in_node(tmp_path, "result = data.runs.map((one) => judge(data.plans[one.kind], one.entries))", data)
    for (kind, entries), one in zip(runs, got, strict=True):
        wanted = json.loads(json.dumps(plain_judgement(judged(kind, read(dump(entries)).entries, STATION))))
        close(one, wanted, kind)

"""Valves moved at a time that two clocks leave open, and a drain said shut before a screw is turned."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import pytest

from steadyhead.procedure.holding import UNTOLD, dry_now
from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.ledger import dump, read
from steadyhead.procedure.plain import plain
from steadyhead.procedure.record import lay
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.records.run import Remark
from steadyhead.services.advising import advise_run
from steadyhead.services.plan_files import PlanFile
from steadyhead.services.running import JudgedRun
from tests.procedure.in_js import in_node
from tests.procedure.lane import act, against, before, judged, plan, stands, visit
from tests.procedure.test_in_js import close
from tests.procedure.walking import clean_ways

ROW = "quillenby-row"
HOURS, SURE = 7200.0, 5.0
Made = Callable[[], Entry]


def _beside(entries: list[Entry], step: str, name: str, by: float, within: float, *new: Entry) -> list[Entry]:
    """Return the entries with others of another device some seconds beside a reading."""
    at = [one for one in entries if one.node == step and name in ("", one.payload.get("input"))][-1]
    made = [
        replace(
            one, run=at.run, id=f"beside-{by}-{number}", device_seq=700 + number, t_device=at.t_device,
            t_mono=0.0, clock_offset=by + number, clock_within=within,
        )
        for number, one in enumerate(new)
    ]  # fmt: skip
    return [*entries, *made]


def _told(kind: str, entries: list[Entry], about: str, station: str = "quernhollow-lane") -> list[Remark]:
    found = judged(kind, entries, station).blocks
    return [one.remark for one in found if one.remark.code == "RUN-48" and one.remark.about == about]


CASES = (
    ("first", "F1.SO", "", 40.0, lambda: act("open", "IV2"), "SO.acts"),
    ("first", "F1.SO", "", 40.0, lambda: act("open", "IV1"), "F1.SO"),
    ("first", "H2.RV", "", 40.0, lambda: act("open", "TD"), "RV.lockup"),
)


@pytest.mark.parametrize(("kind", "step", "name", "by", "made", "about"), CASES)
def test_a_valve_moved_by_a_clock_known_within_hours_may_have_been_so_in_a_step(
    kind: str, step: str, name: str, by: float, made: Made, about: str
) -> None:
    found = _told(kind, _beside(visit(kind), step, name, by, HOURS, made()), about)
    assert found, about
    assert UNTOLD in str(found[0].params["is"])


@pytest.mark.parametrize(("kind", "step", "name", "by", "made", "about"), CASES)
def test_where_the_clocks_agree_they_tell_that_it_was_over(
    kind: str, step: str, name: str, by: float, made: Made, about: str
) -> None:
    back = act("shut", made().payload["thing"])
    entries = _beside(visit(kind), step, name, by / 20, SURE, made(), back)
    assert not _told(kind, entries, about)


def test_an_inlet_valve_put_back_by_a_clock_known_within_hours_may_still_have_stood_open() -> None:
    entries = before(visit("first"), "F1.SO", act("open", "IV1"))
    later = _beside(entries, "F1.SO", "act", -20.0, HOURS, stands("IV1", "at V2"))
    assert not _told("first", _beside(entries, "F1.SO", "act", -200.0, SURE, stands("IV1", "at V2")), "x")
    assert _told("first", later, "F1.SO")


def _dry(*new: Entry) -> tuple[str, ...]:
    until = [one for one in visit("first", None, ROW) if one.node[:1] in "ABCD"]
    entries = before(until, "", *new)
    return dry_now(lay(plan("first", ROW), read(dump(entries)).standing), "F1.SO")


def test_no_turn_is_advised_with_the_drain_said_shut_until_water_runs() -> None:
    assert _dry() == ()
    assert _dry(act("shut", "TD")) == _dry(stands("TD", "shut")) == ("TD open, water running",)
    assert _dry(act("shut", "TD"), act("open", "TD")) == ()
    flow = replace(
        act("shut", "TD"), kind="reading", payload={"input": "T3", "tap": "T3", "value": 4e5, "flow": 4e-4}
    )
    assert _dry(act("shut", "TD"), flow) == ()
    assert _dry(act("shut", "TD"), replace(flow, payload={**flow.payload, "flow": 0.0}))


def test_the_advice_waits_for_the_drain_where_nothing_else_stands_against_a_turn() -> None:
    until = [one for one in visit("first", None, ROW) if one.node[:1] in "ABCD"]
    for new, wanted in (((), False), ((stands("TD", "shut"),), True)):
        entries = before(until, "", *new)
        ledger = read(dump(entries))
        run = JudgedRun(
            cast(PlanFile, SimpleNamespace(procedure=plan("first", ROW))),
            ledger,
            judged("first", entries, ROW),
        )
        told = advise_run(run)[0]
        assert ("TD open, water running" in told.waits) is wanted
        assert told.advice is not None
        assert not wanted or (told.advice.status, told.advice.turn) == ("needs first", 0.0)


def test_clocks_and_drains_are_judged_alike_in_javascript(tmp_path: Path) -> None:
    if shutil.which("node") is None:
        pytest.skip("no node here")
    told = [
        _beside(visit(kind), step, name, by, within, made())
        for kind, step, name, by, made, _ in CASES
        for within in (HOURS, SURE)
    ]
    told.append(
        _beside(
            before(visit("first"), "F1.SO", act("open", "IV1")),
            "F1.SO",
            "act",
            -20.0,
            HOURS,
            stands("IV1", "at V2"),
        )
    )
    until = [one for one in visit("first") if one.node[:1] in "ABCD"]
    dry = [
        before(until, "", *new)
        for new in ((), (act("shut", "TD"),), (stands("TD", "shut"), act("open", "TD")))
    ]
    data = {
        "plan": plain(plan("first")),
        "told": [[plain_entry(one) for one in entries] for entries in told],
        "dry": [[plain_entry(one) for one in entries] for entries in dry],
    }
    body = (
        'const { missingBefore } = await import("./judge.js")\n'
        'const asks = (all) => missingBefore(data.plan, all, "F1.SO").filter((each) => /TD/.test(each))\n'
        "result = [data.told.map((entries) => judge(data.plan, entries)), data.dry.map(asks)]"
    )
    judgements, missing = in_node(tmp_path, body, data)
    for entries, theirs in zip(told, judgements, strict=True):
        close(theirs, json.loads(json.dumps(plain_judgement(judged("first", entries)))), entries[-1].id)
    assert missing == [
        list(dry_now(lay(plan("first"), read(dump(entries)).standing), "F1.SO")) for entries in dry
    ]


def _later(one: Entry, by: float, number: int) -> Entry:
    """Return an entry as it is made some seconds later, a time of day told in it too."""
    moment = datetime.fromisoformat(one.t_device) + timedelta(seconds=by)
    payload = dict(one.payload)
    if payload.get("input") == "told_at":
        told = datetime.strptime(str(payload["value"]), "%H:%M:%S") + timedelta(seconds=by)
        payload["value"] = told.strftime("%H:%M:%S")
    made = replace(one, id=f"later-{number}", device_seq=number, payload=payload)
    return replace(made, t_device=moment.isoformat(), t_mono=one.t_mono + by)


def _connected(kind: str, station: str, step: str, name: str, again: tuple[str, ...]) -> list[Entry]:
    """Return a visit with the outlet valve opened and shut after a reading, and steps gone through again."""
    entries = visit(kind, clean_ways(plan(kind, station))[-1], station)
    made: list[Entry] = []
    shift, left = 0.0, [one for one in entries if one.node == step][-1]
    for one in entries:
        made.append(_later(one, shift, len(made) + 1))
        if one.node == step and one.payload.get("input") == name:
            for do in ("open", "shut"):
                moved = replace(one, kind="action", node="", payload={"do": do, "thing": "IV2"})
                made.append(_later(moved, shift + 1.0, len(made) + 1))
        for other in again if one is left else ():
            own = [each for each in entries if each.node == other]
            moments = [datetime.fromisoformat(each.t_device) for each in (one, own[0], own[-1])]
            by = shift + 60.0 + (moments[0] - moments[1]).total_seconds()
            made += [_later(each, by, len(made) + 1 + at) for at, each in enumerate(own)]
            shift += 60.0 + (moments[2] - moments[1]).total_seconds()
    return made


MILL = "orrowby-mill"
BACK: tuple[tuple[str, str, str, tuple[str, ...], set[tuple[str, str]]], ...] = (
    (MILL, "Y4", "at", ("Y2", "Y4"), set()),
    (MILL, "Y3R.RL", "crack", ("Y2", "Y3R.RL"), set()),
    (ROW, "Y4.SO", "hold", (), {("RUN-48", "Y4.SO")}),
    (ROW, "Y4.SO", "hold", ("Y2",), set()),
)


@pytest.mark.parametrize(("station", "step", "name", "again", "wanted"), BACK)
def test_once_consumers_were_connected_proving_again_ends_in_a_final_record(
    station: str, step: str, name: str, again: tuple[str, ...], wanted: set[tuple[str, str]]
) -> None:
    found = judged("yearly", _connected("yearly", station, step, name, again), station)
    assert {(one.remark.code, one.remark.about) for one in found.blocks} >= wanted
    if not wanted:
        assert not against(found)
    if (station, again) == (ROW, ("Y2",)):
        assert [one.about for one in found.told if one.code == "RUN-48"] == ["Y4.SO"]


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_the_way_back_is_judged_alike_in_javascript(tmp_path: Path) -> None:
    told = [_connected("yearly", ROW, "Y4.SO", "hold", again) for again in ((), ("Y2",))]
    data = {"plan": plain(plan("yearly", ROW)), "told": [[plain_entry(one) for one in all_] for all_ in told]}
    found = in_node(tmp_path, "result = data.told.map((entries) => judge(data.plan, entries))", data)
    for entries, theirs in zip(told, found, strict=True):
        close(theirs, json.loads(json.dumps(plain_judgement(judged("yearly", entries, ROW)))), "way back")

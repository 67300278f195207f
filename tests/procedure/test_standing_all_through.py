"""Valves that stand as they are to stand all through a step: shut (V1), or at the V2 opening (V2)."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from steadyhead.procedure.holding import too_far_now
from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.ledger import dump, read
from steadyhead.procedure.naming import stands_open, stands_shut
from steadyhead.procedure.plain import plain
from steadyhead.procedure.record import lay
from steadyhead.procedure.steps import look
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.records.run import Judgement
from tests.procedure.in_js import in_node
from tests.procedure.lane import RETURNS, act, against, before, judged, plan, stands, visit
from tests.procedure.test_in_js import close
from tests.procedure.walking import clean_ways

Made = Callable[[], Entry]
LANE, ROW, GATE, MILL = "quernhollow-lane", "quillenby-row", "fenwarren-gate", "orrowby-mill"
WIDE: tuple[Made, ...] = (
    lambda: act("open", "IV1", amount=34.0, unit="turns"),
    lambda: act("open", "IV1"),
    lambda: act("open", "IV1", detail="fully"),
    lambda: stands("IV1", "open"),
    lambda: stands("IV1", "fully open"),
    lambda: stands("IV1", "open, 34 turns"),
)
AS_PLANNED: tuple[Made, ...] = (
    lambda: act("open", "IV1", amount=1.5, unit="turns"),
    lambda: act("crack", "IV1"),
    lambda: act("throttle", "IV1"),
    lambda: stands("IV1", "V2 opening"),
    lambda: stands("IV1", "open, 1.5 turns"),
    lambda: stands("IV1", "open to V2"),
    lambda: stands("IV1", "cracked"),
    lambda: stands("IV1", "shut"),
)


def _near(entries: list[Entry], step: str, name: str, by: float, *new: Entry) -> list[Entry]:
    """Return the entries with others some seconds beside a reading."""
    at = next(one for one in entries if one.node == step and one.payload.get("input") == name)
    made = [
        replace(
            one, run=at.run, id=f"near-{by}-{number}", t_device=at.t_device, clock_offset=by + number / 10
        )
        for number, one in enumerate(new)
    ]
    return [*entries, *(replace(one, t_mono=0.0) for one in made)]


def _after(entries: list[Entry], steps: tuple[str, ...], *, later: float = 86400.0) -> list[Entry]:
    """Return the entries with steps gone through once more, in the same order, a day later."""
    again: list[Entry] = []
    for number, one in enumerate(one for step in steps for one in entries if one.node == step):
        moment = datetime.fromisoformat(one.t_device) + timedelta(seconds=later)
        id_, seq = f"again-{number}", 90000 + number
        again.append(replace(one, id=id_, device_seq=seq, t_device=moment.isoformat(), t_mono=0.0))
    return [*entries, *again]


def _codes(found: Judgement) -> set[tuple[str, str]]:
    return {one for one in against(found) if one[0] in ("RUN-48", "RUN-53")}


def _state(found: Judgement, name: str) -> str:
    return str(next(one.state for one in found.proofs if one.name == name))


@pytest.mark.parametrize(
    ("station", "kind", "step", "made"),
    [(GATE, "first", "MN1.MON", made) for made in WIDE]
    + [(LANE, "first", "F1.SO", WIDE[0]), (ROW, "yearly", "Y4.SO", WIDE[3])],
)
def test_a_raise_with_the_inlet_valve_beyond_its_opening_is_refused(
    station: str, kind: str, step: str, made: Made
) -> None:
    found = judged(kind, before(visit(kind, None, station), step, made()), station)
    assert ("RUN-48", step) in against(found)


@pytest.mark.parametrize("made", WIDE[:3])
def test_so_is_the_reset_of_a_restart(made: Made) -> None:
    entries = _near(visit("restart", RETURNS, ROW), "R7R", "T1", -5.0, made())
    assert _codes(judged("restart", entries, ROW)) == {("RUN-48", "R7R")}


@pytest.mark.parametrize("made", AS_PLANNED)
def test_with_the_inlet_valve_at_its_opening_or_less_nothing_is_said(made: Made) -> None:
    found = judged("first", before(visit("first", None, GATE), "MN1.MON", made()), GATE)
    assert not _codes(found)


def test_it_may_be_put_back_before_the_raise_and_then_the_raise_stands() -> None:
    entries = before(visit("first"), "F1.SO", act("open", "IV1"), stands("IV1", "open, 1.75 turns"))
    assert not _codes(judged("first", entries))


def test_opened_in_the_middle_it_counts_and_put_back_the_steps_after_it_stand() -> None:
    entries = _near(visit("first"), "F1.SO", "act", -5.0, act("open", "IV1"))
    entries = before(entries, "F2.SO", stands("IV1", "at V2"))
    assert _codes(judged("first", entries)) == {("RUN-48", "F1.SO")}


def test_where_the_drain_holds_a_full_opening_only_more_turns_than_it_has_are_refused() -> None:
    entries = visit("first", None, MILL)
    assert not _codes(judged("first", before(entries, "R1.RL", stands("IV1", "fully open")), MILL))
    assert ("RUN-48", "R1.RL") in against(
        judged("first", before(entries, "R1.RL", stands("IV1", "open, 34 turns")), MILL)
    )


def test_no_deviation_accepts_an_inlet_valve_too_far_open() -> None:
    found = judged("first", before(visit("first"), "F1.SO", act("open", "IV1")))
    assert not any(one.may_accept for one in found.blocks if one.remark.code == "RUN-48")


def test_no_turn_is_advised_while_it_stands_too_far_open_and_the_opening_is_said() -> None:
    procedure = plan("first")

    def is_low(step: str) -> bool:
        return procedure.streams.get(step) == "low"

    def now(*new: Entry) -> tuple[str, ...]:
        until = [one for one in visit("first") if one.node[:1] in "ABCD" and not is_low(one.node)]
        record = lay(procedure, read(dump(before(until, "", *new))).standing)
        return too_far_now(record, look(record), "F1.SO")

    assert now() == ()
    assert now(act("open", "IV1")) == ("IV1 at its V2 opening, 1.75 turns",)
    assert now(act("open", "IV1"), act("throttle", "IV1")) == ()


WORDS = ("SHUT", "shut, 34 turns", "closed, locked", "not shut", "2 turns from shut", "zu", "tight", "fermé")
CONNECTED = (
    (LANE, "first", "F1.SO", "act", "SO.acts", "D2.main"),
    (LANE, "first", "F3.SO", "act.3", "SO.trip", "D2.main"),
    (GATE, "first", "MN1.MON", "peak", "MON.stands_in", "D2"),
    (MILL, "first", "R1.RL", "crack", "RL.crack", "D2"),
    (ROW, "yearly", "Y6.SO", "act.3", "SO.trip", "Y2"),
)


@pytest.mark.parametrize(("station", "kind", "step", "name", "proof", "gives"), CONNECTED)
def test_a_raise_in_which_the_consumers_were_connected_does_not_count(
    station: str, kind: str, step: str, name: str, proof: str, gives: str
) -> None:
    entries = _near(visit(kind, None, station), step, name, -0.5, act("open", "IV2"), act("shut", "IV2"))
    assert _state(judged(kind, entries, station), proof) == "stale"
    proved = _after(entries, (gives,))
    assert _state(judged(kind, proved, station), proof) == "stale"
    assert ("RUN-48", proof) in against(judged(kind, proved, station))


def test_run_again_after_the_outlet_valve_is_proved_anew_it_counts() -> None:
    entries = _near(visit("first"), "F1.SO", "act", -0.5, act("open", "IV2"), act("shut", "IV2"))
    found = judged("first", _after(entries, ("D2.main", "F1.SO")))
    assert ("RUN-48", "SO.acts") not in against(found)
    assert ("RUN-53", "F1.SO") not in against(found)


def test_a_first_run_as_found_with_the_consumers_connected_is_refused() -> None:
    entries = _near(visit("yearly", None, ROW), "Y4.SO", "act", -0.5, act("open", "IV2"), act("shut", "IV2"))
    assert ("RUN-48", "Y4.SO") in against(judged("yearly", _after(entries, ("Y2",)), ROW))


@pytest.mark.parametrize("thing", ["IV2", "TD"])
@pytest.mark.parametrize("station", [ROW, "pinnock-yard"])
def test_a_lock_up_in_which_water_was_let_off_is_none(station: str, thing: str) -> None:
    entries = _near(visit("first", None, station), "H2.RV", "half", -5.0, act("open", thing))
    found = judged("first", entries, station)
    assert _state(found, "RV.lockup") == "stale"
    assert ("RUN-48", "RV.lockup") in against(found)


def test_so_is_one_with_the_bypass_opened_in_it() -> None:
    entries = _near(
        visit("first", None, "tarnholt-quay"), "H2.RV", "half", -5.0, act("open", "BV"), act("shut", "BV")
    )
    assert ("RUN-48", "RV.lockup") in against(judged("first", entries, "tarnholt-quay"))


def test_a_drain_opened_before_a_lock_up_is_watched_is_the_way_it_is_done() -> None:
    entries = before(visit("first", None, ROW), "H2.RV", act("open", "TD"), act("shut", "TD"))
    assert not _codes(judged("first", entries, ROW))


@pytest.mark.parametrize(
    ("step", "name", "proof"),
    [
        ("D2.main", "T3.last", "IV2.tight"),
        ("D3.RV", "last", "RV.tight"),
        ("S2.main", "T3.last", "low.shut_tight"),
    ],
)
def test_a_drain_opened_while_a_shut_section_is_watched_takes_its_proof(
    step: str, name: str, proof: str
) -> None:
    found = judged("first", _near(visit("first"), step, name, -5.0, act("open", "TD")))
    assert _state(found, proof) == "stale"
    assert ("RUN-48", proof) in against(found)


def test_a_lock_up_as_found_with_the_outlet_valve_or_the_drain_open_is_refused() -> None:
    for thing in ("IV2", "TD"):
        entries = _near(visit("yearly", None, ROW), "Y3", "lockup", -5.0, act("open", thing))
        assert ("RUN-48", "Y3") in against(judged("yearly", entries, ROW))
    drawn = _near(
        visit("yearly", None, ROW), "Y3", "lockup", -5.0, act("draw water", "TD"), act("shut", "TD")
    )
    assert not _codes(judged("yearly", drawn, ROW))


@pytest.mark.parametrize("name", ["trickle", "lockup"])
def test_the_reducer_test_of_a_restart_with_the_consumers_connected_is_refused(name: str) -> None:
    entries = visit("restart", RETURNS, ROW)
    found = judged("restart", _near(entries, "R7T", name, -5.0, act("open", "IV2")), ROW)
    assert ("RUN-48", "R7T") in against(found)
    said = judged("restart", _near(entries, "R7T", name, -5.0, stands("IV2", "open")), ROW)
    assert ("RUN-48", "R7T") in against(said)
    reset = judged(
        "restart", _near(entries, "R7R", "peak", -5.0, act("open", "IV2"), act("shut", "IV2")), ROW
    )
    assert ("RUN-48", "R7R") in against(reset)


@pytest.mark.parametrize(
    "text",
    ["SHUT", "Shut.", "shut, 34 turns", "found shut as tagged", "closed, locked", "tight shut", "shut_34"],
)
def test_an_outlet_valve_said_to_be_shut_in_any_words_is_shut(text: str) -> None:
    entries = before(visit("first"), "B2", stands("IV2", text, "B1"))
    found = judged("first", entries)
    assert not against(found)
    assert not [one for one in found.told if one.code == "RUN-49"]


@pytest.mark.parametrize("text", ["zu", "fermé", "hm"])
def test_a_word_nobody_knows_is_told_as_what_it_is_and_at_once(text: str) -> None:
    alone = [one for one in visit("first") if one.node in ("", "A1")]
    told = judged("first", before(alone, "", stands("IV2", text))).told
    assert [(one.about, one.params["is"]) for one in told if one.code == "RUN-49"] == [("IV2", text)]
    later = judged("first", before(alone, "", stands("IV2", text), stands("IV2", "shut"))).told
    assert not [one for one in later if one.code == "RUN-49"]


def test_words_that_take_shut_back_are_not_read_as_shut() -> None:
    for text in (
        "not shut",
        "34 turns from shut",
        "shut but passing",
        "half shut",
        "nearly closed",
        "zu",
        "",
    ):
        assert not stands_shut(text), text
    assert stands_open("34 turns from shut")
    assert not stands_open("shut")
    assert not stands_open("zu")


@pytest.mark.parametrize(("kind", "station"), [("first", LANE), ("yearly", ROW), ("restart", ROW)])
def test_a_clean_visit_stands_with_every_valve_where_it_is_to_stand(kind: str, station: str) -> None:
    for way in clean_ways(plan(kind, station))[:2]:
        found: Any = judged(kind, visit(kind, way, station), station)
        assert not _codes(found)
        assert not [one for one in found.told if one.code == "RUN-49"]


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_all_of_this_is_judged_alike_in_javascript(tmp_path: Path) -> None:
    gate, row = visit("first", None, GATE), visit("restart", RETURNS, ROW)
    near = _near(gate, "MN1.MON", "peak", -0.5, act("open", "IV2"), act("shut", "IV2"))
    records = [
        *((GATE, "first", before(gate, "MN1.MON", made())) for made in (*WIDE, *AS_PLANNED)),
        *((GATE, "first", before(gate, "B2", stands("IV2", text, "B1"))) for text in WORDS),
        (GATE, "first", near),
        (GATE, "first", _near(gate, "H2.RV", "half", -5.0, act("open", "TD"))),
        (ROW, "restart", _near(row, "R7T", "lockup", -5.0, act("open", "IV2"))),
    ]
    cases = [
        {"plan": f"{kind}/{station}", "entries": [plain_entry(one) for one in entries]}
        for station, kind, entries in records
    ]
    plans = {f"{kind}/{station}": plain(plan(kind, station)) for station, kind, _ in records}
    body = "result = data.cases.map(({ plan, entries }) => judge(data.plans[plan], entries))"
    found = in_node(tmp_path, body, {"plans": plans, "cases": cases})
    for (station, kind, entries), one in zip(records, found, strict=True):
        close(one, json.loads(json.dumps(plain_judgement(judged(kind, entries, station)))))

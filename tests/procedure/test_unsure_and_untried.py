"""What a clock that is unsure may put before a first run; an outlet opened on a reducer nobody tried."""

from __future__ import annotations

import json
import shutil
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.ledger import gathered
from steadyhead.procedure.plain import plain
from steadyhead.records.entry import Entry, plain_entry
from tests.procedure.in_js import in_node
from tests.procedure.lane import act, against, before, judged, plan, stands, visit
from tests.procedure.test_in_js import close

STATION = "quillenby-row"
HOURS = 7200.0


def _after_the_run(*new: Entry, within: float = 0.0, node: str = "", device: str = "tab-2") -> list[Entry]:
    """Return a yearly visit with entries after its last run, by the clock of their device."""
    made = visit("yearly", station=STATION)
    late = before(made, "", *new)
    own = [replace(one, clock_within=within, node=node, device=device) for one in late[len(made) :]]
    last = max(one.device_seq for one in made)
    return [*made, *(replace(one, device_seq=last + number) for number, one in enumerate(own, 1))]


@pytest.mark.parametrize("do", ["trip", "reset", "stroke by hand"])
def test_a_stroke_whose_clock_is_unsure_by_hours_may_have_been_before_the_first_run(do: str):
    assert ("RUN-09", "Y4.SO") in against(
        judged("yearly", _after_the_run(act(do, "SO"), within=HOURS), STATION)
    )


@pytest.mark.parametrize(
    ("within", "node", "device"),
    [(5.0, "", "tab-2"), (HOURS, "Y6.SO", "tab-2"), (HOURS, "", "tab-1")],
    ids=["a clock that agrees", "an act at a later step", "the numbers of the same device tell"],
)
def test_a_stroke_that_is_known_to_come_after_it_leaves_the_first_run_as_it_is(
    within: float, node: str, device: str
):
    found = judged(
        "yearly", _after_the_run(act("trip", "SO"), within=within, node=node, device=device), STATION
    )
    assert ("RUN-09", "Y4.SO") not in against(found)


def _opened(step: str, *new: Entry) -> list[Entry]:
    return before(visit("return_to_service", station=STATION), step, *new)


@pytest.mark.parametrize("new", [act("open", "IV2"), act("crack", "IV2"), stands("IV2", "open")])
def test_a_station_does_not_return_by_an_outlet_valve_opened_before_its_reducer_was_tried(new: Entry):
    found = judged("return_to_service", _opened("EF1.RV", new), STATION)
    assert ("RUN-48", "EF1.RV") in against(found)
    assert not any(block.may_accept for block in found.blocks if block.remark.about == "EF1.RV")


@pytest.mark.parametrize(
    ("step", "new"),
    [
        ("EF1.RV", [act("open", "IV2"), act("shut", "IV2")]),
        ("J1", [act("open", "IV2")]),
        ("J2", [act("open", "IV2")]),
    ],
)
def test_one_shut_again_or_opened_once_it_was_tried_lets_it_return(step: str, new: Sequence[Entry]):
    assert not against(judged("return_to_service", _opened(step, *new), STATION))


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_both_are_judged_alike_in_javascript(tmp_path: Path):
    cases = [
        ("yearly", _after_the_run(act("trip", "SO"), within=HOURS)),
        ("yearly", _after_the_run(act("trip", "SO"), within=5.0)),
        ("return_to_service", _opened("EF1.RV", act("open", "IV2"))),
        ("return_to_service", _opened("J2", act("open", "IV2"))),
    ]
    plans = {kind: json.loads(json.dumps(plain(plan(kind, STATION)))) for kind, _ in cases}
    data = {
        "plans": plans,
        "cases": [[kind, [plain_entry(e) for e in gathered(one).entries]] for kind, one in cases],
    }
    body = "result = data.cases.map(([kind, entries]) => judge(data.plans[kind], entries, null))"
    for found, (kind, made) in zip(in_node(tmp_path, body, data), cases, strict=True):
        close(found, json.loads(json.dumps(plain_judgement(judged(kind, made, STATION)))))

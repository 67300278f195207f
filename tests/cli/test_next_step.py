"""What is printed as the next step says what was lost and what is chosen for it."""

from __future__ import annotations

from types import SimpleNamespace
from typing import cast

from steadyhead.cli.running_text import _names, next_text
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import dump, read
from steadyhead.services.plan_files import PlanFile
from steadyhead.services.running import JudgedRun
from steadyhead.units import METRIC
from tests.procedure.lane import act, before, plan, visit
from tests.procedure.walking import walk
from tests.visits.judged_visits import reads


def test_the_next_step_says_what_is_to_be_chosen_where_a_first_run_lost_its_alarm():
    ledger = read(dump(before(visit("yearly"), "Y5.SO", act("clean", "SO"))))
    file = cast(PlanFile, SimpleNamespace(procedure=plan("yearly"), sha256=""))
    text = next_text(JudgedRun(file, ledger, judge(plan("yearly"), ledger)), METRIC)
    told = " ".join(text.split())
    assert "SO.switch" in told
    assert "Y4.SO is gone through once: choose opened here." in told


def test_the_next_step_names_the_flow_that_a_reading_must_carry_and_that_of_a_reading_alone():
    lane = plan("first")
    carried = next(
        node.id
        for node in lane.nodes
        if any("flow" in one.carries for one in node.inputs)
        and all(one.name != "flow" for one in node.inputs)
    )
    assert "; flow= beside it" in "".join(_names(lane, carried, METRIC))
    told = "".join(_names(lane, "F2.SO", METRIC))
    assert "at_flow=" in told
    assert "flow= beside it" not in told


def test_after_a_second_trip_the_choice_of_another_way_is_next_and_says_why():
    made, way = plan("restart"), {"R1": "real", "R6": "to be tested", "R8": "returns"}
    entries = reads("J2", "trips", True)([one for one in walk(made, way) if one.node != "J3"])
    ledger = read(dump(entries))
    file = cast(PlanFile, SimpleNamespace(procedure=made, sha256=""))
    told = " ".join(next_text(JudgedRun(file, ledger, judge(made, ledger)), METRIC).split())
    assert told.startswith("To be done again: J2: SO acts again. Stop. Close IV2.")
    assert "Take the way: stays isolated. R8 Cause understood?" in told

"""TS1 where a low-flow branch stands beside a second stage: the stage and the tap of that very way."""

from __future__ import annotations

from tests.visits import stream_stations as ss


def low(*parts):
    return {"id": "low", "role": "low flow", "line": [ss.valve("IVL1"), *parts, ss.valve("IVL2")]}


def main(*parts):
    return {"id": "m", "role": "main", "line": [ss.valve("IVM1"), *parts, ss.valve("IVM2")]}


def small(part_id, senses, duty, lockup):
    return ss.reducer(part_id, senses, duty, lockup, "0.3 L/s") | {"size": "DN 25", "kv": "Kv 8"}


SHUT_OFF = (ss.shut_off("SO", "T3", "5.2 bar"), ss.tap("T1S"))
MAIN, LOW = ss.reducer("RV2", "T3", "4.0 bar", "4.1 bar"), small("LB", "T3", "4.3 bar", "4.5 bar")


def common_stage():
    """One first reducer ahead of the group, a main and a low-flow second one in it."""
    first = (ss.reducer("RV1", "T2", "6.5 bar", "6.7 bar"), ss.tap("T2"), ss.drain("TD2"))
    return ss._base([main(MAIN), low(LOW)], *SHUT_OFF, *first)


def pair_in_low():
    """One main reducer beside a low-flow branch of two in series."""
    two = (
        small("LB1", "T2L", "6.0 bar", "6.2 bar"),
        ss.tap("T2L"),
        ss.drain("TDL"),
        small("LB2", "T3", "4.3 bar", "4.5 bar"),
    )
    return ss._base([main(MAIN), low(*two)], *SHUT_OFF)


def pair_in_main():
    """A main branch of two reducers beside one low-flow reducer that takes the whole difference."""
    first = ss.reducer("RV1", "T2M", "6.5 bar", "6.7 bar")
    return ss._base([main(first, ss.tap("T2M"), ss.drain("TD2M"), MAIN), low(LOW)], *SHUT_OFF)


def alone(data):
    return {node.id: node for node in ss.made(data).nodes if node.id.startswith("TS1.")}


def codes(data):
    return [message.id for message in ss.made(data).notes]


def stage_tap(node):
    return next(one.tap for one in node.inputs if one.name in ("T2", "T2a", "T2b"))


def test_second_reducer_behind_a_common_first_one_is_read_at_the_common_stage():
    found = alone(common_stage())
    assert list(found) == ["TS1.RV2"]
    assert stage_tap(found["TS1.RV2"]) == "T2"


def test_a_low_flow_reducer_that_no_step_sees_hold_alone_is_named():
    (told,) = [message for message in ss.made(common_stage()).notes if message.id == "PLAN-55"]
    assert (told.params["first"], told.params["second"], told.params["other"]) == ("RV1", "LB", "RV2")


def test_a_low_flow_branch_of_two_reducers_is_read_at_the_stage_on_its_own_way():
    found = alone(pair_in_low())
    assert list(found) == ["TS1.LB2"]
    assert stage_tap(found["TS1.LB2"]) == "T2L"
    assert found["TS1.LB2"].touches == ("LB1.setting",)
    assert "PLAN-55" not in codes(pair_in_low())


def test_a_low_flow_reducer_without_a_stage_on_its_way_gets_no_such_step():
    found = alone(pair_in_main())
    assert list(found) == ["TS1.RV2"]
    assert stage_tap(found["TS1.RV2"]) == "T2M"
    assert "PLAN-55" not in codes(pair_in_main())

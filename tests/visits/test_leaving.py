"""The end list: how each valve, drain and cock is left, in every plan of every kind."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import pytest

from steadyhead.errors import InputError, StationError
from steadyhead.procedure.graph import covering, on_way
from steadyhead.procedure.plain import from_json, to_json
from steadyhead.records.parts import (
    Drain,
    ExpansionVessel,
    IsolatingValve,
    Reducer,
    Relief,
    ShutOff,
    Tap,
    Vent,
)
from steadyhead.records.procedure import Kind, Procedure
from steadyhead.records.station import Station
from steadyhead.station.examples import read
from steadyhead.station.examples.shelf import names
from steadyhead.station.load import load
from steadyhead.units import METRIC
from steadyhead.visits import text
from steadyhead.visits.leaving import label, left, unlisted
from steadyhead.visits.plan import KINDS, build
from steadyhead.visits.several.ways import has_several
from steadyhead.visits.texts import say
from tests.visits import plan_stations
from tests.visits import stream_stations as ss
from tests.visits.plan_stations import UP, made

STATED = (IsolatingValve, Drain, Relief, ExpansionVessel)
MOVED = re.compile(r"\b(open|shut|close|crack)", re.IGNORECASE)


def planned(of: Station, kind: Kind, item: str = "") -> Procedure:
    figures = ss.numbers(of, kind, item) if has_several(of) else plan_stations.numbers(of)
    return build(of, kind, item, figures)


def items_of(of: Station) -> tuple[str, ...]:
    """Return the items of a repair, as the refusal of an unknown one lists them."""
    try:
        planned(of, "after_repair", "?")
    except InputError as error:
        _, _, listed = str(error).partition("Use one of: ")
        return tuple(name.strip() for name in listed.rstrip(".").split(","))
    return ()


@cache
def plans(name: str) -> tuple[tuple[Station, Procedure], ...]:
    """Return every plan of an example; none where the station is refused."""
    of = load(read(name)).station
    found = []
    try:
        found += [planned(of, kind) for kind in KINDS if kind != "after_repair"]
        repairs = items_of(of)
    except StationError:
        return ()
    for item in repairs:
        try:
            found.append(planned(of, "after_repair", item))
        except StationError:
            continue
    return tuple((of, one) for one in found)


def every() -> Iterator[tuple[str, Station, Procedure]]:
    for name in names():
        for of, one in plans(name):
            yield f"{name}, {one.kind} {one.item}", of, one


def last_said(plan: Procedure, part_id: str) -> str:
    """Return the last words of a plan that move a part; empty where none do."""
    found = ""
    for node in on_way(plan, next(iter(covering(plan)))):
        for message in node.do:
            words = say(message, METRIC)
            if re.search(rf"\b{part_id}\b", words) and MOVED.search(words):
                found = words
    return found


def test_every_plan_lists_each_valve_drain_and_cock_of_the_station_with_its_state():
    seen = 0
    for where, of, plan in every():
        wanted = {part.id for part in of.parts() if isinstance(part, STATED)}
        assert wanted <= {name for name, _ in plan.left}, where
        assert unlisted(plan, wanted) == (), where
        seen += 1
    assert seen > 50


def test_every_plan_lists_pilot_cocks_gauge_cocks_and_contacts_in_walking_order():
    for where, of, plan in every():
        listed = [name for name, _ in plan.left]
        assert len(listed) == len(set(listed)), where
        valves = [one for one in of.parts() if isinstance(one, ShutOff | Reducer)]
        piloted = [one for one in valves if isinstance(one, ShutOff) or one.kind == "pilot-operated"]
        assert {part.id for part in of.parts() if isinstance(part, Tap | Vent)} <= set(listed), where
        for valve in piloted:
            roots = {f"{valve.id}.sensing", "shared.sensing"} & {name.partition("@")[0] for name in listed}
            assert roots, (where, valve.id)
            assert f"{valve.id}.pilot" in listed, (where, valve.id)
        for shut_off in (one for one in valves if isinstance(one, ShutOff)):
            assert f"{shut_off.id}.feed" in listed, where
            assert (f"{shut_off.id}.switch" in listed) == (shut_off.limit_switch is not None), where
        assert ("alarm" in listed) == (of.alarm is not None), where
        walked = [part.id for part in of.parts() if part.id in listed]
        assert [name for name in listed if name in walked] == walked, where


def test_a_run_may_say_of_everything_listed_that_it_stands_as_it_is_to_be_left():
    for where, _, plan in every():
        says = {one.thing: one.words for one in plan.minding.left}
        assert [name for name, _ in plan.left if not says.get(name)] == [], where
        told = [label(name, state) for name, state in plan.left]
        assert not any("." in words for words in told), where


def test_a_plan_made_before_cocks_were_listed_is_still_read():
    plan = made(UP)
    older = replace(plan, left=left(plan_stations.station(UP)))
    assert from_json(to_json(older)).left == older.left
    assert len(older.left) < len(plan.left)


def test_no_plan_leaves_a_valve_shut_or_a_drain_open_by_omission():
    for where, of, plan in every():
        state = {name: message.id for name, message in plan.left}
        for part in of.parts():
            if not isinstance(part, IsolatingValve | Drain):
                continue
            words = last_said(plan, part.id)
            ends = "open" if state[part.id].startswith("left.open") else "shut"
            assert not words or re.search(ends, words, re.IGNORECASE), (where, part.id, words)


def test_everything_opened_in_a_plan_is_restored_on_every_way_through_it():
    for where, _, plan in every():
        for way in covering(plan):
            nodes = on_way(plan, way)
            opened = {item for node in nodes for item in node.opens}
            assert opened <= {item for node in nodes for item in node.restores}, where


def test_a_plan_for_the_whole_station_moves_every_valve_it_lists_as_open():
    for where, of, plan in every():
        if plan.kind not in ("first", "return_to_service"):
            continue
        for part in of.parts():
            if isinstance(part, IsolatingValve) and dict(plan.left)[part.id].id.startswith("left.open"):
                assert last_said(plan, part.id), (where, part.id)


def test_a_branch_that_is_locked_shut_in_service_is_left_shut_and_locked():
    def lock(data):
        ss.branch(data, "b")["locked_shut"] = "yes"

    of = ss.station(ss.twin_streams(), lock)
    states = {name: message.id for name, message in left(of)}
    assert states["IV1b"] == states["IV2b"] == "left.locked"
    assert states["IV1a"] == "left.open_turns"
    assert states["TDb"] == "left.drain"


def test_a_bypass_that_names_no_valve_of_its_own_is_listed_by_its_name():
    def bypass(data):
        group = next(part for part in data["line"] if part["part"] == "parallel")
        group["branches"].append({"id": "around", "role": "manual bypass", "line": []})

    of = ss.station(ss.twin_streams(), bypass)
    assert dict(left(of))["around"].id == "left.locked"


def test_the_end_list_is_printed_and_comes_back_from_the_file():
    plan = made(UP)
    words = text.render(plan)
    assert "Before leaving: each valve, drain and cock stands so" in words
    assert re.search(r"^IV2 +fully open, \d+ turns$", words, re.MULTILINE)
    assert from_json(to_json(plan)).left == plan.left


def test_what_was_opened_ahead_of_the_valves_is_shut_before_the_line_is_filled():
    for name in ("mesquill-flat", "quillenby-row"):
        for _, plan in plans(name):
            told = {message.id for node in plan.nodes for message in node.do}
            vented = told & {"B2.t1_strainer", "B3.lead_drain"}
            assert not vented or told & {"C2.ahead", "C2.ahead_strainer"}, (plan.kind, plan.item)


@pytest.mark.parametrize("kind", ["first", "yearly"])
def test_the_second_reader_is_sent_to_the_list_at_the_end(kind):
    words = text.render(made(UP, kind=kind))
    assert "list at the end" in " ".join(words.split())

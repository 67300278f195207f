"""Steps that show nothing before another was done, and a line filled while its outlet valve stood open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from steadyhead.records.entry import Entry
from tests.procedure.lane import act, against, before, judged, plan, stands, visit
from tests.visits import stream_stations

pytestmark = pytest.mark.by_turns(3)


def _codes(kind: str, entries: Sequence[Entry], station: str = "quernhollow-lane") -> set[tuple[str, str]]:
    return against(judged(kind, entries, station))


def _to_the_front(entries: Sequence[Entry], step: str) -> list[Entry]:
    """Return the entries with those of a step made an hour before all others, in their order."""
    first = min(entries, key=lambda one: one.order)
    moved = [one for one in entries if one.node == step]
    place = {one.id: number for number, one in enumerate(moved)}
    return [
        replace(
            one,
            device="tab-0",  # a device's own numbers tell its order: these were made by another one
            t_device=first.t_device,
            clock_offset=first.clock_offset - 3600.0 + 60.0 * place[one.id],
        )
        if one.id in place
        else one
        for one in entries
    ]


@pytest.mark.parametrize(
    ("kind", "step"),
    [("first", "G2.SO"), ("first", "D3.RV"), ("first", "S2.main"), ("yearly", "Y3.main")],
)
def test_a_step_done_before_what_it_rests_on_shows_nothing(kind: str, step: str):
    assert ("RUN-09", step) in _codes(kind, _to_the_front(visit(kind), step))


def test_a_cable_broken_before_the_first_closing_is_only_told():
    found = judged("first", _to_the_front(visit("first"), "G3.SO"))
    assert ("RUN-10", "G3.SO") in {(one.code, one.about) for one in found.told}
    assert ("RUN-09", "G3.SO") not in against(found)


def test_a_high_alarm_by_raising_the_outlet_first_of_all_stands_against_final():
    row = "quillenby-row"
    codes = _codes("yearly", _to_the_front(visit("yearly", None, row), "Y6H"), row)
    assert {("RUN-10", "Y6H"), ("RUN-53", "Y6H")} <= codes


def test_a_high_alarm_by_pump_first_of_all_is_only_told():
    found = judged("yearly", _to_the_front(visit("yearly"), "Y6H"))
    assert against(found) == set()
    assert ("RUN-10", "Y6H") in {(one.code, one.about) for one in found.told}


@pytest.mark.parametrize("step", ["C2.main", "C5.main"])
@pytest.mark.parametrize("how", ["open", "crack"])
def test_a_line_filled_with_its_outlet_valve_opened_is_not_filled_with_consumers_cut_off(step: str, how: str):
    assert ("RUN-09", step) in _codes("first", before(visit("first"), step, act(how, "IV2")))


def test_so_is_one_said_to_stand_open():
    assert ("RUN-09", "C2.main") in _codes("first", before(visit("first"), "C2.main", stands("IV2", "open")))


def test_opened_and_shut_again_before_it_asks_nothing():
    moved = before(visit("first"), "C2.main", act("open", "IV2"), act("shut", "IV2"))
    assert _codes("first", moved) == set()


def test_opened_before_it_is_proved_tight_asks_nothing_more():
    assert _codes("first", before(visit("first"), "D2", act("open", "IV2"))) == set()


SECOND = (("quernhollow-lane", "main", "low"), ("veldany-house", "A", "B"))
"""Stations of two streams behind one outlet valve, which is proved tight with the first of them."""


@pytest.mark.parametrize("step", ["C2", "C5"])
@pytest.mark.parametrize(("station", "first", "second"), SECOND)
def test_so_is_the_second_stream_whose_outlet_valve_was_proved_with_the_first(
    station: str, first: str, second: str, step: str
):
    clean = visit("first", None, station)
    for moved in (act("open", "IV2"), act("throttle", "IV2"), stands("IV2", "open")):
        codes = _codes("first", before(clean, f"{step}.{second}", moved), station)
        assert ("RUN-09", f"{step}.{second}") in codes
        assert ("RUN-09", f"C2.{first}") not in codes
    shut = before(clean, f"{step}.{second}", act("open", "IV2"), act("shut", "IV2"))
    assert ("RUN-09", f"{step}.{second}") not in _codes("first", shut, station)


@pytest.mark.parametrize(("station", "first", "second"), SECOND)
def test_an_outlet_valve_opened_in_the_turn_of_the_first_stream_and_left_so_tells_at_the_second(
    station: str, first: str, second: str
):
    early = before(visit("first", None, station), f"D2.{first}", act("open", "IV2"))
    assert {("RUN-09", f"C2.{second}"), ("RUN-09", f"C5.{second}")} <= _codes("first", early, station)
    assert ("RUN-09", f"C5.{first}") not in _codes("first", early, station)


def test_so_is_a_second_stream_of_a_station_that_stood_isolated():
    kind, station = "return-to-service", "quernhollow-lane"
    codes = _codes(kind, before(visit(kind), "C2.low", act("open", "IV2")), station)
    assert {("RUN-09", "C2.low"), ("RUN-09", "C5.low")} <= codes
    assert ("RUN-09", "C2.main") not in codes


@pytest.mark.parametrize(("station", "step"), [("quillenby-row", "C2"), ("quernhollow-lane", "C2.low")])
def test_so_is_a_line_of_which_only_the_strainer_was_opened(station: str, step: str):
    kind = "after-repair=strainer"
    clean = visit(kind, None, station)
    assert ("RUN-09", step) in _codes(kind, before(clean, step, act("open", "IV2")), station)
    assert ("RUN-09", step) in _codes(kind, before(clean, step, stands("IV2", "open")), station)
    assert ("RUN-09", step) not in _codes(kind, clean, station)


@pytest.mark.parametrize("name", ["a", "b"])
def test_a_stream_out_alone_is_filled_with_its_own_outlet_valve_shut_and_with_no_other(name: str):
    out = stream_stations.without("IV1", "IV2", "TD", "ST")
    made = stream_stations.made(stream_stations.twin_streams(), out)
    told = {
        (node.id, one.message.params["valve"])
        for node in made.nodes
        for one in node.refuses
        if one.message.id == "rf.filled_open"
    }
    assert {valve for step, valve in told if step.endswith(f".{name}")} == {f"IV2{name}"}
    assert {step for step, valve in told if valve == f"IV2{name}"} == {f"C2.{name}", f"C5.{name}"}


@pytest.mark.parametrize("station", ["fenwarren-gate", "pinnock-yard", "sorrel-flat", "tarnholt-quay"])
@pytest.mark.parametrize("kind", ["first", "yearly"])
def test_settings_have_a_limit_on_the_error_of_their_gauge_wherever_they_are_made(station: str, kind: str):
    asked = [
        one for node in plan(kind, station).nodes for one in node.inputs if one.instrument == "setting gauge"
    ]
    assert asked
    assert {one.error_most for one in asked} == {1e4}

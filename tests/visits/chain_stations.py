"""Chains beyond the four examples, as examples with facts changed."""

from __future__ import annotations

import copy
from dataclasses import replace
from typing import Any

from steadyhead.records.plan_numbers import Warmed
from steadyhead.records.procedure import Procedure
from steadyhead.records.station import Station
from steadyhead.station.layout import read_layout
from steadyhead.visits.plan import KINDS, build
from tests.visits.plan_stations import (
    DOWN,
    PAIR,
    UP,
    Change,
    block,
    numbers,
    part,
    setting,
    station,
    top,
    without,
)

PartData = dict[str, Any]


def index(data: dict[str, Any], part_id: str) -> int:
    return next(i for i, one in enumerate(data["line"]) if one["id"] == part_id)


def after(part_id: str, *parts: PartData) -> Change:
    """Return a change that puts parts into the line behind one that is there."""

    def change(data: dict[str, Any]) -> None:
        at = index(data, part_id) + 1
        data["line"][at:at] = copy.deepcopy(list(parts))

    return change


SHUT_OFF: PartData = {
    "part": "shut_off", "id": "SO", "size": "DN 200", "trip": "90 psi", "resets": "by hand",
    "dead_band": "8 psi", "senses": "T3", "sensing_tap": "own", "closing_medium": "own inlet",
    "exhaust": "atmosphere", "closes_by": "line pressure", "tell_tale": "exhaust port",
    "limit_switch": {"kind": "leaves open"}, "closing": {"time": "8 s", "flow": "24 gpm"},
    "pilot": {"spring_low": "50 psi", "spring_high": "150 psi", "raises": "clockwise"},
}  # fmt: skip
RELIEF: PartData = {
    "part": "relief", "id": "RL", "size": "DN 50", "crack": "4.95 bar", "runs_to": "tundish", "cock": "yes",
    "tells": "flow switch",
}  # fmt: skip
VESSEL: PartData = {"part": "expansion_vessel", "id": "EV", "volume": "200 L", "precharge": "3.6 bar"}
CHECK: PartData = {"part": "check_valve", "id": "CV", "size": "DN 150"}
MONITOR: PartData = {
    "part": "reducer", "id": "MON", "size": "DN 80", "duty": {"pressure": "4.5 bar", "flow": "5 L/s"},
    "lockup": "4.7 bar", "senses": "T3",
    "pilot": {"spring_low": "1.5 bar", "spring_high": "7 bar", "raises": "clockwise"},
}  # fmt: skip


def pump(data: dict[str, Any]) -> None:
    data["equipment"] = {"hand_pump": "yes"}


def pair_upstream(*changes: Change) -> Station:
    """Return two reducers in series behind one shut-off."""
    return station(PAIR, shut_off_ahead, *changes)


def shut_off_ahead(data: dict[str, Any]) -> None:
    """Put a shut-off ahead of the pair of the example."""
    after("T1", SHUT_OFF, {"part": "tap", "id": "T1S"})(data)
    _higher_spring(data)


def pair_downstream(*changes: Change) -> Station:
    """Return two reducers in series ahead of one shut-off, each section with its own drain."""
    tap, drain = {"part": "tap", "id": "T2S"}, {"part": "drain", "id": "TD3", "size": "1 in", "kv": "Cv 12"}
    inner = [{**tap}, {**drain}, copy.deepcopy(SHUT_OFF)]

    def between(data: dict[str, Any]) -> None:
        at = index(data, "RV2") + 1
        data["line"][at:at] = inner
        part(data, "RV2")["senses"] = "T2S"

    return station(PAIR, between, _higher_spring, *changes)


def _higher_spring(data: dict[str, Any]) -> None:
    part(data, "RV2")["pilot"]["spring_high"] = "130 psi"


def monitor_alone(*changes: Change) -> Station:
    """Return monitor and reducer without a shut-off."""
    return station(UP, monitor_for_shut_off, *changes)


def monitor_for_shut_off(data: dict[str, Any]) -> None:
    """Put a monitor where the shut-off stood."""
    data["line"][index(data, "SO")] = copy.deepcopy(MONITOR)
    data["credited"] = []


def monitor_upstream(*changes: Change) -> Station:
    """Return monitor and reducer behind a shut-off."""
    return station(UP, after("T2", MONITOR, {"part": "tap", "id": "T2M"}), *changes)


def monitor_downstream(*changes: Change) -> Station:
    """Return reducer and monitor, the monitor second, ahead of a shut-off."""

    def change(data: dict[str, Any]) -> None:
        at = index(data, "RV") + 1
        watching = {**copy.deepcopy(MONITOR), "senses": "T2", "lockup": "4.1 bar", "size": "DN 65"}
        watching["duty"] = {"pressure": "3.95 bar", "flow": "2.5 L/s"}
        data["line"][at:at] = [{"part": "tap", "id": "TM"}, watching]

    return station(DOWN, change, *changes)


def relief_beside(*changes: Change) -> Station:
    """Return a shut-off with a relief valve that lifts before it trips."""
    return station(UP, after("T3", RELIEF), *changes)


def relief_instead(*changes: Change) -> Station:
    """Return a reducer with a relief valve in place of a shut-off."""
    return station(UP, relief_for_shut_off, *changes)


def relief_for_shut_off(data: dict[str, Any]) -> None:
    """Take the shut-off out and put a relief valve on the outlet."""
    data["line"] = [one for one in data["line"] if one["id"] not in ("SO", "T2")]
    data["credited"] = []
    after("T3", RELIEF)(data)


def building(*changes: Change) -> Station:
    """Return a plant room: relief, vessel and check valve on the outlet, heated water behind it."""

    def change(data: dict[str, Any]) -> None:
        data["station"]["kind"] = "building plant room"
        data["hot_water"] = {"volume": "2 m³", "hot": "60 °C"}

    return station(UP, change, after("T3", RELIEF, VESSEL), after("TD", CHECK), *changes)


def direct_acting(*changes: Change) -> Station:
    """Return a direct-acting reducer alone, as a low-flow stream is."""

    def change(data: dict[str, Any]) -> None:
        data["line"] = [one for one in data["line"] if one["id"] not in ("SO", "T2")]
        reducer = part(data, "RV")
        reducer["kind"] = "direct-acting"
        reducer.pop("lockup", None)
        data["credited"] = []

    return station(UP, change, *changes)


def direct_acting_behind_shut_off(*changes: Change) -> Station:
    """Return a direct-acting reducer behind a shut-off."""

    def change(data: dict[str, Any]) -> None:
        part(data, "RV")["kind"] = "direct-acting"
        part(data, "RV").pop("lockup", None)

    return station(UP, change, *changes)


CHAINS = {
    "pair, shut-off upstream": pair_upstream,
    "pair, shut-off downstream": pair_downstream,
    "monitor alone": monitor_alone,
    "monitor, shut-off upstream": monitor_upstream,
    "monitor, shut-off downstream": monitor_downstream,
    "relief beside": relief_beside,
    "relief instead": relief_instead,
    "building": building,
    "direct-acting": direct_acting,
    "direct-acting, shut-off upstream": direct_acting_behind_shut_off,
}


ANSWER = {
    "to": "PLAN-26", "at": "demand.fire", "value": "x", "answer": "A shut-off is accepted here.",
    "by": "I. Marrow", "authority": "Brae fire service, letter 12", "decided": "2026-05-04",
}  # fmt: skip
VARIANTS: dict[str, tuple[tuple[Change, ...], ...]] = {
    "pair, shut-off upstream": ((pump,), (setting("SO", resets="by itself"),)),
    "pair, shut-off downstream": ((pump,), (setting("SO", resets="by itself", tell_tale="none"),)),
    "monitor alone": ((pump, top(alarm=None)), (setting("IV2", tight="no"),)),
    "relief beside": (
        (setting("RL", tells="none", runs_to=None),),
        (setting("RL", cock="no"), pump),
        (pump, without("T4")),
        (block("demand", fire="4 L/s"),),
        (top(answers=[ANSWER]), top(equipment={"hand_pump": "no"})),
        (top(answers=[{**ANSWER, "authority": "", "decided": ""}]),),
    ),
    "building": (
        (without("EV"),),
        (without("EV"), without("RL"), pump),
        (setting("EV", precharge=None), top(alarm=None)),
    ),
    "direct-acting, shut-off upstream": ((block("supply", static="13 bar", night="12 bar"),),),
    "direct-acting": ((block("station", kind="building plant room"), top(hot_water={"volume": "2 m³"})),),
}


NEAR = {"duty.T3": 4.0e5, "trickle.T3": 4.0e5, "lockup.T3": 4.13e5}
"""Readings of a reducer whose twin has trickle and duty alike."""


def plans() -> list[Procedure]:
    """Return plans of chains that together show every text of theirs."""
    found = []
    for name, make in CHAINS.items():
        for changes in ((), *VARIANTS.get(name, ())):
            of = make(*changes)
            kinds = [kind for kind in KINDS if not changes or kind in ("first", "yearly", "restart")]
            if read_layout(of).shut_off is None:
                kinds.remove("restart")
            found += [
                build(of, kind, "test drain" if kind == "after_repair" else "", numbers(of)) for kind in kinds
            ]
    late = station(UP, after("T3", {**RELIEF, "crack": "5.6 bar"}))
    given = numbers(late)
    near = replace(given, target_reading={**given.target_reading, **NEAR})
    found += [build(late, "first", "", given), build(late, "first", "", near)]
    found.append(build(late, "return_to_service", "", replace(given, inlet_opening={})))
    heated = building()
    found.append(build(heated, "after_repair", "expansion vessel", numbers(heated)))
    rise = Warmed(4.2e5, 4.4e5, 1e5, taken_up=True)
    warmer = [replace(numbers(heated), warmed=one) for one in (rise, replace(rise, taken_up=False))]
    stated = building(setting("RL", reseat="4.6 bar"))
    found.append(build(stated, "first", "", numbers(stated)))
    return [*found, *(build(heated, "first", "", one) for one in warmer)]

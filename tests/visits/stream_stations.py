"""Stations with several streams for the tests of plans, and figures made by hand for each of them."""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

from steadyhead.records.plan_numbers import Band, PlanNumbers, Together
from steadyhead.records.procedure import Kind, Procedure
from steadyhead.records.station import Station
from steadyhead.visits.plan import build
from steadyhead.visits.several.judging import merged
from steadyhead.visits.several.plan import judged_for
from steadyhead.visits.several.together import covered, header_tap
from steadyhead.visits.several.ways import Way
from tests.visits import plan_stations

Part = dict[str, Any]
Change = Callable[[dict[str, Any]], None]
PILOT = {"spring_low": "1.5 bar", "spring_high": "8 bar", "per_turn": "0.7 bar/turn", "raises": "clockwise"}


def valve(part_id: str) -> Part:
    return {"part": "isolating_valve", "id": part_id, "size": "DN 100", "turns": "20 turns", "tight": "yes"}


def tap(part_id: str) -> Part:
    return {"part": "tap", "id": part_id}


def drain(part_id: str, size: str = "DN 40") -> Part:
    return {"part": "drain", "id": part_id, "size": size, "runs_to": "gully"}


def reducer(part_id: str, senses: str, duty: str, lockup: str, flow: str = "5 L/s") -> Part:
    return {
        "part": "reducer", "id": part_id, "size": "DN 100", "kv": "Kv 150", "senses": senses,
        "duty": {"pressure": duty, "flow": flow}, "lockup": lockup, "pilot": dict(PILOT),
    }  # fmt: skip


def shut_off(part_id: str, senses: str, trip: str) -> Part:
    return {
        "part": "shut_off", "id": part_id, "size": "DN 100", "kv": "Kv 170", "senses": senses, "trip": trip,
        "sensing_tap": "own", "closing_medium": "own inlet", "closes_by": "spring", "dead_band": "0.5 bar",
        "tell_tale": "exhaust port", "limit_switch": {"kind": "reaches closed"}, "pilot": dict(PILOT),
    }  # fmt: skip


def stream(name: str, role: str, duty: str, lockup: str, trip: str) -> dict[str, Any]:
    """Return a stream with valves, taps and a drain of its own, shut-off upstream."""
    return {
        "id": name, "role": role,
        "line": [
            valve(f"IV1{name}"), tap(f"T1{name}"), shut_off(f"SO{name}", f"T3{name}", trip), tap(f"T2{name}"),
            reducer(f"RV{name}", f"T3{name}", duty, lockup), tap(f"T3{name}"), drain(f"TD{name}"),
            valve(f"IV2{name}"),
        ],
    }  # fmt: skip


def _base(group: list[dict[str, Any]], *ahead: Part) -> dict[str, Any]:
    return {
        "format": "steadyhead/station/1",
        "station": {"id": "TWN-1", "name": "Twinbrook", "datum": "90 m", "control_room": "Brae desk"},
        "water": {"temperature": "10 °C"},
        "supply": {"min": "8 bar", "typical": "9 bar", "static": "10 bar"},
        "demand": {"night": "0.5 L/s", "average": "5 L/s", "peak": "15 L/s"},
        "zone": {"other_feed": "yes"},
        "line": [
            tap("T0"), valve("IV1"), {"part": "strainer", "id": "ST", "size": "DN 150"}, tap("T1"), *ahead,
            {"part": "parallel", "id": "PG", "branches": group}, tap("T3"), drain("TD", "DN 80"),
            valve("IV2"), tap("T4"),
        ],
        "alarm": {"pressure": "4.8 bar", "delay": "60 s"},
        "gauges": [
            {"id": "TG-1", "span": "10 bar", "accuracy": "0.6 %", "for_setting": "yes"},
            {"id": "TG-2", "span": "16 bar", "accuracy": "1 %"},
        ],
        "equipment": {"hand_pump": "yes"},
    }  # fmt: skip


def twin_streams() -> dict[str, Any]:
    """Return the file of a duty and a standby stream, each with its own shut-off."""
    duty = stream("a", "duty", "4.0 bar", "4.2 bar", "5.2 bar")
    return _base([duty, stream("b", "standby", "3.6 bar", "3.8 bar", "5.6 bar")])


def low_flow() -> dict[str, Any]:
    """Return the file of a main and a low-flow stream behind one shut-off."""
    main = {
        "id": "m", "role": "main",
        "line": [valve("IVM1"), reducer("RV", "T3", "4.0 bar", "4.1 bar"), valve("IVM2")],
    }  # fmt: skip
    small = reducer("LB", "T3", "4.3 bar", "4.5 bar", "0.3 L/s") | {"size": "DN 25", "kv": "Kv 8"}
    low = {"id": "low", "role": "low flow", "line": [valve("IVL1"), small, valve("IVL2")]}
    return _base([main, low], shut_off("SO", "T3", "5.2 bar"), tap("T2"))


def station(data: dict[str, Any], *changes: Change) -> Station:
    """Return a station with its file changed."""
    found = copy.deepcopy(data)
    for change in changes:
        change(found)
    return Station.model_validate(found)


def branch(data: dict[str, Any], name: str) -> dict[str, Any]:
    """Return a branch of the one group of a file."""
    group = next(part for part in data["line"] if part["part"] == "parallel")
    found: dict[str, Any] = next(one for one in group["branches"] if one["id"] == name)
    return found


def part(data: dict[str, Any], part_id: str) -> Part:
    """Return a part by id, on the line or in a branch."""
    group = next(one for one in data["line"] if one["part"] == "parallel")
    lines = [data["line"], *(one["line"] for one in group["branches"])]
    return next(one for line in lines for one in line if one["id"] == part_id)


def setting(part_id: str, **fields: Any) -> Change:
    """Return a change that writes fields of one part; None takes a field away."""

    def change(data: dict[str, Any]) -> None:
        for name, value in fields.items():
            if value is None:
                part(data, part_id).pop(name, None)
            else:
                part(data, part_id)[name] = value

    return change


def without(*part_ids: str) -> Change:
    """Return a change that takes parts out, wherever they stand."""

    def change(data: dict[str, Any]) -> None:
        group = next(one for one in data["line"] if one["part"] == "parallel")
        for holder in (data, *group["branches"]):
            holder["line"] = [one for one in holder["line"] if one["id"] not in part_ids]

    return change


def behind(part_id: str, *parts: Part) -> Change:
    """Return a change that puts parts just behind another."""

    def change(data: dict[str, Any]) -> None:
        group = next(one for one in data["line"] if one["part"] == "parallel")
        for holder in (data, *group["branches"]):
            ids = [one["id"] for one in holder["line"]]
            if part_id in ids:
                holder["line"][ids.index(part_id) + 1 : ids.index(part_id) + 1] = parts

    return change


def numbers(of: Station, kind: Kind, item: str = "", *, handover: float | None = None) -> PlanNumbers:
    """Return plausible figures made by hand for every stream and for all together."""
    ways = judged_for(of, kind, item).ways
    if not ways:
        return plan_stations.numbers(of)
    alone = {way.key: plan_stations.numbers(way.station) for way in ways}
    alive = [way for way in ways if not way.locked_shut] or list(ways)
    ranked = sorted(alive, key=_lockup, reverse=True)
    flows = () if handover is None else (0.7 * handover, 1.3 * handover)
    facts = Together(
        header_tap(ways), ranked[0].last_reducer.id,
        ranked[-1].last_reducer.id if flows else "", handover, flows, 0.0003,
        tuple(sorted({way.last_reducer.id for way in alive})), ways[0].mode,
    )  # fmt: skip
    keys = ["together.trickle.T3", "together.lockup.T3", "handover.hand.T3"]
    keys += [f"handover.{number}.T3" for number in range(1, len(flows) + 1)]
    keys += [f"one_out.{way.key}.T3" for way in covered(ways)]
    return merged(ways, alone, dict.fromkeys(keys, Band(3.9e5, 4.3e5, 4.1e5)), facts)


def _lockup(way: Way) -> float:
    reducer = way.last_reducer
    return reducer.lockup.si if reducer.lockup is not None else reducer.duty.pressure.si


def made(
    data: dict[str, Any],
    *changes: Change,
    kind: Kind = "first",
    item: str = "",
    handover: float | None = None,
) -> Procedure:
    """Return the plan of a changed station, written with figures made by hand."""
    of = station(data, *changes)
    return build(of, kind, item, numbers(of, kind, item, handover=handover), engine_version="0")


def plans() -> list[Procedure]:
    """Return plans of several streams that together show every text of theirs."""
    twins, low = twin_streams(), low_flow()
    check = {"part": "check_valve", "id": "CVb", "size": "DN 100"}
    behind_drain, ahead_of_it = behind("TDb", check), behind("T3b", {**check, "id": "CVc"})
    common = (setting("SOa", senses="T3"), without("TDa"))
    bare = (without("TDb", "T1b", "T2b", "T3b"), setting("SOb", senses="T3"), setting("RVb", senses="T3"))
    locked = _locked("b")
    kinds: tuple[Kind, ...] = ("first", "yearly", "new_setting", "return_to_service")
    found = [made(data, kind=kind) for data in (twins, low) for kind in kinds]
    found += [made(twins, *changed) for changed in (common, bare, (locked,), (behind_drain,), (ahead_of_it,))]
    found += [made(twins, without("TDb"), kind="yearly"), made(low, handover=0.002)]
    found += [made(twins, kind="after_repair", item=f"stream {name} shut-off spring") for name in "ab"]
    found.append(made(twins, without("IV1", "IV2", "TD", "ST")))
    found += [made(twins, locked, kind="yearly"), made(twins, shared_parts, kind="yearly")]
    found.append(made(twins, locked, shared_parts, kind="return_to_service", item="a"))
    found.append(made(twins, locked, kind="after_repair", item="stream b shut-off spring"))
    found.append(made(twins, shared_parts, without("IV1", "IV2", "TD", "ST")))
    found.append(made(twins, setting("SOb", trip="5.2 bar")))
    return found


def shared_parts(data: dict[str, Any]) -> None:
    """Put a relief valve and a vessel on the outlet that the streams share."""
    relief = {
        "part": "relief", "id": "RL", "size": "DN 25", "kv": "Kv 5", "crack": "6.5 bar", "runs_to": "gully",
    }  # fmt: skip
    vessel = {"part": "expansion_vessel", "id": "EV", "volume": "100 L", "precharge": "3.5 bar"}
    behind("T3", relief, vessel)(data)


def _locked(name: str) -> Change:
    return lambda data: branch(data, name).update(locked_shut="yes")

"""Stations for the tests of plans: an example with facts changed, and figures made by hand."""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

from steadyhead.procedure.plain import node_json
from steadyhead.records.plan_numbers import Band, Flush, InletOpening, OpeningRow, PlanNumbers, Pumped
from steadyhead.records.procedure import DrainUse, Kind, Procedure, TurnTable
from steadyhead.records.station import Station
from steadyhead.station.examples import read
from steadyhead.station.layout import read_layout
from steadyhead.station.load import load
from steadyhead.visits import spans
from steadyhead.visits.plan import build
from steadyhead.visits.questions import questions, tap_of_role

UP, DOWN, ALONE, PAIR = "quillenby-row", "dunmarrow-bottom", "pinnock-yard", "sorrel-flat"
LAYOUTS = (UP, DOWN, ALONE, PAIR)
Change = Callable[[dict[str, Any]], None]


@cache
def _data(name: str) -> dict[str, Any]:
    return load(read(name)).data


def station(name: str, *changes: Change) -> Station:
    """Return an example with its data changed."""
    data = copy.deepcopy(_data(name))
    for change in changes:
        change(data)
    return Station.model_validate(data)


def part(data: dict[str, Any], part_id: str) -> dict[str, Any]:
    """Return one part of the line by id."""
    found: dict[str, Any] = next(p for p in data["line"] if p["id"] == part_id)
    return found


def setting(part_id: str, **fields: Any) -> Change:
    """Return a change that writes fields of one part; None takes a field away."""

    def change(data: dict[str, Any]) -> None:
        for name, value in fields.items():
            if value is None:
                part(data, part_id).pop(name, None)
            else:
                part(data, part_id)[name] = value

    return change


def without(part_id: str) -> Change:
    """Return a change that takes a part out of the line."""
    return lambda data: data.update(line=[p for p in data["line"] if p["id"] != part_id])


def block(name: str, **fields: Any) -> Change:
    """Return a change that writes fields of a block of the file; None takes a field away."""

    def change(data: dict[str, Any]) -> None:
        for key, value in fields.items():
            if value is None:
                data[name].pop(key, None)
            else:
                data[name][key] = value

    return change


def top(**fields: Any) -> Change:
    """Return a change that writes whole blocks of the file; None takes a block away."""

    def change(data: dict[str, Any]) -> None:
        for key, value in fields.items():
            if value is None:
                data.pop(key, None)
            else:
                data[key] = value

    return change


def weak_outlet(data: dict[str, Any]) -> None:
    """Rate the outlet section of the upstream example below its trip of 5.2 bar in normal running."""
    data["limits"].append(
        {
            "component": "meter on the outlet",
            "normal": "5.0 bar",
            "fault": "9.0 bar",
            "level": "96 m",
            "side": "outlet",
        }
    )


def numbers(of: Station, *, flow_points: int = 5) -> PlanNumbers:
    """Return plausible figures made by hand: every question of the layout, nothing from the twin."""
    layout = read_layout(of)
    shut_off = layout.shut_off
    asked = questions(
        layout,
        flow_points=flow_points,
        trip=shut_off is not None and shut_off.trip is not None,
        alarm=of.alarm is not None,
        dead_band=shut_off is not None and shut_off.dead_band is not None,
    )
    inlet, duty = of.supply.typical.si, layout.reducers[-1].duty.pressure.si if layout.reducers else 4e5
    trip = shut_off.trip.si if shut_off is not None and shut_off.trip is not None else 1.3 * duty
    half = 0.5 * (inlet + duty)
    middle = {"T0": inlet, "T1": inlet, "T2": half, "T2a": half, "T2b": half, "T3": duty}
    middle |= {relief.id: relief.crack.si for relief in layout.reliefs}
    bands = {}
    for question in asked:
        if question.unit == "pressure":
            at_trip = "trip" in question.situation and question.place not in ("T0", "T1")
            nominal = trip if at_trip else middle.get(question.place, 0.1e5)
            nominal = 0.0 if question.situation == "vented" else nominal
            bands[question.key] = Band(nominal - 0.2e5, nominal + 0.2e5, nominal)
        else:
            bands[question.key] = Band(4.0, 7.0, 5.5)
    rows = tuple(OpeningRow(0.035 * i, float(i), 0.3 * i * trip, 0.4 * i * trip) for i in (1, 2, 3))
    opening = InletOpening(0.07, 2.0, "TD", 0.9 * trip, trip + 0.3e5, 0.8 * trip, rows)
    reducers = [reducer.id for reducer in layout.reducers]
    inner = ("between",) if "T2" in tap_of_role(layout) else ()
    held = tuple(spans.held(layout))
    sections = ("outlet", *(held or inner))
    # What stands between an open shut-off and its reducer bears the inlet.
    bears = {} if held else dict.fromkeys(inner, of.supply.static.si + 1e5)
    return PlanNumbers(
        bands=bands,
        trickle_flow=0.0004,
        inlet_opening=dict.fromkeys(sections, opening),
        test_limit=dict.fromkeys(sections, trip + 30000.0) | bears,
        target_reading={
            "trickle": duty + 0.1e5,
            "trickle.T3": duty + 0.1e5,
            "trip_low": trip - 0.3e5,
            "trip_high": trip + 0.3e5,
        },
        pumped={
            "out_of_way": Pumped(trip + 30000.0, 5e-6, 20.0, by_pump=True),
            "in_service": Pumped(trip - 40000.0, 4e-6, 16.0, by_pump=True),
        },
        pump_stroke=1.5e-5,
        outlet_storage=1e-10,
        flush=Flush(0.018, "", 1.0, None),
        first_turn=dict.fromkeys(reducers, 0.25),
        first_turn_lowest=dict.fromkeys(reducers, 0.25),
        per_quarter=dict.fromkeys(reducers, (0.17e5, 0.35e5, 0.69e5)),
        turn_tables=(
            TurnTable(
                "RV", "plate", 0.7e5, (0.0, 0.25, 0.5), {"T3": (duty, duty + 1e4, duty + 2e4)}, 1, trip
            ),
        ),
        drain_budget=(DrainUse("B3", "TD", 0.018, 1080.0), DrainUse("F", "TD", 0.0004, 3000.0)),
        pump_volume={"full": 1.4e-5, "air": 3e-4},
        flow_points=tuple(0.001 * i for i in range(1, flow_points + 1)),
        fill_speed=0.3,
        fill_surge=3.6e5,
        good_gauges=("TG-1",),
        poor_gauges=("TG-2",),
    )


def made(name: str, *changes: Change, kind: Kind = "first", item: str = "") -> Procedure:
    """Return the plan of an example with changes, written with figures made by hand."""
    of = station(name, *changes)
    return build(of, kind, item, numbers(of), station_hash="0" * 64, engine_version="0")


def differences(before: Procedure, after: Procedure) -> Mapping[str, set[str]]:
    """Return ids of steps that were added, removed, or whose bytes changed."""
    old = {node.id: node_json(node) for node in before.nodes}
    new = {node.id: node_json(node) for node in after.nodes}
    return {
        "added": set(new) - set(old),
        "removed": set(old) - set(new),
        "changed": {name for name in set(old) & set(new) if old[name] != new[name]},
    }

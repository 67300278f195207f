"""For every finding code of the design room a station that raises it: the proof that no code is dead."""

from __future__ import annotations

from datetime import date

from tests.design.stations import (
    ALONE,
    DOWNSTREAM,
    SERIES,
    UPSTREAM,
    Data,
    Edit,
    bypass,
    limit,
    no_side,
    part,
    section,
    top,
    without,
)
from tests.design.way_cases import CASES as WAY_CASES


def _two_shut_offs(data: Data) -> None:
    second = dict(next(p for p in data["line"] if p["id"] == "SO"), id="SO2")
    data["line"].insert(4, second)


def _gauge(**fields: str) -> Edit:
    def edit(data: Data) -> None:
        data["gauges"] = [{"id": "TG-9", "span": "16 bar", "accuracy": "1.6 %", **fields}]

    return edit


def _lower_between(data: Data) -> None:
    for one in data["limits"]:
        if one.get("side") == "between":
            one.update(normal="8 bar", fault="8 bar")


def _inlet_limit(data: Data) -> None:
    data["limits"].append({"component": "old meter", "normal": "8 bar", "level": "96 m", "side": "inlet"})


def outlet_meter(data: Data) -> None:
    """A meter ahead of the outlet valve that bears the duty and a fault, not a proof."""
    meter = {"component": "meter", "normal": "5 bar", "fault": "9 bar", "level": "96 m", "side": "outlet"}
    data["limits"].append(meter)


def _bypass_around_both(data: Data) -> None:
    bypass("yes", "SO")(data)


DAY = date(2026, 11, 25)
"""The day on which the stations are judged."""

CASES: dict[str, tuple[str, tuple[Edit, ...]]] = {
    "LAY-01": (UPSTREAM, (_two_shut_offs,)),
    "LAY-02": (UPSTREAM, (part("SO", senses="T2"),)),
    "LAY-03": (DOWNSTREAM, (part("RV", senses="T3"),)),
    "LAY-04": (UPSTREAM, (part("RV", senses="T1"),)),
    "LAY-05": (UPSTREAM, (part("SO", senses="T4"),)),
    "LAY-06": (UPSTREAM, (without("TD"),)),
    "LAY-07": (DOWNSTREAM, (without("TD2"),)),
    "LAY-08": (UPSTREAM, (without("IV1"),)),
    "LAY-09": (UPSTREAM, (without("IV2"),)),
    "LAY-10": (UPSTREAM, (part("SO", sensing_tap="shared with reducer"),)),
    "LAY-11": (UPSTREAM, (part("SO", sensing_tap=None),)),
    "LAY-12": (UPSTREAM, ()),
    "LAY-13": (UPSTREAM, (part("SO", closes_by=None),)),
    "LAY-14": (DOWNSTREAM, (part("SO", closing_medium="station inlet"),)),
    "LAY-15": (DOWNSTREAM, (part("SO", closing_medium=None),)),
    "LAY-16": (DOWNSTREAM, ()),
    "LAY-17": (UPSTREAM, (part("SO", chamber_feed="shared filter"),)),
    "LAY-18": (UPSTREAM, (part("IV2", tight="no"),)),
    "LAY-19": (UPSTREAM, (part("IV2", tight=None),)),
    "LAY-20": (UPSTREAM, (bypass("no", "RV"),)),
    "LAY-21": (UPSTREAM, (_bypass_around_both,)),
    "LAY-22": (UPSTREAM, (part("SO", limit_switch=None),)),
    "LAY-23": (UPSTREAM, (part("SO", limit_switch={"kind": "reaches closed"}),)),
    "LAY-24": (UPSTREAM, (top(equipment={"hand_pump": "no"}),)),
    "LAY-25": (UPSTREAM, (part("SO", resets="by itself"),)),
    "LAY-26": (UPSTREAM, (section("station", fire_water="yes"),)),
    "LAY-41": (UPSTREAM, (section("station", fire_water="no"),)),
    "LAY-27": (UPSTREAM, (section("zone", other_feed="no"),)),
    "LAY-28": (UPSTREAM, (part("SO", tell_tale="none"),)),
    "LAY-29": (UPSTREAM, (without("T2"),)),
    "LAY-30": (UPSTREAM, (without("ST"),)),
    "LAY-31": (UPSTREAM, (part("SO", live_trip="not allowed"),)),
    "LAD-01": (UPSTREAM, (no_side("consumer"),)),
    "LAD-02": (UPSTREAM, (limit(0, normal=None),)),
    "LAD-03": (UPSTREAM, (limit(2, normal="6 bar"),)),
    "LAD-04": (UPSTREAM, (limit(0, fault="8 bar"),)),
    "LAD-05": (UPSTREAM, (limit(0, fault="8.2 bar"), top(stacking="root-sum-square"))),
    "LAD-06": (UPSTREAM, (part("SO", trip="5.6 bar"),)),
    "LAD-07": (UPSTREAM, (part("SO", trip=None),)),
    "LAD-08": (UPSTREAM, (part("SO", trip="5.6 bar"),)),
    "LAD-09": (UPSTREAM, ()),
    "LAD-10": (UPSTREAM, (top(credited=None),)),
    "LAD-11": (UPSTREAM, ()),
    "LAD-12": (UPSTREAM, (section("zone", volume=None, main=None),)),
    "LAD-13": (UPSTREAM, (section("zone", volume=None),)),
    "LAD-14": (UPSTREAM, (part("SO", closing=None),)),
    "LAD-15": (UPSTREAM, (part("SO", closing={"time": "6 s"}),)),
    "LAD-16": (UPSTREAM, (part("SO", trip="5.45 bar"),)),
    "LAD-17": (UPSTREAM, (section("alarm", pressure="4.3 bar"),)),
    "LAD-18": (UPSTREAM, (section("alarm", pressure="5.1 bar"),)),
    "LAD-19": (UPSTREAM, (top(alarm=None),)),
    "LAD-20": (UPSTREAM, (part("SO", resets="by itself", dead_band="1.2 bar"),)),
    "LAD-21": (UPSTREAM, (part("SO", resets="by itself", dead_band=None),)),
    "LAD-22": (UPSTREAM, (section("supply", min="4.6 bar"),)),
    "LAD-23": (UPSTREAM, (lambda data: data["needs"][0].update(pressure="3 bar"),)),
    "LAD-24": (UPSTREAM, (top(needs=None),)),
    "LAD-25": (UPSTREAM, (_lower_between,)),
    "LAD-26": (UPSTREAM, (no_side("between"),)),
    "LAD-27": (DOWNSTREAM, ()),
    "LAD-28": (UPSTREAM, (_inlet_limit,)),
    "LAD-29": (ALONE, (limit(0, fault="6 bar"),)),
    "LAD-30": (ALONE, ()),
    "LAD-31": (SERIES, (limit(0, normal="100 psi", fault="120 psi"),)),
    "LAD-32": (SERIES, ()),
    "LAD-33": (SERIES, ()),
    "LAD-34": (UPSTREAM, (part("RV", mechanics={"proportional_band": "0 bar"}),)),
    "LAD-35": (UPSTREAM, ()),
    "SUR-54": (
        UPSTREAM,
        (
            part(
                "SO",
                closing={
                    "time": "6 s",
                    "flow": "0.4 L/s",
                    "inlet_pressure": "8 bar",
                    "outlet_pressure": "2 bar",
                },
            ),
        ),
    ),
    "LAD-36": (UPSTREAM, (part("RV", lockup="3.9 bar"),)),
    "LAD-37": (UPSTREAM, ()),
    "LAD-38": (UPSTREAM, (no_side("inlet"),)),
    "LAD-39": (UPSTREAM, (section("supply", main=None),)),
    "LAD-40": (ALONE, ()),
    "LAD-41": (UPSTREAM, (section("water", highest="24 °C"),)),
    "LAD-42": (UPSTREAM, (outlet_meter,)),
    "SIZ-01": (UPSTREAM, (part("RV", kv="Kv 40"),)),
    "SIZ-02": (UPSTREAM, (section("supply", min="4.0 bar"),)),
    "SIZ-03": (UPSTREAM, (section("supply", min="5.9 bar"), part("RV", kv="Kv 84"))),
    "SIZ-04": (UPSTREAM, (section("supply", min="4.2 bar"),)),
    "SIZ-05": (DOWNSTREAM, (section("demand", night="0.3 L/s"),)),
    "SIZ-06": (UPSTREAM, ()),
    "SIZ-07": (UPSTREAM, (section("demand", peak="45 L/s"),)),
    "SIZ-08": (UPSTREAM, (section("demand", peak="50 L/s"),)),
    "SIZ-09": (UPSTREAM, (part("RV", sigma_damage="2.2"),)),
    "SIZ-10": (ALONE, (part("RV", duty={"pressure": "0.3 bar", "flow": "2 L/s"}, lockup="0.5 bar"),)),
    "SIZ-11": (UPSTREAM, ()),
    "SIZ-12": (UPSTREAM, (part("RV", pilot={"spring_low": "5 bar", "spring_high": "12 bar"}),)),
    "SIZ-13": (UPSTREAM, (part("RV", pilot={"spring_low": "1 bar", "spring_high": "5.5 bar"}),)),
    "SIZ-14": (UPSTREAM, (part("RV", pilot={"spring_low": "3.8 bar", "spring_high": "9 bar"}),)),
    "SIZ-15": (UPSTREAM, (part("SO", pilot={"spring_low": "5 bar", "spring_high": "12 bar"}),)),
    "SIZ-16": (UPSTREAM, (part("SO", pilot={"spring_low": "1 bar", "spring_high": "25 bar"}),)),
    "SIZ-17": (UPSTREAM, (_gauge(for_setting="yes"),)),
    "SIZ-18": (UPSTREAM, ()),
    "SIZ-19": (
        UPSTREAM,
        (lambda data: data.update(gauges=data["gauges"][:1], supply={**data["supply"], "static": "12 bar"}),),
    ),
    "SIZ-20": (UPSTREAM, (_gauge(),)),
    "SIZ-21": (DOWNSTREAM, ()),
    "SIZ-22": (UPSTREAM, (part("ST", kv_clean="Kv 100"),)),
    "SIZ-23": (UPSTREAM, (part("SO", kv="Kv 120"),)),
    "SIZ-24": (ALONE, ()),
    "SIZ-25": (UPSTREAM, (part("RV", size="DN 200"),)),
    "SIZ-26": (UPSTREAM, (_gauge(for_setting="yes", span="6 bar"),)),
    "SIZ-27": (UPSTREAM, (_gauge(for_setting="yes", due="2024-06-30"),)),
}
CASES |= WAY_CASES

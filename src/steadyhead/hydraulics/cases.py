"""The design cases: which inlet pressure with which flow."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from steadyhead.records.station import Station
from steadyhead.records.steady import Conditions
from steadyhead.records.values import Value
from steadyhead.station import defaults as d

InletCase = Literal["lowest", "typical", "night", "static"]
FlowCase = Literal["none", "night", "average", "peak", "fire"]

INLET_CASES: tuple[InletCase, ...] = ("lowest", "typical", "night", "static")
FLOW_CASES: tuple[FlowCase, ...] = ("night", "average", "peak", "fire")


@dataclass(frozen=True, slots=True)
class Case:
    """One design case: names and conditions."""

    inlet: InletCase
    flow: FlowCase
    conditions: Conditions

    @property
    def words(self) -> str:
        """How the case is said in a finding."""
        flow = "no flow" if self.flow == "none" else f"{self.flow} flow"
        return f"{self.inlet} inlet pressure, {flow}"


def inlet_pressure(station: Station, case: InletCase) -> Value:
    """Return the supply pressure of a case; the night pressure falls back on the static one."""
    supply = station.supply
    return {
        "lowest": supply.min,
        "typical": supply.typical,
        "night": supply.night or supply.static,
        "static": supply.static,
    }[case]


def flow_of(station: Station, case: FlowCase) -> Value | None:
    """Return the flow of a case, or None for no flow and for a fire flow that is not stated."""
    demand = station.demand
    return {
        "none": None,
        "night": demand.night,
        "average": demand.average,
        "peak": demand.peak,
        "fire": demand.fire,
    }[case]


def case(station: Station, inlet: InletCase, flow: FlowCase) -> Case:
    """Return one design case with the flow imposed at the consumer end."""
    wanted = flow_of(station, flow)
    exponent = station.demand.exponent.si if station.demand.exponent else d.DEMAND_EXPONENT.si
    return Case(
        inlet,
        flow,
        Conditions(
            supply_pressure=inlet_pressure(station, inlet).si,
            consumer_flow=wanted.si if wanted is not None else None,
            demand_exponent=exponent,
        ),
    )


def design_cases(station: Station) -> tuple[Case, ...]:
    """Return every stated pair of inlet pressure and flow."""
    return tuple(
        case(station, inlet, flow)
        for inlet in INLET_CASES
        for flow in FLOW_CASES
        if flow_of(station, flow) is not None
    )

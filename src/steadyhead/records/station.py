"""The station file as typed records: the one model every room works from."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, SerializerFunctionWrapHandler, model_serializer, model_validator

from steadyhead.records.checking import Component, Day, Filled, FilledWords, Name, ShortText, bad
from steadyhead.records.demand_event import DemandEvent
from steadyhead.records.mains import (
    Main,
    Material,
    SupplyReach,
    ZoneReach,
    as_stated,
    equivalent,
    farthest,
    flows_of,
    named_once,
    not_both,
)
from steadyhead.records.papers import Dial, Papers
from steadyhead.records.parts import LinePart, PartId, Record, Text, Words, YesNo, flat
from steadyhead.records.quantities import (
    Compressibility,
    DriftDuration,
    Duration,
    Exponent,
    Flow,
    GaugeClass,
    Level,
    PositivePressure,
    PressureStep,
    Ratio,
    RunningFlow,
    Share,
    Temperature,
    Volume,
)
from steadyhead.units import parse
from steadyhead.units.table import find

FORMAT = "steadyhead/station/1"

Hazard = Literal[
    "confined space",
    "traffic",
    "flooding",
    "electric",
    "lifting",
    "noise",
    "frost",
    "ladder",
    "animals",
    "none known",
]


class Coordinates(Record):
    """Where the lid is, decimal degrees WGS 84."""

    latitude: Annotated[float, Field(ge=-90, le=90, description="North positive.")]
    longitude: Annotated[float, Field(ge=-180, le=180, description="East positive.")]


class Identity(Record):
    """Which station this is."""

    id: PartId = Field(description="Short name of the station, as on the lid or the plan; never reused.")
    name: Name = Field(description="Name people call the station by.")
    zone: ShortText = Field("", description="Zone it feeds.")
    owner: ShortText = Field("", description="Who answers for it.")
    kind: Literal[
        "utility chamber", "building plant room", "fire main", "irrigation", "industrial", "kiosk"
    ] = Field("utility chamber", description="What kind of place it is.")
    datum: Level = Field(description="Level every pressure of the ladder is carried to.")
    altitude: Level | None = Field(None, description="Datum above the sea; the datum itself where left out.")
    coordinates: Coordinates | None = Field(None, description="Where the lid is, degrees WGS 84.")
    directions: Words = Field("", description="How to find the lid.")
    hazards: tuple[Hazard, ...] = Field((), description="Hazards of this place.")
    fire_water: YesNo = Field(False, description="Does fire water pass through this station?")
    sensitive_consumers: Text = Field("", description="Dialysis, hospital, livestock, …")
    control_room: Text = Field("", description="Desk to call, with its number.")


class Water(Record):
    """Temperature of the water, for its properties."""

    temperature: Temperature = Field(description="Usual temperature of the water.")
    lowest: Temperature | None = Field(None, description="Coldest in the year.")
    highest: Temperature | None = Field(None, description="Warmest in the year.")


class Supply(Record):
    """What stands in front of the station."""

    min: PositivePressure = Field(description="Lowest inlet pressure, at peak demand.")
    typical: PositivePressure = Field(description="Inlet pressure on a usual day.")
    night: PositivePressure | None = Field(None, description="Inlet pressure on a usual night.")
    static: PositivePressure = Field(description="Highest static inlet pressure, no flow.")
    level: Level | None = Field(
        None, description="Level these pressures are stated at; the datum where left out."
    )
    stated_at: Literal["station inlet", "head of main"] = Field(
        "station inlet",
        description="Where these pressures hold: at T0 in that hour, or at the head of the main.",
    )
    main: Main | None = Field(
        None, description="Main that brings the water; its friction counts where pressures hold at its head."
    )
    reaches: Annotated[tuple[SupplyReach, ...], Field(max_length=40)] = Field(
        (), description="Instead of `main`: the reaches it is made of, as the water meets them."
    )

    @model_validator(mode="before")
    @classmethod
    def _not_both(cls, raw: Any) -> Any:
        return not_both(raw)

    @model_serializer(mode="wrap")
    def _as_stated(self, written: SerializerFunctionWrapHandler) -> dict[str, Any]:
        return as_stated(written(self), has_reaches=bool(self.reaches))

    @model_validator(mode="after")
    def _as_one_main(self) -> Supply:
        if not self.reaches:
            return self
        named_once(self.reaches)
        if self.reaches[-1].level is not None:
            raise bad(
                f"the last reach {self.reaches[-1].id!r} states a level.",
                "Leave it out: it ends at the station, at its datum.",
            )
        if self.reaches[-1].vessel is not None or self.reaches[-1].relief is not None:
            raise bad(
                f"the last reach {self.reaches[-1].id!r} states a vessel or a relief valve.",
                "It ends at the station: write it into the line, ahead of the first valve.",
            )
        return self.model_copy(update={"main": equivalent(self.reaches, [1.0] * len(self.reaches))})


class Demand(Record):
    """Flows through the station."""

    night: Flow = Field(description="Minimum night flow.")
    average: Flow = Field(description="Average flow through the station.")
    peak: RunningFlow = Field(description="Highest hourly flow; not zero.")
    fire: Flow | None = Field(None, description="Fire or emergency flow.")
    zero_possible: YesNo = Field(False, description="Does the flow fall to zero?")
    exponent: Exponent | None = Field(None, description="n of demand ∝ pressureⁿ.")


class Zone(Record):
    """The pipes the station feeds."""

    volume: Volume | None = Field(None, description="Water in all pipes behind the station.")
    material: Material = Field("other", description="Material of most of these pipes.")
    bore_over_wall: Ratio | None = Field(None, description="Typical inside diameter over wall thickness.")
    elasticity: Compressibility | None = Field(None, description="β of water and walls, if known.")
    main: Main | None = Field(None, description="Main from the station into the zone.")
    reaches: Annotated[tuple[ZoneReach, ...], Field(max_length=80)] = Field(
        (), description="Instead of `main`: the reaches of the mains behind the station, branches too."
    )
    level: Level | None = Field(None, description="Usual level of the consumers.")
    lowest: Level | None = Field(None, description="Level of the lowest consumer.")
    highest: Level | None = Field(None, description="Level of the highest consumer.")
    other_feed: YesNo = Field(False, description="Can another feed hold the zone?")
    stock: Duration | None = Field(
        None, description="How long the consumers' own tanks last with the station shut."
    )

    @model_validator(mode="before")
    @classmethod
    def _not_both(cls, raw: Any) -> Any:
        return not_both(raw)

    @model_serializer(mode="wrap")
    def _as_stated(self, written: SerializerFunctionWrapHandler) -> dict[str, Any]:
        return as_stated(written(self), has_reaches=bool(self.reaches))

    @model_validator(mode="after")
    def _as_one_main(self) -> Zone:
        if not self.reaches:
            return self
        named_once(self.reaches)
        flows, way = flows_of(self.reaches), farthest(self.reaches)
        return self.model_copy(update={"main": equivalent(way, [flows[reach.id] for reach in way])})


class SafetyValve(Record):
    """A safety valve of the water heater."""

    pressure: PositivePressure = Field(description="Pressure at which it responds, at its own level.")
    level: Level | None = Field(None, description="Its level; the datum where left out.")


class HotWater(Record):
    """Water behind the station that is heated and expands."""

    volume: Volume = Field(description="Water that is heated: heater, store, circulating pipes.")
    cold: Temperature | None = Field(None, description="Before heating; the usual water where left out.")
    hot: Temperature | None = Field(None, description="After heating.")
    safety_valve: SafetyValve | None = Field(None, description="Safety valve of the heater.")


class Need(Record):
    """Pressure that must remain at a critical point."""

    at: Filled = Field(description="Name of the critical point.")
    pressure: PositivePressure = Field(description="Pressure that must remain there.")
    level: Level = Field(description="Level of that point.")
    friction: PressureStep | None = Field(None, description="Loss from the station to there at peak.")


class Limit(Record):
    """What one component bears, at its own level."""

    component: Component = Field(description="What bears the pressure.")
    normal: PositivePressure | None = Field(
        None, description="Limit of normal running: code, contract, comfort, PFA."
    )
    fault: PositivePressure | None = Field(
        None, description="Limit in a fault: rating with surge, safety-valve rule, PMA."
    )
    level: Level = Field(description="Level of this component.")
    derating: Share | None = Field(None, description="Share of the rating left at temperature or age.")
    side: Literal["consumer", "outlet", "between", "inlet"] = Field(
        "consumer",
        description="Behind the outlet isolating valve, ahead of it, between the valves, or before them.",
    )
    protects: YesNo = Field(
        False, description="Is it a protective device: a safety or relief valve? Then no remedy raises it."
    )
    source: Text = Field("", description="Where the limit comes from.")


class Alarm(Record):
    """High outlet alarm."""

    pressure: PositivePressure = Field(description="Outlet pressure at which the alarm is raised.")
    delay: Duration | None = Field(None, description="How long it must last.")
    error: PressureStep | None = Field(None, description="± of the transmitter.")


class Gauge(Record):
    """A test gauge or logger taken along."""

    id: PartId = Field(description="Number of the gauge.")
    span: PositivePressure = Field(description="Full scale of the gauge.")
    accuracy: GaugeClass = Field(description="Class: ± per cent of span.")
    due: Day = Field("", description="Day its calibration runs out, as 2027-06-30.")
    for_setting: YesNo = Field(False, description="Is the trip set with it?")
    dial: Dial = Field("", description="Unit its dial reads in; that of its span where left out.")

    @property
    def reads_in(self) -> str:
        """Unit of the dial; empty where the span is written as an absolute pressure and no dial is stated."""
        if self.dial:
            return self.dial
        unit = find("pressure", parse(self.span.text, "pressure").unit)
        return "" if unit is None or unit.absolute else unit.symbol


class Credit(Record):
    """A failure the shut-off is credited for."""

    failure: Literal["reducer drifts open", "reducer fails open"] = Field(
        "reducer drifts open", description="The failure."
    )
    within: DriftDuration = Field(description="Time in which the reducer goes fully open.")
    at: Literal["night flow", "average flow"] = Field("night flow", description="Flow at which it happens.")


class Tolerances(Record):
    """Tolerances that replace the defaults of the trade."""

    gap: PressureStep | None = Field(
        None, description="Least gap between highest normal and trip lower edge."
    )
    hunting: PressureStep | None = Field(None, description="Tolerated hunting amplitude.")
    same_gauge: YesNo = Field(True, description="Are both pilots set with the same gauge on the same tap?")


class Answer(Record):
    """An answer to a question, or an accepted finding, with who and why."""

    to: Text = Field(description="Finding code.")
    at: Text = Field(description="Subject of the finding.")
    value: Text = Field(description="Value hash printed with the finding.")
    answer: FilledWords = Field(description="The answer, or the reason for accepting.")
    by: Filled = Field(description="Who answers.")
    authority: Text = Field(
        "", description="Authority that decided, with its reference; needed where a finding asks for one."
    )
    decided: Day = Field("", description="Day of its decision, as 2027-06-30.")
    shut_off: Literal["", "allowed", "forbidden", "required"] = Field(
        "", description="What it decided on a shut-off in fire water; needed where a finding asks for it."
    )
    until: Day = Field("", description="Last day it holds, as 2027-06-30.")


class Equipment(Record):
    """What the crew brings."""

    hand_pump: YesNo = Field(False, description="Is there a hand pump for injection?")


class Station(Record):
    """One pressure-reducing station."""

    format: Literal["steadyhead/station/1"] = Field(description="Format of this file.")
    station: Identity = Field(description="Which station this is.")
    water: Water = Field(description="Temperature of the water.")
    supply: Supply = Field(description="Inlet pressures and the main that brings the water.")
    demand: Demand = Field(description="Flows through the station.")
    zone: Zone = Field(Zone(), description="Pipes the station feeds.")
    hot_water: HotWater | None = Field(None, description="Heated water behind the station.")
    needs: tuple[Need, ...] = Field((), description="Pressures that must remain.")
    limits: tuple[Limit, ...] = Field((), description="What each component bears, at its own level.")
    line: Annotated[tuple[LinePart, ...], Field(min_length=1, max_length=120)] = Field(
        description="Parts in the order the water meets them."
    )
    alarm: Alarm | None = Field(None, description="High outlet alarm.")
    credited: tuple[Credit, ...] = Field((), description="Failures the shut-off is credited for.")
    events: Annotated[tuple[DemandEvent, ...], Field(max_length=40)] = Field(
        (), description="What consumers do all at once here: a fill, a hydrant, a pump that stops."
    )
    stacking: Literal["worst case", "root-sum-square"] = Field(
        "worst case", description="How tolerances add up."
    )
    tolerances: Tolerances = Field(Tolerances(), description="Tolerances that replace the defaults.")
    gauges: tuple[Gauge, ...] = Field((), description="Test gauges and loggers taken along.")
    equipment: Equipment = Field(Equipment(), description="What the crew brings.")
    papers: Papers = Field(Papers(), description="Units of the papers; nothing computed changes.")
    answers: tuple[Answer, ...] = Field((), description="Answers to questions, and accepted findings.")

    def parts(self) -> tuple[LinePart, ...]:
        """Return every part in walking order."""
        return flat(self.line)

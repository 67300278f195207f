"""The parts a station line is made of, in the order the water meets them."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints, model_validator

from steadyhead.records.cavitation import CavitationLimits
from steadyhead.records.checking import Date, bad
from steadyhead.records.mechanics import ReducerMechanics, ShutOffMechanics
from steadyhead.records.quantities import (
    ClosingDuration,
    Duration,
    Flow,
    FlowCoefficient,
    Height,
    PositivePressure,
    PressureStep,
    Ratio,
    RunningFlow,
    Size,
    SpindleTurns,
    TurnRate,
    Volume,
)

PartId = Annotated[str, StringConstraints(pattern=r"^[A-Za-z][A-Za-z0-9_.\-]{0,23}$")]
Text = Annotated[str, StringConstraints(max_length=400)]
Words = Annotated[str, StringConstraints(max_length=4000)]
SHEET_REFERENCE = r"^[A-Za-z0-9][A-Za-z0-9_\-]{0,47}(@[0-9a-f]{8,64})?$"


def _sheet(raw: object) -> object:
    if isinstance(raw, str) and re.match(SHEET_REFERENCE, raw):
        return raw
    raise bad(
        f"got {str(raw)[:60]!r}.",
        "Write the name of a sheet in your library, e.g. hallow-100, "
        "or hallow-100@3f9c21ae to hold it to one content.",
    )


SheetReference = Annotated[str, BeforeValidator(_sheet), StringConstraints(pattern=SHEET_REFERENCE)]


def _yes_no(raw: object) -> object:
    if isinstance(raw, bool):
        return raw
    if isinstance(raw, str) and raw.strip().casefold() in ("yes", "no", "true", "false"):
        return raw.strip().casefold() in ("yes", "true")
    raise bad(f"got {raw!r}.", "Write yes or no.")


YesNo = Annotated[bool, BeforeValidator(_yes_no, json_schema_input_type=Literal["yes", "no", True, False])]


def _tightness(raw: object) -> object:
    if isinstance(raw, bool):
        return "yes" if raw else "no"
    return raw


Tightness = Annotated[Literal["yes", "no", "not known"], BeforeValidator(_tightness)]


class Record(BaseModel):
    """Base of all records of the station file: frozen, no unknown fields."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)


class Part(Record):
    """Fields every part has."""

    id: PartId = Field(description="Stable id of the place in the station; never reused.")
    name: Text = Field("", description="What people call it.")
    notes: Words = Field("", description="Anything worth knowing.")


class Tap(Part):
    """A pressure tap with its cock: T0 … T4."""

    part: Literal["tap"]
    height: Height | None = Field(None, description="Gauge above (+) or below (−) the station datum.")


class IsolatingValve(Part):
    """A valve that isolates: gate, butterfly or ball."""

    part: Literal["isolating_valve"]
    size: Size = Field(description="Nominal size.")
    turns: SpindleTurns | None = Field(None, description="Turns of the spindle from shut to open.")
    closes: Literal["clockwise", "anticlockwise"] | None = Field(None, description="Direction that shuts it.")
    kv: FlowCoefficient | None = Field(None, description="Flow coefficient when fully open.")
    tight: Tightness = Field("not known", description="Does it shut off forwards?")


class Strainer(Part):
    """Catches debris ahead of the valves."""

    part: Literal["strainer"]
    size: Size = Field(description="Nominal size.")
    kv_clean: FlowCoefficient | None = Field(None, description="Flow coefficient of the clean element.")
    mesh: Text = Field("", description="Perforation or mesh, e.g. '1.6 mm'.")


class FlowMeter(Part):
    """Measures the station's flow."""

    part: Literal["flow_meter"]
    size: Size = Field(description="Nominal size.")
    kv: FlowCoefficient | None = Field(None, description="Flow coefficient, if known.")
    lowest: Flow | None = Field(None, description="Lowest flow it can tell from zero.")


class Drain(Part):
    """A test drain or wash-out on the section where it stands in the line."""

    part: Literal["drain"]
    size: Size = Field(description="Nominal size.")
    kv: FlowCoefficient | None = Field(None, description="Flow coefficient fully open, hose included.")
    runs_to: Text = Field("", description="Where the water goes.")
    allowed: Volume | None = Field(None, description="Most the discharge permit allows for one visit.")
    metered: YesNo = Field(False, description="Is the drained flow measured?")


class Relief(Part):
    """A relief valve to atmosphere on the section where it stands in the line."""

    part: Literal["relief"]
    size: Size = Field(description="Nominal size.")
    kv: FlowCoefficient | None = Field(None, description="Flow coefficient wide open, outlet pipe included.")
    crack: PositivePressure = Field(description="Rising pressure at which it starts to lift.")
    full: PositivePressure | None = Field(None, description="Pressure at which it stands wide open.")
    reseat: PositivePressure | None = Field(None, description="Falling pressure at which it is shut again.")
    error: PressureStep | None = Field(None, description="± of its crack.")
    runs_to: Text = Field("", description="Where the water goes.")
    tells: Literal["flow switch", "none", "not known"] = Field(
        "not known", description="What tells that it runs."
    )
    credited: YesNo = Field(False, description="Is the overshoot worked out with it letting water off?")
    strokes_in: Duration | None = Field(
        None, description="Time of its full stroke; it follows the pressure at once where left out."
    )
    cock: Literal["yes", "no", "not known"] = Field(
        "not known", description="Has it a cock of its own, sealed open in service, that a test may shut?"
    )


class CheckValve(Part):
    """Lets water pass downstream only."""

    part: Literal["check_valve"]
    size: Size = Field(description="Nominal size.")
    kv: FlowCoefficient | None = Field(None, description="Flow coefficient when open.")
    closes_in: Duration | None = Field(
        None, description="Time its disc takes to fall shut once water runs back; at once where left out."
    )


class ExpansionVessel(Part):
    """A vessel with a gas cushion that takes up what the water expands; at rest it changes nothing."""

    part: Literal["expansion_vessel"]
    volume: Volume | None = Field(None, description="Volume of the whole vessel.")
    precharge: PositivePressure | None = Field(None, description="Gas pressure with the water side empty.")


class Vent(Part):
    """A high point where air is let out."""

    part: Literal["vent"]


class PilotSpring(Record):
    """The spring range and screw of a pilot."""

    spring_low: PositivePressure = Field(description="Lowest setting of the spring.")
    spring_high: PositivePressure = Field(description="Highest setting of the spring.")
    per_turn: TurnRate | None = Field(None, description="Change per turn of the screw, if known.")
    raises: Literal["clockwise", "anticlockwise"] | None = Field(
        None, description="Screw direction that raises."
    )
    screw_height: Text = Field("", description="Screw showing above the nut, as left.")

    @model_validator(mode="after")
    def _runs_upwards(self) -> PilotSpring:
        low, high = self.spring_low, self.spring_high
        if high.si <= low.si:
            problem = f"spring_low {low.text!r} is not below spring_high {high.text!r}."
            raise bad(problem, "They are reversed, or one is in another unit: correct them.")
        return self


class FactorySetting(Record):
    """Bench setting on the tag, and whether it can still be trusted."""

    pressure: PositivePressure = Field(description="Pressure on the tag.")
    date: Date = Field("", description="Bench date, as 2026-08-20.")
    sealed: YesNo = Field(False, description="Is the seal whole?")


class Duty(Record):
    """The outlet pressure asked for, with the flow it belongs to."""

    pressure: PositivePressure = Field(description="duty_pressure: outlet at the stated flow.")
    flow: RunningFlow = Field(description="Flow the duty pressure belongs to; not zero.")


class Observed(Record):
    """What was seen of a reducer on site while a steady flow ran: its outlet, whether it stood still."""

    flow: RunningFlow = Field(description="Flow through it while it was watched.")
    inlet: PositivePressure | None = Field(
        None, description="Pressure of the supply at that time; supply.typical where left out."
    )
    outlet: PositivePressure | None = Field(
        None, description="Mean pressure at the tap its pilot senses; two or more of them give its droop."
    )
    stands: Literal["still", "hunts"] | None = Field(
        None, description="Did the pressure stand still, or swing on by itself?"
    )
    date: Date = Field("", description="Day it was seen, as 2026-08-20.")

    @model_validator(mode="after")
    def _says_something(self) -> Observed:
        if self.outlet is None and self.stands is None:
            raise bad("got neither outlet nor stands.", "Write what was seen: the outlet, still, or hunts.")
        return self


class Reducer(Part):
    """Pressure-reducing valve: holds its outlet at or below a setting."""

    part: Literal["reducer"]
    kind: Literal["pilot-operated", "direct-acting"] = Field(
        "pilot-operated", description="Held by a pilot, or by its own spring."
    )
    size: Size = Field(description="Nominal size.")
    kv: FlowCoefficient | None = Field(None, description="Flow coefficient fully open.")
    duty: Duty = Field(description="duty_pressure and its stated flow.")
    lockup: PositivePressure | None = Field(None, description="lockup_pressure at zero flow, if known.")
    senses: PartId = Field(description="Tap its pilot senses.")
    pilot: PilotSpring = Field(description="Spring range and screw of its pilot.")
    factory: FactorySetting | None = Field(None, description="Bench setting on the tag.")
    chamber_feed: Literal["own filter", "shared filter"] = Field(
        "own filter", description="Filter ahead of its pilot."
    )
    sigma_damage: Ratio | None = Field(
        None, description="Cavitation index σ₁ below which damage starts, from its data sheet."
    )
    cavitation: CavitationLimits | None = Field(
        None, description="Cavitation limits over lift; where they state damage, in place of sigma_damage."
    )
    data_sheet: SheetReference | None = Field(
        None, description="Its data sheet in your library: the name, or name@ and first digits of its hash."
    )
    repeatability: PressureStep | None = Field(
        None, description="± of its pilot from one closing to the next."
    )
    drift: PressureStep | None = Field(None, description="Drift between visits.")
    response: ClosingDuration | None = Field(
        None, description="Of a monitor: time from wide open until it holds, measured."
    )
    observed: Annotated[tuple[Observed, ...], Field(max_length=12)] = Field(
        (), description="What was seen of it on site, at one flow each; stability is fitted to it."
    )
    mechanics: ReducerMechanics = Field(default_factory=ReducerMechanics, description="Inside of the valve.")


class LimitSwitch(Record):
    """The switch that tells the control room; its kind is part of its name."""

    kind: Literal["leaves open", "reaches closed"] = Field(description="Which position makes the contact.")
    text: Text = Field("", description="Words the control room sees.")


class ClosingTime(Record):
    """A measured or wanted closing time with the state it belongs to."""

    time: ClosingDuration = Field(description="From trip to shut.")
    flow: Flow | None = Field(None, description="Flow it belongs to.")
    inlet_pressure: PositivePressure | None = Field(None, description="T1 it belongs to.")
    outlet_pressure: PositivePressure | None = Field(None, description="T3 it belongs to.")


class ShutOff(Part):
    """Overpressure shut-off: stands open for years, closes once."""

    part: Literal["shut_off"]
    size: Size = Field(description="Nominal size.")
    kv: FlowCoefficient | None = Field(None, description="Flow coefficient fully open.")
    data_sheet: SheetReference | None = Field(
        None, description="Its data sheet in your library: the name, or name@ and first digits of its hash."
    )
    trip: PositivePressure | None = Field(
        None, description="trip_pressure: rising pressure at which it starts to close."
    )
    resets: Literal["by hand", "by itself"] = Field("by hand", description="How it opens again.")
    dead_band: PressureStep | None = Field(None, description="Trip minus reset.")
    senses: PartId = Field(description="Tap its pilot senses.")
    sensing_tap: Literal["own", "shared with reducer", "not known"] = Field(
        "not known", description="Own tapping and root cock, or one with the reducer."
    )
    closing_medium: Literal["own inlet", "station inlet", "not known"] = Field(
        "not known", description="Where the water that closes it is taken from."
    )
    exhaust: Literal["atmosphere", "outlet", "not known"] = Field(
        "not known", description="Where its chamber water goes."
    )
    closes_by: Literal["line pressure", "spring", "weight", "not known"] = Field(
        "not known", description="What drives it shut; without line pressure only spring and weight do."
    )
    tell_tale: Literal["exhaust port", "chamber gauge", "stem leaves its stop", "none", "not known"] = Field(
        "not known", description="The one sign that it is about to act."
    )
    limit_switch: LimitSwitch | None = Field(None, description="Contact that tells the control room.")
    closing: ClosingTime | None = Field(
        None, description="Closing time, with the flow and pressures it belongs to."
    )
    pilot: PilotSpring = Field(description="Spring range and screw of its pilot.")
    factory: FactorySetting | None = Field(None, description="Bench setting on the tag.")
    chamber_feed: Literal["own filter", "shared filter"] = Field(
        "own filter", description="Filter ahead of its pilot."
    )
    repeatability: PressureStep | None = Field(None, description="± of its trip from one trip to the next.")
    drift: PressureStep | None = Field(None, description="Drift between visits.")
    live_trip: Literal["allowed", "not allowed"] = Field(
        "allowed", description="May the line be raised to the trip?"
    )
    mechanics: ShutOffMechanics = Field(default_factory=ShutOffMechanics, description="Inside of the valve.")


class Branch(Record):
    """One way through a parallel group."""

    id: PartId = Field(description="Short name of the branch.")
    role: Literal["main", "duty", "standby", "low flow", "manual bypass"] = Field(
        "main", description="What it is for."
    )
    line: tuple[LinePart, ...] = Field(description="Parts of the branch in the order the water meets them.")
    locked_shut: YesNo = Field(False, description="Is this branch locked shut in service?")


class Parallel(Part):
    """Branches between two joints."""

    part: Literal["parallel"]
    branches: Annotated[tuple[Branch, ...], Field(min_length=2, max_length=6)] = Field(
        description="Ways from one joint to the other."
    )


LinePart = Annotated[
    Tap
    | IsolatingValve
    | Strainer
    | FlowMeter
    | Drain
    | Relief
    | CheckValve
    | ExpansionVessel
    | Vent
    | Reducer
    | ShutOff
    | Parallel,
    Field(discriminator="part"),
]

Branch.model_rebuild()
Parallel.model_rebuild()


def flat(line: tuple[Any, ...]) -> tuple[Any, ...]:
    """Return all parts of a line in walking order, those inside parallel branches included."""
    found: list[Any] = []
    for part in line:
        found.append(part)
        if isinstance(part, Parallel):
            for branch in part.branches:
                found.extend(flat(branch.line))
    return tuple(found)

"""The optional ``mechanics`` block of a valve (agreement A4): what the twin needs inside it.

Every field may be left out; `steadyhead.station.mechanics` fills it with a sourced default by size.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from steadyhead.records.quantities import (
    Area,
    Duration,
    Floor,
    FlowCoefficient,
    PressureStep,
    Ratio,
    Stroke,
    Turns,
    Volume,
)


class _Mechanics(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)

    curve_shape: Ratio | None = Field(
        None, description="b of the lift characteristic; 0 linear, 1 flat disc."
    )
    curve: tuple[tuple[float, float], ...] | None = Field(
        None, description="Lift share against flow share, from (0, 0) to (1, 1); replaces curve_shape."
    )
    stroke: Stroke | None = Field(None, description="Full lift.")
    diaphragm_area: Area | None = Field(None, description="Effective diaphragm area.")
    seat_ratio: Ratio | None = Field(None, description="Seat area over diaphragm area, r0.")
    flow_force: Ratio | None = Field(None, description="Fall of the under-disc pressure with lift, r1.")
    spring_shut: PressureStep | None = Field(None, description="Spring at the seat over diaphragm area, s0.")
    spring_rise: PressureStep | None = Field(None, description="Further spring at full lift, s1.")
    pressure_recovery: Ratio | None = Field(None, description="F_L of IEC 60534.")
    incipient_ratio: Ratio | None = Field(None, description="x_Fz of IEC 60534: incipient cavitation.")
    seat_tightness: Floor | None = Field(None, description="Numerical floor of the flow share when shut.")
    sense_lag: Duration | None = Field(None, description="Lag of the sensing line.")
    turns_free: Turns | None = Field(None, description="Screw turns before the spring is touched.")


class ReducerMechanics(_Mechanics):
    """Inside of a pilot-operated reducer."""

    feed_kv: FlowCoefficient | None = Field(None, description="Restriction that feeds the chamber.")
    pilot_kv: FlowCoefficient | None = Field(None, description="Pilot wide open.")
    opening_needle_kv: FlowCoefficient | None = Field(None, description="Opening-speed needle, if fitted.")
    filter_kv: FlowCoefficient | None = Field(None, description="Pilot filter, if it resists.")
    proportional_band: PressureStep | None = Field(
        None, description="Sensed pressure for a full pilot stroke."
    )
    seat_leak_kv: Annotated[FlowCoefficient | None, Field(description="Seat leak, if known.")] = None
    play: Turns | None = Field(None, description="Play of the screw.")
    pilot_friction: PressureStep | None = Field(None, description="Half-width of the pilot's hysteresis.")
    stem_friction: PressureStep | None = Field(None, description="Stem friction over diaphragm area.")
    dead_volume: Volume | None = Field(None, description="Chamber volume at full lift.")


class ShutOffMechanics(_Mechanics):
    """Inside of a pilot-operated shut-off."""

    closing_needle_kv: FlowCoefficient | None = Field(
        None, description="Needle that feeds the closing chamber."
    )
    opening_kv: FlowCoefficient | None = Field(None, description="Vent of the chamber when released.")

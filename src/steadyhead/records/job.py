"""The numbers of a job kept on paper: what its record is held against where no plan of ours was used."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal

FORMAT: Final = "steadyhead/job/1"
JobKind = Literal["first", "yearly", "restart"]
JOB_KINDS: Final[tuple[JobKind, ...]] = ("first", "yearly", "restart")
LAYOUTS: Final = (
    "shut-off first", "shut-off last", "low-flow stream", "building", "irrigation", "injection", "fire",
    "relief", "duty and standby", "self-resetting", "two reducers",
)  # fmt: skip
"""What the station is, as far as the steps differ; ``injection``: the line cannot be raised."""


@dataclass(frozen=True, slots=True)
class Job:
    """What a record of site work is judged against; None where the sheet does not state it.

    Parameters
    ----------
    name, kind, layout
        Station, visit and layout (`LAYOUTS`).
    unit
        Unit in which pressures of this job are told.
    duty, trickle_reading, lockup_highest, alarm, trip, standby_trip, relief_crack, limit, inlet
        Pressures at the outlet, at station datum; `limit` is the lowest fault limit. [Pa]
    duty_flow, trickle_flow
        Flows at which duty and trickle reading hold. [m³/s]
    repeatability, tolerance_up
        Of the trip pressure: band of each run, and the whole tolerance upwards. [Pa]
    instrument_error
        Largest error that the instrument for the trip may have. [Pa]
    raising_turns, inlet_turns
        Opening of the inlet isolating valve for raising and resetting, and its whole travel. [turn]
    stopwatch
        From and to of the closing time at trickle. [s]
    senses, shut_off, switch
        Tap the shut-off senses, how it resets, and what its limit switch says.
    last_left
        As-left values of the visit before, by name. [SI]
    """

    name: str = ""
    kind: JobKind = "first"
    layout: str = "shut-off first"
    unit: str = "bar"
    duty: float | None = None
    duty_flow: float | None = None
    trickle_reading: float | None = None
    trickle_flow: float | None = None
    lockup_highest: float | None = None
    alarm: float | None = None
    trip: float | None = None
    standby_trip: float | None = None
    relief_crack: float | None = None
    repeatability: float | None = None
    tolerance_up: float | None = None
    instrument_error: float | None = None
    limit: float | None = None
    inlet: float | None = None
    raising_turns: float | None = None
    inlet_turns: float | None = None
    stopwatch: tuple[float, float] | None = None
    senses: str = "T3"
    shut_off: str = ""
    switch: str = ""
    last_left: Mapping[str, float] = field(default_factory=dict)

    @property
    def test_limit(self) -> float | None:
        """Highest outlet pressure of a test: the trip with its tolerance upwards. [Pa]"""
        if self.trip is None or self.tolerance_up is None:
            return None
        return max(self.trip, self.standby_trip or self.trip) + self.tolerance_up

    @property
    def lower_edge(self) -> float | None:
        """Lowest pressure at which a shut-off in service may act. [Pa]"""
        if self.trip is None or self.tolerance_up is None:
            return None
        return min(self.trip, self.standby_trip or self.trip) - self.tolerance_up

"""Amounts the steps themselves are written with, each with its evidence."""

from __future__ import annotations

from steadyhead.records.values import Default, Evidence
from steadyhead.water.library import COLDEST

_E = Evidence.ESTIMATE
_P = Evidence.PRACTICE

WATCH_TIME = Default(
    "time a pressure is watched after the shut-off has closed", 300.0, "time", "5 min", _P, "step F2"
)
NEAR_TRIP_HOLD = Default("hold after each step near the trip", 10.0, "time", "10 s", _P, "step F1")
TRIP_HOLD = Default(
    "hold at the trip pressure before the shut-off is set", 120.0, "time", "2 min", _P, "steps ES3, DS3"
)
PUMP_HOLD = Default("time the pumped outlet is watched", 600.0, "time", "10 min", _P, "step D2")
LOCKUP_WATCH = Default(
    "time a lock-up is watched, at least", 900.0, "time", "15 min", _P, "15 to 30 min, step H2"
)
SCREEN_WATCH = Default("time a lock-up is watched at a yearly visit", 300.0, "time", "5 min", _P, "step Y3")
SERVICE_WATCH = Default("time the station is watched in demand", 1800.0, "time", "30 min", _P, "step J3")
BELOW_DUTY_LEAST = Default(
    "least a reducer is lowered below duty", 0.3e5, "pressure", "0.3 bar", _P, "steps H1, DS5"
)
BELOW_DUTY_MOST = Default(
    "most a reducer is lowered below duty", 0.5e5, "pressure", "0.5 bar", _P, "steps H1, DS5"
)
NUT_SHIFT = Default("shift by the lock nut that is accepted", 0.02e5, "pressure", "0.02 bar", _P, "step H1")
BELOW_TRIP_EDGE = Default(
    "distance a pump keeps below the trip's lower edge",
    0.1e5,
    "pressure",
    "0.1 bar",
    _P,
    "step D2, shut-off in service",
)
PUMPLESS_STEP = Default(
    "largest step when the outlet is raised by the reducer", 0.3e5, "pressure", "0.3 bar", _P, "step D2"
)
RAISE_MORE = Default(
    "raise of a shut-off that closed too soon, beyond its dead band",
    0.5e5,
    "pressure",
    "0.5 bar",
    _P,
    "steps ES5, DS4x",
)
DEAD_BAND = Default(
    "dead band of a shut-off where none is stated",
    0.5e5,
    "pressure",
    "0.5 bar",
    _E,
    "only for steps; the design asks for it",
)
OPEN_APART = Default(
    "difference of the readings before and after a shut-off that stands fully open at a trickle",
    0.3e5,
    "pressure",
    "0.3 bar",
    _E,
    "two gauges of 1 % of 16 bar, rounded down; own estimate; step DS4x",
)
COUNT_SLACK = Default(
    "how far counted turns may lie from those of the valve",
    0.1,
    "ratio",
    "10 %",
    _E,
    "play of the spindle, a turn miscounted; own estimate; steps J2, Y8",
)
COUNT_LEAST = Default(
    "counted turns that may always be off, and least by which a valve is open",
    1.0,
    "turns",
    "1 turn",
    _E,
    "own estimate; steps J2, Y8",
)
COUNT_FEW = Default(
    "share of the turns of a valve that is always the most to be off, where it takes few of them",
    0.25,
    "ratio",
    "25 %",
    _E,
    "a valve of a quarter turn is open by one; own estimate; steps J2, Y8",
)
COUNT_UNSTATED = Default(
    "least counted turns by which a valve is open whose turns are not stated",
    0.2,
    "turns",
    "0.2 turns",
    _E,
    "a quarter turn, read off a lever; own estimate; steps J2, Y8",
)
COUNT_FACTOR = Default(
    "factor by which counted turns may lie from what the figures of a valve or a screw give",
    4.0,
    "ratio",
    "4",
    _E,
    "a spring twice as stiff, a count from another stop, turns of one valve or of both; own estimate; "
    "steps B1, Y2, Y5, R7, R8C, C1S, ES1, ES4, F1, Y4 and the like",
)
COUNT_BY_SIZE = Default(
    "turns of a valve for each 25 mm of its size, and as many more, where they are not stated",
    3.0,
    "turns",
    "3 turns",
    _E,
    "gate valves; own estimate; only for the most that is counted at steps B1, Y2, Y5, R8C",
)
TRIP_FIT = Default(
    "fit of the reading to the trip before the shut-off is set",
    0.05e5,
    "pressure",
    "0.05 bar",
    _P,
    "steps ES3, DS3",
)
NIGHT_SHARE = Default(
    "leak past a shut outlet valve over the lowest demand", 0.1, "ratio", "10 %", _E, "step D2"
)
STABILITY_SHARE = Default(
    "flow for the second look at stability over peak", 0.2, "ratio", "20 %", _P, "step ES2"
)
CLOCK_FIT = Default("difference of clocks that is accepted", 10.0, "time", "10 s", _P, "step G5")
FOLLOWS = Default(
    "distance below the inlet at which an outlet counts as following it",
    0.5e5,
    "pressure",
    "0.5 bar",
    _E,
    "step C5",
)
STILL_BAND = Default(
    "move of a shut section that counts as a rise or a fall",
    0.05e5,
    "pressure",
    "0.05 bar",
    _E,
    "as invariant V5",
)
DRIP = Default("leak of one drop a second", 5e-8, "leak", "3 mL/min", _E, "a drop of about 0.05 mL, step D3")
HYSTERESIS = Default("difference of one flow point up and down", 0.1e5, "pressure", "0.1 bar", _E, "step H4")
FLOW_FACTOR = Default(
    "flow at a closing over the trickle, most and as a divisor least", 2.0, "ratio", "2", _E,
    "beyond it the stopwatch window of the trickle does not hold; step F2",
)  # fmt: skip
WATCH_SHARE = Default(
    "share of a watch that its readings must lie apart", 0.95, "ratio", "95 %", _E, "time of typing"
)
PUMP_SHORT = Default(
    "how far the pumped outlet may stay below its target", 0.1e5, "pressure", "0.1 bar", _E,
    "what a pump stroke and a gauge leave open; step D2",
)  # fmt: skip
RUNS = 3
"""Rising runs that make a proof; handbook F3, common practice."""
FLOW_POINTS = 5
"""Flow points up, and as many down, where the twin names none; handbook H4, common practice."""
CYCLING = 2
"""Openings and closings from which on a self-resetting shut-off counts as cycling; own estimate."""
CYCLES = 3
"""Openings and closings of a self-resetting shut-off that are counted at least; own estimate."""

WALL_WARMS = Default(
    "warming of a pipe wall that explains a rise", 0.5, "temperature", "0.5 K", _E,
    "1 to 2 bar for 1 °C in a full metal section; step H2",
)  # fmt: skip
FIRST_LOW = Default(
    "rise from the first reading of a lock-up to its last that no closing reducer explains", 0.5e5,
    "pressure", "0.5 bar", _E, "two to three lock-up rises of a sound pilot; step H2",
)  # fmt: skip
NO_PRESSURE = Default(
    "reading below which a critical point has no pressure", 0.2e5, "pressure", "0.2 bar", _E,
    "what a gauge may show at none; nobody draws water at less; step J3",
)  # fmt: skip
CANNOT_BE = Default(
    "how far a reading may lie above all that can feed its place before it is told", 0.3e5, "pressure",
    "0.3 bar", _E, "two gauges and a supply above its usual highest",
)  # fmt: skip
FEED_FALLS = Default(
    "fall of the consumer side while the outlet valve is tried that hides a leak", 0.5e5, "pressure",
    "0.5 bar", _E, "ten times what counts as a rise; a zone that draws moves less in 10 min; step D2",
)  # fmt: skip
WALL_STILL = Default(
    "cooling of a pipe wall that explains a fall of a shut section", 0.1, "temperature", "0.1 K", _E,
    "1 to 2 bar for 1 °C in a full metal section, and what a contact thermometer tells; step D2",
)  # fmt: skip
WALL_LEAST = Default(
    "coldest wall of a pipe with water in it", COLDEST, "temperature", "0 °C", _E, "ice; step H2"
)
WALL_MOST = Default(
    "warmest wall of a pipe with water in it", 368.15, "temperature", "95 °C", _E, "heated water; step H2"
)
WALL_MOVES = Default(
    "most the wall of a shut section may warm or cool while it is watched", 5.0, "temperature", "5 K", _E,
    "5 to 10 bar in a full metal section: the rise would tell of the wall alone; step H2",
)  # fmt: skip
TOLD_EARLY = Default(
    "how far the control room's clock may lie before the movement", 120.0, "time", "2 min", _E,
    "clocks that differ, and times noted to the minute; step G1",
)  # fmt: skip
TOLD_LATE = Default(
    "how long after the movement the control room may see it", 300.0, "time", "5 min", _E,
    "polling, filters and clocks; no delay of the switch is stated in the file; step G1",
)  # fmt: skip
SHOWN_FIT = Default(
    "difference of gauge and value shown beyond the transmitter's error", 0.15e5, "pressure", "0.15 bar", _E,
    "height of the transmitter, the gauge, and the time between the two readings; step G4",
)  # fmt: skip
POINT_SHARE = Default(
    "difference of a flow of the flow test from its point, over the point", 0.25, "ratio", "25 %", _E,
    "what a drain can be set to; the curve is still one; step H4",
)  # fmt: skip
SUPPLY_LEAST = Default(
    "least an outlet follows its inlet, over the change of the inlet", 0.01, "ratio", "1 %", _P,
    "0.01 to 0.05 bar per bar; step H6",
)  # fmt: skip
SUPPLY_MOST = Default(
    "most an outlet follows its inlet, over the change of the inlet", 0.05, "ratio", "5 %", _P,
    "0.01 to 0.05 bar per bar; step H6",
)  # fmt: skip
SERVED_BELOW = Default(
    "how far the outlet in service may lie below its lowest duty", 0.5e5, "pressure", "0.5 bar", _E,
    "droop at the flows of the day, loss of the outlet valve, another gauge; steps J2, J3",
)  # fmt: skip
SERVED_ABOVE = Default(
    "how far the outlet in service may lie above its highest lock-up", 0.1e5, "pressure", "0.1 bar", _E,
    "another gauge; steps J2, J3",
)  # fmt: skip
CHARGE_FIT = Default(
    "difference of a vessel's gas charge that is accepted", 0.2e5, "pressure", "0.2 bar", _E, "step BV"
)

MONITOR_START = Default(
    "how far below the monitor the outlet stands before its stroke is timed", 0.1e5, "pressure", "0.1 bar",
    _E, "so near that a quarter turn passes it, so far that it stands wide open",
)  # fmt: skip

_MINUTES: dict[str, float] = {
    "A1": 5, "A2": 10, "A3": 10, "A4": 10, "A5": 10, "A6": 15, "A7": 20, "A8": 3, "A9": 5,
    "E0": 5,
    "B1": 20, "B2": 10, "B3": 25, "B4": 30, "B5": 20, "B6": 10,
    "C1": 10, "C1F": 1, "C1S": 5, "C2": 15, "C3": 20, "C4": 8, "C5": 10,
    "D1": 5, "D2": 20, "D3": 15, "D4": 5,
    "EF1": 5, "EF2": 5, "EF3": 2, "ES1": 15, "ES2": 10, "ES3": 10, "ES4": 15, "ES5": 10, "ES6": 5,
    "DS0": 5, "DS1": 5, "DS2": 15, "DS3": 10, "DS4": 15, "DS4x": 10, "DS5": 10, "DS6": 10, "DS7": 10,
    "F1": 10, "F2": 7, "F2R": 8, "F3": 20, "F3R": 10, "F3C": 10, "F4": 5, "F5": 3,
    "IN1": 10, "IN2": 15, "IN3": 20, "IN4": 5, "IN5": 5,
    "TS1": 15,
    "MN0": 5, "MN1": 30, "R1": 10, "R2": 8, "R3": 3, "R4": 8, "BV": 10, "CV": 2, "J3T": 60, "J3F": 10,
    "Y9": 5, "Y8L": 10,
    "Y5L": 0, "Y6N": 25, "Y7L": 30,
    "Y0": 1, "Y0F": 2, "Y0A": 20, "Y0B": 25,
    "G1": 5, "G2": 3, "G3": 5, "G4": 10, "G5": 5,
    "H1": 10, "H1F": 5, "H2": 25, "H4": 50, "H5": 10, "H6": 10,
    "J1": 10, "J2": 20, "J3": 30, "J4": 15, "J5": 5, "J6": 10,
    "S1": 15, "S2": 10, "S3": 10, "H3": 10, "S4": 5, "S5": 15, "S6": 10, "S7": 3, "S8": 15, "S9": 10,
    "K1": 20, "K2": 10,
    "RS0": 5, "RS1": 3, "RS2": 5, "RS3": 2, "RS4": 15, "RS5": 10, "RS6": 15, "RS6X": 10, "RS7": 15,
    "RS7R": 10, "RS7T": 15, "RS8": 5, "RS8C": 5, "RS8I": 10, "RS8B": 5, "RS8P": 2, "RS8R": 2, "RS8U": 15,
    "RS8W": 5,
    "RS9": 15, "RS10": 20,
    "Y1": 4, "Y2": 6, "Y2P": 5, "Y3": 8, "Y4": 8, "Y5": 0, "Y5D": 0, "Y5O": 20, "Y6": 8, "Y6T": 12, "Y7": 3,
    "Y6H": 0,
    "Y8": 3, "Y8R": 15,
}  # fmt: skip
_ON_TOP: dict[str, float] = {"Y2": 10, "Y5": 5, "Y5D": 1, "Y6": 4, "Y6T": 6, "Y6H": 10}
"""Beyond the 40 min of the yearly visit: the watch of D2, recoveries, decisions, the high alarm. [min]"""
MINUTES: dict[str, Default] = {
    step: Default(
        f"hands-on time of step {step}",
        60.0 * minutes,
        "time",
        f"{minutes:g} min",
        _E,
        "handbook 3.7" if step.startswith("Y") else "own estimate",
    )
    for step, minutes in _MINUTES.items()
}
"""Hands-on time by position in the tables; permits, traffic and many-turn gates come on top."""
BEFORE = ("A1", "A2", "A3")
"""Steps done at a desk before anybody travels."""
AFTER = ("K1", "K2")
"""Steps done at a desk after the visit."""


ON_TOP: dict[str, Default] = {
    step: Default(
        f"time of step {step} on top of its hands-on time",
        60.0 * minutes,
        "time",
        f"{minutes:g} min",
        _E,
        "watches, recoveries and alarm, which the table of the visit leaves out",
    )
    for step, minutes in _ON_TOP.items()
}
"""Time on top of the hands-on time by position in the tables."""


def on_top(step: str) -> float:
    """Return what comes on top of the hands-on time of a step by its position in the tables. [min]"""
    return ON_TOP[step].si / 60.0 if step in ON_TOP else 0.0


def minutes(step: str) -> float:
    """Return the hands-on time of a step by its position in the tables. [min]"""
    return MINUTES[step].si / 60.0

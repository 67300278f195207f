"""Numbers of the visit that no station file states, each with its evidence.

Tolerances of pilots, gauges and valves say how far the true station may lie from the twin; amounts of work
say how a visit is usually done. A stated value (``plus_minus``, class, repeatability, drift) goes first.
"""

from __future__ import annotations

from steadyhead.records.values import Default, Evidence

_E = Evidence.ESTIMATE
_P = Evidence.PRACTICE

# How far the truth may lie from the twin.

BAND_PROBABILITY = 0.95
"""Share of true readings a band is made to hold: the middle of what the twin says over all tolerances."""

SAMPLES = 400
"""Drawn stations behind every band; own estimate: more move an edge by less than a gauge can show."""
SEED = 20260101
"""Of every plan: the same station gives the same plan, whoever asks."""
LEAST_ANSWERED = 0.99
"""A band is given only where the twin answers at this share of the drawn stations or more; own estimate."""

STATED_KV_SPREAD = Default(
    "spread of a stated flow coefficient",
    0.10,
    "ratio",
    "10 %",
    _P,
    "works' tolerance on Kv, from memory; no single source",
)
INSIDE_SPREAD = {
    "curve_shape": Default(
        "spread of the lift characteristic b", 0.5, "ratio", "50 %", _E, "between linear and quick opening"
    ),
    "seat_ratio": Default("spread of seat over diaphragm area", 0.1, "ratio", "10 %", _E, "own estimate"),
    "flow_force": Default("spread of the flow force r1", 0.4, "ratio", "40 %", _E, "own estimate"),
    "spring_shut": Default("spread of the main spring at the seat", 0.5, "ratio", "50 %", _E, "own estimate"),
    "spring_rise": Default(
        "spread of the main spring over the stroke", 0.5, "ratio", "50 %", _E, "own estimate"
    ),
}
"""Relative half-width of the inside of a valve where it is a default; a stated value counts as exact."""
ROUGHNESS_FACTOR = Default(
    "factor of the roughness of a main, 95 %",
    2.0,
    "ratio",
    "2",
    _E,
    "tables of old mains differ by more; own estimate",
)
TEMPERATURE_SPREAD = Default(
    "spread of the water temperature", 3.0, "temperature", "3 K", _E, "where no range is stated"
)
LOCKUP_RISE_SPREAD = Default(
    "spread of the lock-up rise where lockup_pressure is stated",
    0.05e5,
    "pressure",
    "0.05 bar",
    _E,
    "own estimate",
)
LEAST_LOCKUP_RISE = Default(
    "least lock-up rise of a pilot", 0.02e5, "pressure", "0.02 bar", _E, "no pilot is without error"
)
SLOPE_SHARE = Default(
    "share of the lock-up rise that comes with falling flow, not at shutting", 0.9, "ratio", "0 to 90 %", _E,
    "the twin puts nearly all of it at shutting; real pilots lie between; replaced by a measured droop",
)  # fmt: skip
EXTRA_DROOP = Default(
    "droop from duty flow to peak beyond the twin's", 0.3e5, "pressure", "0 to 0.3 bar", _P,
    "droop 0.1 to 0.3 bar for a good pilot; the twin's is less; replaced by a measured droop",
)  # fmt: skip
SUPPLY_EFFECT = Default(
    "rise of the outlet per rise of the inlet beyond the twin's", 0.04, "ratio", "0 to 0.04", _P,
    "0.01 to 0.05 bar per bar; the twin has 0.005",
)  # fmt: skip
DEAD_BAND_SPREAD = Default("spread of a shut-off's dead band", 0.2, "ratio", "20 %", _E, "own estimate")
PER_TURN_SPREAD = Default(
    "spread of a stated bar per turn", 0.1, "ratio", "10 %", _E, "own estimate; as found on site"
)
LOWEST_LESS = Default(
    "how far a lowest setting may lie below the plate's, over it", 0.5, "ratio", "50 %", _E,
    "a screw turned out to its stop leaves some springs slack; own estimate",
)  # fmt: skip
LOWEST_MORE = Default(
    "how far a lowest setting may lie above the plate's, over it", 0.1, "ratio", "10 %", _E, "own estimate"
)
CLOSING_SPREAD_STATED = Default(
    "spread of a stated closing time",
    0.20,
    "ratio",
    "20 %",
    _E,
    "a year of dirt and temperature; handbook 2.4a",
)
CLOSING_SPREAD_DEFAULT = Default(
    "spread of the closing time of a needle not stated",
    0.30,
    "ratio",
    "30 %",
    _E,
    "needle by valve size, calibrated on no valve",
)
DAY_SHARES = (("min", 0.0), ("typical", 0.5), ("night", 0.9), ("static", 1.0))
"""Share of visits with the supply below each stated pressure, straight between; own estimate."""
RUN_TOGETHER = ("S4", "S5", "S6", "S8", "S9")
"""Steps of the streams together at which water runs to the drain."""

# How people read and set.

GAUGE_ACCURACY = Default(
    "class of a gauge not named",
    0.01,
    "ratio",
    "1 %",
    _P,
    "test gauge of class 1.0; EN 837-1 gives ± of span anywhere on the dial",
)
GAUGE_SPANS = tuple(bar * 1e5 for bar in (1, 1.6, 2.5, 4, 6, 10, 16, 25, 40, 60, 100, 160, 250, 400))
"""Spans a gauge not named may have [Pa]; preferred ranges of EN 837-1, from memory."""
READING_SHARE = Default(
    "reading error over span", 0.0025, "ratio", "0.25 %", _P, "half a division of a 100- to 200-division dial"
)
HOLD_BAND = Default(
    "band within which a reading stands still", 0.05e5, "pressure", "0.05 bar", _P, "invariant V5"
)
HOLD_TIME = Default("time a reading must stand still", 60.0, "time", "60 s", _P, "invariant V5")
NUT_SHIFT = Default(
    "shift of a setting by its lock nut", 0.02e5, "pressure", "0.02 bar", _P, "accepted at H1"
)
METERED_FLOW_SPREAD = Default(
    "error of a metered flow", 0.03, "ratio", "3 %", _P, "water meter in its middle range, from memory"
)
JUDGED_FLOW_SPREAD = Default(
    "error of a flow judged by bucket and watch", 0.15, "ratio", "15 %", _E, "own estimate"
)
FALSE_SPRING_FACTOR = Default(
    "factor by which a spring may be stiffer than its plate until seen", 4.0, "ratio", "4", _E, "handbook 3.8"
)
SPRING_RATIO = Default("the stiffer spring of a turn table", 2.0, "ratio", "2", _E, "handbook 3.8")
QUARTER = 0.25
"""Step of the turn table and of a settable inlet opening. [turn]"""
TURN_ROWS = 12
"""Most quarter turns of a turn table."""
LOWEST_ROWS = 8
"""Most quarter turns of a turn table from the lowest setting: enough to tell which spring is fitted."""

# How a visit is done.

TRICKLE_SHARE = Default("trickle over peak flow", 0.02, "ratio", "2 %", _P, "1 to 3 % of the design flow")
TRICKLE_STEPS = (0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0)
"""Trickle flows somebody can set [L/s]; beyond the last one or before the first the nearest stands."""
FLOW_POINTS = 6
"""Points of the flow test, trickle included; at least 5 up and 5 down."""
FLOW_TEST_DRAIN_SHARE = Default(
    "share of the drain's flow at duty used in the flow test",
    0.9,
    "ratio",
    "90 %",
    _E,
    "leaves something to throttle",
)
FLOW_TEST_OVER_PEAK = Default(
    "highest flow of the flow test over peak", 1.05, "ratio", "105 %", _P, "station A: 22 of 21 L/s"
)
FLOW_POINT_POWER = 1.5
"""Exponent that crowds the flow points towards trickle; own estimate."""
LEAST_FLOW_SPAN = 2.0
"""Highest over lowest flow of a flow test, at least; own estimate."""
RESPONSE_REDUCER = (-0.5, 0.0, 0.5, 0.75, 1.0)
"""Reducer turns of the response table, as shares of the turns that raise it to the test limit."""
RESPONSE_SHUT_OFF = (-0.5, 0.0, 0.5)
"""Shut-off turns of the response table, as shares of the same rise."""
RESPONSE_DRAINS = (0.5, 1.0, 2.0)
"""Drain openings of the response table, as multiples of the trickle opening."""
POINT_TIME = Default(
    "time at each flow point", 240.0, "time", "4 min", _P, "station A: twelve points of 4 min"
)
FLUSH_VELOCITY = Default(
    "flushing velocity in the pipe", 1.0, "velocity", "1 m/s", _P, "enough to carry grit"
)
FLUSH_TIME = Default("flushing time", 18 * 60.0, "time", "18 min", _P, "station A: 18 min until clear")
TRICKLE_MINUTES = {
    "first": (("E", 45.0), ("F", 55.0), ("G", 20.0)),
    "yearly": (("Y2", 2.0), ("Y3", 7.0), ("Y4", 12.0), ("Y6", 14.0)),
    "return_to_service": (("E", 15.0),),
    "restart": (("R7R", 5.0), ("R7T", 10.0), ("F", 30.0)),
}
"""Time at trickle by group of steps [min], by kind of plan; together 2 h first, 35 min yearly as at station A
(design handbook 3.8: common practice), the shares own estimate. Other kinds count as first."""
DUTY_MINUTES = {"first": ("H1", 5.0), "yearly": ("Y7", 3.0), "return_to_service": ("", 0.0)}
"""Step that runs the duty flow through each reducer, and its time [min], by kind of plan; yearly 3 min as in
the design handbook 3.7, else own estimate. Other kinds count as first."""
BLEED_FLOW_SHARE = Default("moderate flow of the second bleed over peak", 0.2, "ratio", "20 %", _E, "step C4")
BLEED_TIME = Default(
    "moderate flow of the second bleed", 180.0, "time", "3 min", _P, "a few minutes, step C4"
)
CLEAR_FLOW_SHARE = Default("last flush over peak", 0.3, "ratio", "30 %", _E, "step J1")
CLEAR_TIME = Default("last flush", 300.0, "time", "5 min", _E, "step J1")
FILL_VELOCITY = Default("filling velocity", 0.3, "velocity", "0.3 m/s", _P, "step C2")
IRON_WAVE_SPEED = Default(
    "wave speed where the main is not described", 1200.0, "velocity", "1200 m/s", _E, "ductile iron"
)
LIVE_HEADROOM = Default("inlet above trip for raising the line", 0.5e5, "pressure", "0.5 bar", _P, "step ES3")
PILOT_STEP_SHARE = Default(
    "step of the proof over the trip's repeatability", 0.5, "ratio", "half", _P, "step F1"
)
AIR_LITRE = 1e-3
"""Trapped air the second pump volume assumes, at the pressure pumping starts from. [m³]"""
UNMEASURED_DRAIN = Default(
    "what the Kv of a drain may lack where nobody has measured it", 0.20, "ratio", "20 %", _E,
    "catalogue value less hose, bends and an old seat; own estimate",
)  # fmt: skip
LARGEST_DRAIN_SHARE = 0.9
"""Most of a drain's Kv that a stated spread may take away: something always runs. [1]"""
INLET_LAW_SPREAD = Default(
    "what a part-open isolating valve may pass beyond its law", 0.25, "ratio", "25 %", _E,
    "the law follows tabulated gate-valve losses within 25 %; worn gates and play of the screw are in it",
)  # fmt: skip
OPENING_ROWS = (0.5, 0.75, 1.25, 1.5, 2.0, 3.0)
"""Openings of the opening table over the one that is given; fully open comes last."""
OPENING_FLOOR = 1e-3
"""Smallest share of an inlet valve's opening tried; below it no hand sets anything. [1]"""
PUMP_STROKE = Default(
    "water a hand pump brings per stroke",
    20e-6,
    "volume",
    "20 mL",
    _E,
    "small test pump; own estimate",
)
PUMP_STROKES = 40.0
"""Strokes per minute a hand keeps up for a few minutes; own estimate."""
UNRATED_SECTION_ADD = Default(
    "rise allowed over its setting in a section without a stated rating",
    0.5e5,
    "pressure",
    "0.5 bar",
    _E,
    "own estimate",
)
RELIEF_STEP = Default(
    "step in which a relief valve is approached", 0.1e5, "pressure", "0.1 bar", _E,
    "half of it goes into the reading of its crack; own estimate",
)  # fmt: skip
RELIEF_FALL_SPREAD = Default(
    "spread of the fall from crack to shut of a relief valve, over it", 0.5, "ratio", "50 %", _E,
    "own estimate; replaced by what was read",
)  # fmt: skip
DIRECT_RISE = Default(
    "lock-up rise of a direct-acting reducer", 0.65e5, "pressure", "0.3 to 1 bar", _P,
    "its own spring holds it; replaced by a measured lock-up", 0.35e5,
)  # fmt: skip
MONITOR_REACH = Default(
    "how far the other reducer's spring must reach over a monitor's setting", 1.1, "ratio", "10 %", _E,
    "as for a trip: the screw must pass the reading; own estimate",
)  # fmt: skip
WORKING_DAY = Default(
    "hands-on work of one day", 28800.0, "time", "8 h", _P, "travel and permits on top; national rules differ"
)

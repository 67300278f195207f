"""Numbers of the audit that no station states, each with its evidence."""

from __future__ import annotations

from typing import Final

from steadyhead.records.values import Default, Evidence

_E, _P = Evidence.ESTIMATE, Evidence.PRACTICE
_HB = "design handbook"

STEADY = Default(
    "time a reading stands still before it counts", 60.0, "time", "60 s", _P, f"{_HB} 3.1 V5, e.g. 60 s"
)
STEADY_CLEARLY_SHORT = Default(
    "time below which a reading was plainly not waited for",
    30.0,
    "time",
    "30 s",
    _E,
    "half of the usual 60 s",
)
SAME_FIGURE: Final = 0.002
"""Part of a pressure by which a note's figure and the reading may be off and be the same; own estimate."""
HOLD = Default("hold of each step near the trip", 10.0, "time", "10 s", _P, f"{_HB} 3.2 F1")
STEP_SHARE = Default(
    "step of a rise as share of the repeatability", 0.5, "ratio", "half", _P, f"{_HB} 3.2 F1"
)
RUNS: Final = 3
"""Rising runs of a proof; handbook 3.2 F3."""
RUNS_YEARLY: Final = 3
"""Rises of a yearly proof: the first of the day and two more; handbook 3.7 Y4, Y6."""
TIGHT_MINUTES: Final = 10.0
"""Watch of the outlet valve's tightness [min]; handbook 3.2 D2."""
TIGHT_SHORT_OF = Default(
    "margin below the edge of a shut-off in service", 1e4, "pressure", "0.1 bar", _P, f"{_HB} 3.2 D2"
)
TIGHT_SLACK = Default(
    "reading slack on a pressure reached by pump", 0.06e5, "pressure", "0.06 bar", _E, "one good gauge"
)
FOLLOWS = Default(
    "rise beyond the outlet valve that says it passes", 0.05e5, "pressure", "0.05 bar", _E, "above reading"
)
LOST_SHARE = Default(
    "share of the test excess lost that is no tight valve", 0.3, "ratio", "30 %", _E, "own estimate"
)
LOCKUP_MINUTES: Final = 15.0
"""Shortest lock-up watch of a full test [min]; handbook 3.2 H2."""
LOCKUP_MINUTES_YEARLY: Final = 5.0
"""Shortest lock-up watch of a yearly visit [min]; handbook 3.7 Y3."""
NO_FLOW = Default(
    "flow that counts as none", 2e-6, "flow", "0.002 L/s", _E, "below what any station meter shows"
)
LOCKUP_SLACK = Default(
    "reading slack on the highest lock-up", 0.02e5, "pressure", "0.02 bar", _E, "a division"
)
NUT_SHIFT = Default("shift by a lock nut that is none", 0.02e5, "pressure", "0.02 bar", _P, f"{_HB} 3.2 H1")
ROUNDING = Default(
    "rounding of a figure on paper", 0.0055e5, "pressure", "0.0055 bar", _E, "half a hundredth, or 0.1 psi"
)
BELOW_DUTY = Default(
    "least dip below duty before it is approached",
    0.25e5,
    "pressure",
    "0.25 bar",
    _P,
    f"{_HB} 3.2 H1: 0.3 to 0.5 bar",
)
OFF_DUTY = Default(
    "duty as left off the duty asked for", 0.06e5, "pressure", "0.06 bar", _E, "three nut shifts"
)
EXPECTED_SLACK = Default(
    "least difference from what was expected that is named",
    0.12e5,
    "pressure",
    "0.12 bar",
    _E,
    "two good gauges and a pilot's step",
)
ALARM_SLACK = Default(
    "alarm off its setting that is named",
    0.15e5,
    "pressure",
    "0.15 bar",
    _E,
    "a 0.1 bar transmitter and the step",
)
AT_TRIP = Default(
    "outlet off the trip pressure at which the shut-off is set",
    0.05e5,
    "pressure",
    "0.05 bar",
    _P,
    f"{_HB} 3.2 ES3",
)
INLET_OVER_TRIP = Default(
    "inlet above the trip pressure for raising the line", 0.5e5, "pressure", "0.5 bar", _P, f"{_HB} 3.2 ES3"
)
FULL_RECORD: Final = 0.85
"""Share of the steps of a visit from which on a record is one that names each step; own estimate.
Below it, steps not named are done and not remarked on, as in the story of handbook 10.2."""
HEIGHT_TOLD = Default(
    "height of a gauge above datum that is carried",
    0.3,
    "length",
    "0.3 m",
    _E,
    "below it less than a division",
)
HEIGHT_SHARE: Final = 0.02
"""Part of a carried height that may be rounding; own estimate, heights are taken to the centimetre."""
STOPWATCH_READ: Final = 0.05
"""Reading of a stopwatch written to a tenth [s]."""
STOPWATCH_MOST: Final = 20.0
"""A time beyond this many times the window is no closing time but another wait; own estimate."""
TRAVEL_TURNS: Final = 30.0
"""Whole travel of an isolating valve whose turns the sheet does not state [turn]; own estimate."""
SAME_FLOW: Final = 0.35
"""Share by which a flow may be off the stated one and still be it; own estimate, a drain set by eye."""
TRICKLE_SHARE: Final = 0.3
"""The same for the trickle, which decides more; own estimate."""
GAUGES_APART: Final = 1.5
"""Errors of one gauge within which two readings are the same; own estimate."""
HALF_MINUTE: Final = 0.5
"""Rounding of a watch written in minutes [min]."""
STILL_CLIMBS = Default(
    "rise between two last readings of a lock-up that has not stopped",
    0.05e5,
    "pressure",
    "0.05 bar",
    _E,
    "above a division of a good gauge",
)
LOCKUP_FALLS = Default(
    "fall in a lock-up that is a leak", 0.15e5, "pressure", "0.15 bar", _E, "above friction and reading"
)
SAME_POINT: Final = 1e-5
"""Two flows closer than this are one point of the flow test [m³/s]; own estimate."""
BELOW_DUTY_MOST = Default(
    "most dip below duty before it is approached",
    0.5e5,
    "pressure",
    "0.5 bar",
    _P,
    f"{_HB} 3.2 H1: 0.3 to 0.5 bar",
)
BELOW_DUTY_ASKED = Default(
    "dip below duty asked for", 0.3e5, "pressure", "0.3 bar", _P, f"{_HB} 3.2 H1: 0.3 to 0.5 bar"
)
READ_SHARE: Final = 1.02
"""A figure of a note above its limit by more than this is named; own estimate, rounding."""
TURN_READ: Final = 0.2
"""Reading of a handwheel beside `TURN_SLACK` [turn]; own estimate."""
T4_SHARE: Final = 1.01
"""Rise of the consumers' pressure in a note that is one; own estimate, rounding."""
AGED: Final = 2.5
"""Times `EXPECTED_SLACK` that a station in service, a curve or a seat may be off; own estimate."""
WALL_SHARE: Final = 3.0
"""Times the drift of one day that a wall may move before it is remarked; own estimate."""
LIVE = Default(
    "pressure that counts as zero",
    0.03e5,
    "pressure",
    "0.03 bar",
    _E,
    "below a division of a gauge of 16 bar",
)
FAST_MINUTES: Final = 2.0
"""Whole travel of an isolating valve is fast up to this, where it is so by turns too [min]; own estimate."""
FAST_RATE: Final = 0.2
"""Turns per second of an isolating valve that are fast; own estimate: 34 turns in under 3 min."""
FILL_SPEED = Default("filling speed", 0.3, "velocity", "0.3 m/s", _P, f"{_HB} 3.2 C2")
POINTS: Final = 5
"""Points of the flow test up, and down; handbook 3.2 H4."""
WATCH_MINUTES: Final = 30.0
"""Watch in demand [min]; handbook 3.2 J3."""
ATTENDED_MINUTES: Final = 90.0
"""A watch in demand of this length is attendance, three times the usual one [min]; own estimate."""
SIGN_SLACK = Default(
    "as-left figure off the reading behind it",
    0.03e5,
    "pressure",
    "0.03 bar",
    _E,
    "rounding and one nut shift",
)
ALARM_LATE: Final = 180.0
"""Delay of a desk text that is named [s]; own estimate, polling is usually below a minute."""
OXYGEN: Final = (19.5, 23.5)
"""Oxygen band of an entry [%]; handbook 8.1 as summarised there."""
TURN_SLACK: Final = 1.15
"""Inlet valve open beyond this times its raising opening is named; reading of a turn, own estimate."""
CLASS_SLACK: Final = 1.001
"""Rounding allowed between an instrument's error and the largest it may have."""
SAME_DAY_DRIFT = Default(
    "warming of the pipe wall that spoils a lock-up",
    0.3,
    "temperature",
    "0.3 K",
    _E,
    "0.5 bar in a full metal section, handbook 0.5",
)
SCREW_MM: Final = 0.4
"""Two heights of one screw further apart than this: it was turned [mm]; reading of a rule, own estimate."""
NEEDLE_TURNS: Final = 0.1
"""Two places of one needle further apart than this: it was turned [turn]; reading of a turn, own estimate."""
AFTER_CLOSING: Final = 120.0
"""A reading of this length shows that the shut state was watched [s]; handbook 3.2 F2 asks 5 min."""
WARMED: Final = 1.5
"""Change of the wall that spoils a lock-up plainly [K]; 2.5 bar in a full metal section, handbook 0.5."""
FILL_SECONDS: Final = 90.0
"""A section filled from empty in this time was filled fast [s]; own estimate, a spool holds some 100 L."""

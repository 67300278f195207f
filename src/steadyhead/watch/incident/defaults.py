"""Thresholds by which steps and signs of an event are told, each with what it rests on. SI throughout."""

from __future__ import annotations

from steadyhead.records.values import Default, Evidence


def _one(name: str, si: float, kind: str, text: str, source: str) -> Default:
    return Default(f"incident: {name}", si, kind, text, Evidence.ESTIMATE, source)


CALM = _one(
    "time before an event that says what was normal", 7200.0, "time", "2 h", "longer ones hold other demands"
)
LEAVES = _one(
    "least change of a pressure that is a step", 0.12e5, "pressure", "0.12 bar", "less is droop and noise"
)
SIGMAS = _one(
    "change over the scatter before that is a step", 5.0, "ratio", "5", "noise of any logger stays within"
)
LEAP = _one(
    "least change of the inlet that is a leap", 0.5e5, "pressure", "0.5 bar", "pumps make less as a rule"
)
FALLS = _one(
    "fall of the inlet over before that is a loss", 0.25, "ratio", "25 %", "peaks of demand stay within"
)
SLOW = _one(
    "rise of the outlet that is slow", 900.0, "time", "15 min", "design handbook 6.5: seconds to minutes"
)
JUMP = _one(
    "share of the time since the first sign below which a rise is a jump",
    0.25,
    "ratio",
    "25 %",
    "a ramp has 70 %",
)
FLOW_RISES = _one(
    "rise of the flow over before that is one", 0.1, "ratio", "10 %", "a higher pressure draws more: its root"
)
FLOW_JUMPS = _one(
    "rise of the flow over before that is a jump", 0.5, "ratio", "50 %", "users together make less"
)
FLOW_NONE = _one("flow over its median below which none passes", 0.03, "ratio", "3 %", "resolution of meters")
FLOW_NOTHING = _one(
    "flow over its median up to which none at all passes", 0.005, "ratio", "0.5 %", "zero of meters"
)
FLOW_LOW = _one("share of the time with the lowest flow", 0.15, "ratio", "15 %", "the hours of the night")
OPENS = _one("change of the travel that is one", 0.05, "ratio", "5 %", "indicators slip by less")
WIDE = _one("travel that is wide open", 0.9, "ratio", "90 %", "indicators end early")
FOLLOWS = _one("correlation with the inlet that is following it", 0.6, "ratio", "0.6", "own year")
INLET_MOVES = _one(
    "range of the inlet from which the outlet may follow it", 0.1e5, "pressure", "0.1 bar", "less is noise"
)
LEAP_TIME = _one(
    "time on either side of a jump of the flow", 900.0, "time", "15 min", "mornings rise over hours"
)
LEAP_NEAR = _one(
    "time about the begin of a level that stays in which its flow may jump",
    2700.0,
    "time",
    "45 min",
    "steps of the demand are told by the hour",
)
AT_ONCE = _one(
    "share of a jump of the flow within two intervals", 0.6, "ratio", "60 %", "a straight ramp has 33 %"
)
OTHERS = _one(
    "jump of the flow over the largest of other days at this hour", 1.3, "ratio", "1.3", "habits repeat"
)
OVER_LOCKUP = _one(
    "outlet over lock-up that another source holds", 0.15e5, "pressure", "0.15 bar", "gauges differ by less"
)
SPIKE = _one("rise of the outlet that is a spike", 60.0, "time", "1 min", "waves pass in seconds")
STANDS = _one(
    "time at half its height or over from which a rise is no spike", 15.0, "time", "15 s", "as above"
)
AFTER = _one("time after a surge in which the inlet is back", 1800.0, "time", "30 min", "levels stay longer")

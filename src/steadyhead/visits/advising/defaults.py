"""Numbers of the advice on turns that no station file states, each with its evidence."""

from __future__ import annotations

from steadyhead.records.values import Default, Evidence

_E = Evidence.ESTIMATE
_P = Evidence.PRACTICE

RATE_SPREAD = Default(
    "how far pressure per turn may lie from the plate's", 0.4, "ratio", "± 40 %", _P, "design handbook 2.5"
)
WRONG_SHARE = Default(
    "share of pilots whose spring is not the one on the plate", 0.10, "ratio", "10 %", _E, "own estimate"
)
WRONG_LEAST = Default("softest wrong spring over the plate's", 0.4, "ratio", "0.4", _E, "own estimate")
WRONG_MOST = Default(
    "stiffest wrong spring over the plate's", 4.0, "ratio", "4", _E, "design handbook 3.8: until it is seen"
)
START_SPREAD = Default(
    "how far the top of a spring's range may lie from the plate's", 0.06, "ratio", "6 %", _E,
    "one standard deviation; own estimate",
)  # fmt: skip
START_UNSEEN = 1e6
"""Standard deviation of a start that the first reading tells. [Pa]"""
GAPS_LOADED = ((0.0, 0.0), (0.15, 0.0), (0.15, 0.15), (0.3, 0.0), (0.3, 0.15), (0.3, 0.3))
"""Play of a screw and what of it is lost at the start, the spring bearing; handbook 2.5. [turn]"""
GAPS_LOWEST = (*GAPS_LOADED, (0.15, 0.4), (0.3, 0.55), (0.15, 0.65), (0.3, 0.8))
"""The same from the lowest setting, where half a turn may be slack as well; own estimate. [turn]"""
GAPS_RAISED = ((0.0, 0.0), (0.1, 0.0), (0.2, 0.0), (0.3, 0.0))
"""The same of a screw that was raised last. [turn]"""
GRAIN = 0.1
"""How far apart these rows lie. [turn]"""
FRICTION_MOST = Default(
    "the most the friction of a pilot holds a reading back", 0.05e5, "pressure", "0.05 bar", _E,
    "physics 8: 0 to 0.05 bar",
)  # fmt: skip
FRICTION = Default(
    "friction of a pilot in a reading, one standard deviation", 0.02e5, "pressure", "0.02 bar", _E,
    "own estimate",
)  # fmt: skip
BEND = Default(
    "change of pressure per turn from turn to turn", 0.05, "ratio", "5 %", _E, "springs bear progressively"
)
HAND = Default("error of a turn by hand", 5 / 360, "turns", "5 degrees", _E, "own estimate")
TELL = Default(
    "how far above the reading the setting stands when a tell-tale shows", 0.1e5, "pressure", "0.1 bar", _E,
    "own estimate; replaced by what this pilot does",
)  # fmt: skip
FREE = Default(
    "rise of a shut-off's setting after it acted, beyond its dead band", 0.5e5, "pressure", "0.5 bar", _P,
    "design handbook 3.6a DS4x",
)  # fmt: skip
DEAD_BAND = Default(
    "dead band of a shut-off not stated", 0.6e5, "pressure", "0.6 bar", _E, "physics 8: differential"
)
TOLERANCE_DUTY = Default(
    "how near its reading a reducer is set", 0.05e5, "pressure", "0.05 bar", _P, "step ES3, invariant V5"
)
CHANCE_MOST = Default(
    "most that the chances of a closure before its time add up to in one job", 0.045, "ratio", "4.5 %", _E,
    "design handbook 3.8: below 5 % per job",
)  # fmt: skip
CHANCE_SHARE = Default(
    "most of what is left of that which one turn may take", 0.5, "ratio", "half", _E, "own estimate"
)
SPRINGS_RIGHT = 17
"""Springs of the table within the plate's spread."""
SPRINGS_WRONG = 24
"""Springs of the table for one that is not on the plate."""
AMOUNTS = (
    1 / 24, 1 / 12,
    *(step / 8 for step in range(1, 17)),
    *(step / 4 for step in range(9, 17)),
    *(step / 2 for step in range(9, 17)),
)  # fmt: skip
"""Turns that are advised [turn]: 15°, 30°, eighths to two turns, quarters to four, halves to eight."""

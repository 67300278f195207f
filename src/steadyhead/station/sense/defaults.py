"""Thresholds of the sanity of a station file; they decide what is told or asked, never a result."""

from __future__ import annotations

from steadyhead.records.values import Default, Evidence

_E = Evidence.ESTIMATE

ROUNDING = Default(
    "most of a value by which two values may cross before they contradict each other",
    0.02, "ratio", "2 %", _E, "half of the last digit typed, no more",
)  # fmt: skip
LEVEL_ROUNDING = Default(
    "by how much two levels may cross before they contradict each other",
    1.0, "length", "1 m", _E, "rounding of levels read off a plan",
)  # fmt: skip
LEAST_DRAIN_LOSS = Default(
    "least loss coefficient of a drain with its hose", 0.5, "ratio", "0.5", _E,
    "a sharp inlet alone has about 0.5 (from memory); the outlet's head adds to it",
)  # fmt: skip
LEAST_VALVE_LOSS = Default(
    "least loss coefficient of a reducer, a shut-off or a clean strainer", 0.3, "ratio", "0.3", _E,
    "a body the water passes straight through; globe bodies lie near 5",
)  # fmt: skip
LEAST_ISOLATING_LOSS = Default(
    "least loss coefficient of an open isolating valve or a meter", 0.02, "ratio", "0.02", _E,
    "a full bore of about its own diameter in length",
)  # fmt: skip
TAG_OFF = Default(
    "how far the pressure on the tag may lie from the setting wanted", 0.1, "ratio", "10 %", _E,
    "more than drift and gauge errors bring together",
)  # fmt: skip

"""Amounts of tests of several streams, each with its evidence."""

from __future__ import annotations

from steadyhead.records.values import Default, Evidence

_E = Evidence.ESTIMATE
_P = Evidence.PRACTICE

LOW_FLOW_TEST = Default(
    "highest test flow of a low-flow stream alone over its duty flow",
    2.0,
    "ratio",
    "2",
    _E,
    "where no changeover is found; else it is tested up to that flow",
)
NEAR_HANDOVER = (
    Default("flow below a changeover at which it is read", 0.7, "ratio", "70 %", _E, "step S5"),
    Default("flow above a changeover at which it is read", 1.3, "ratio", "130 %", _E, "step S5"),
)
CARRIES = Default(
    "share of the flow from which a stream counts as carrying water", 0.01, "ratio", "1 %", _E, "step S5"
)
HANDOVER_FIT = Default(
    "closeness to which a changeover flow is found", 0.00005, "ratio", "0.005 %", _E,
    "by halving; plan, check and card print one figure",
)  # fmt: skip
SAMPLES = 100
"""Drawn stations behind each band of the streams together; own estimate: every one solves the whole tree."""
HANDOVER_STEPS = 40
"""Flows looked at, evenly spaced by ratio, before a changeover is halved; own estimate."""

"""Numbers of the fit that no station file and no entry states, each with its evidence."""

from __future__ import annotations

from steadyhead.records.values import Default, Evidence

_E = Evidence.ESTIMATE
_P = Evidence.PRACTICE

MOST_RELATIVE = Default(
    "largest half-width of a fitted value, over the value", 0.5, "ratio", "50 %", _E,
    "beyond it the value is kept as it was",
)  # fmt: skip
STILL_SHARE = Default(
    "standard deviation of the mean of a needle over the band it stood in", 1 / 3, "ratio", "a third", _E,
    "the eye takes the middle of what it saw",
)  # fmt: skip
METER_ERROR = Default(
    "error of a flow whose meter is not described, over the flow", 0.02, "ratio", "2 %", _E, "own estimate"
)
METER_SCATTER = Default(
    "scatter of one flow reading over the flow, one standard deviation", 0.005, "ratio", "0.5 %", _E,
    "own estimate",
)  # fmt: skip
SAME_FLOW = Default(
    "largest difference of the flow noted with a reading from that of its point, over the larger", 0.1,
    "ratio", "10 %", _E, "own estimate: meter, and a tap that drifts while the gauges are read",
)  # fmt: skip
STOPWATCH = Default(
    "error of a time taken by hand, either way", 0.3, "time", "0.3 s", _E, "two reactions, own estimate"
)
TAG_ERROR = Default(
    "error of a bench setting on a tag, either way", 0.2e5, "pressure", "0.2 bar", _E, "own estimate"
)
OUTLIER = 4.0
"""Standard deviations from the rest beyond which one reading is left out and named; of 20 sound ones fewer
than one in 700 goes that far."""
MOST_OUTLIERS = 0.25
"""Share of the readings that may be left out; more contradict each other, and the intervals say so."""
CORRELATED = 0.3
"""Correlations above this are told."""
MISFIT = 9.0
"""Sum of squares over degrees of freedom beyond which the law does not describe the readings: on average they
lie three of their own standard deviations away."""
TRICKLE_FACTOR = 3.0
"""A flow up to this many times the trickle of the plan counts as trickle where a screw is turned."""

"""Thresholds of the judgement of logger data, each with what it rests on.

*Own estimate* means: chosen so that clean years of the tests' own generator stay free of false calls
(tests/campaigns/logger_defects.py), not taken from a publication. SI throughout.
"""

from __future__ import annotations

from steadyhead.records.values import Default, Evidence

_E = Evidence.ESTIMATE
_A = Evidence.PUBLISHED


def _one(name: str, si: float, kind: str, text: str, source: str, evidence: Evidence = _E) -> Default:
    return Default(f"logger data: {name}", si, kind, text, evidence, source)


MAD_TO_DEVIATION = 1.482602218505602
"""Standard deviation of a normal law over its median absolute deviation: 1 / Φ⁻¹(3/4). Analytic."""

GAP_STEPS = _one("gap: least length in intervals", 3.0, "ratio", "3", "one lost row is common in telemetry")
GAP_LEAST = _one("gap: least length", 120.0, "time", "2 min", "shorter ones matter to no measure")
GAP_BY_EXCEPTION = _one(
    "gap: silence of all channels of a report by exception over their longest usual silence",
    8.0, "ratio", "8", "silence is how such a logger says that nothing moves",
)  # fmt: skip
REGULAR_SHARE = _one(
    "share of intervals within a fifth of the median in a regular file", 0.8, "ratio", "80 %", "own files"
)

SPIKE_SIGMAS = _one(
    "spike: least height over the usual scatter", 10.0, "ratio", "10",
    "median filter with a wide limit: 3 is usual for cleaning, but here a wrong call costs as much as a miss",
)  # fmt: skip
SPIKE_ALONE = _one("spike: least height over the spread of its four neighbours", 4.0, "ratio", "4", "lone")
SPIKE_OVER_STEPS = _one(
    "spike: least height over the steps the channel makes and holds", 1.5, "ratio", "1.5",
    "a pump that stands still for one sample is no defect",
)  # fmt: skip
SPIKE_PRESSURE = _one(
    "spike: least height of a pressure", 0.3e5, "pressure", "0.3 bar", "smaller ones harm little"
)
SPIKE_FLOW = _one(
    "spike: least height of a flow over its median", 0.6, "ratio", "0.6", "smaller ones harm little"
)
WITNESS_SIGMAS = _one(
    "scatter at which another channel is taken to have seen the same thing", 4.0, "ratio", "4",
    "rather a defect missed than a surge called a defect",
)  # fmt: skip
WITNESS_SHARE = _one(
    "movement of another pressure at a spike, over its height, that can go with it", 0.06, "ratio", "6 %",
    "a surge from above is larger at the inlet, one from below is weakened there, not gone",
)  # fmt: skip
WITNESS_DOWN = _one(
    "the same, of the outlet at a spike of the inlet", 0.01, "ratio", "1 %",
    "a stiff reducer passes 1 to 4 % of what the inlet does",
)  # fmt: skip

STUCK_SAMPLES = _one("stuck: least samples in a row", 10.0, "ratio", "10", "shorter runs happen by chance")
STUCK_TIME = _one("stuck: least time", 3600.0, "time", "1 h", "shorter ones matter to no measure")
STUCK_OVER_USUAL = _one(
    "stuck: run over the longest usual run", 3.0, "ratio", "3", "own resolution of the channel"
)
OTHERS_MOVE = _one("movement of another channel over its scatter", 4.0, "ratio", "4", "it really moves")

CLIP_SAMPLES = _one(
    "clipping: least samples at the ceiling", 6.0, "ratio", "6", "a maximum is met once or twice"
)
CLIP_OVER_NEXT = _one(
    "clipping: samples at the ceiling over those at the next value below", 2.0, "ratio", "2", "flat tops"
)
CLIP_VALUES = _one("clipping: least number of distinct values", 12.0, "ratio", "12", "else stairs look flat")

GRAIN_PRESSURE = _one(
    "quantisation: least step of a pressure", 0.04e5, "pressure", "0.04 bar", "0.1 % of 16 bar is 0.016"
)
GRAIN_FLOW = _one(
    "quantisation: least step of a flow over its median", 0.10, "ratio", "10 %", "pulses do that"
)
GRAIN_REPEATS = _one("quantisation: least share of equal neighbours", 0.08, "ratio", "8 %", "stairs are seen")

FACTOR_CLOSE = _one(
    "unit confusion of a pressure: nearness to a factor", 0.05, "ratio", "5 %", "10 and 10.2 need the visit"
)
FACTOR_CLOSE_FLOW = _one(
    "unit confusion of a flow: nearness to a factor", 0.13, "ratio", "13 %", "demand wanders"
)
LEVEL_STEP = _one("step of the flow's level worth a look", 0.40, "ratio", "ln 1.5", "less is demand")
LEVEL_TIME = _one("least time at a level", 21_600.0, "time", "6 h", "shorter ones are events")
RELATION = _one(
    "error of the flow's relation to travel and inlet with the step undone over that with the step", 0.6,
    "ratio", "0.6", "a real change of demand moves them, a wrong factor does not",
)  # fmt: skip
VISIT_RATIO = _one(
    "factor of a flow against the meter at a visit worth a call",
    0.30,
    "ratio",
    "ln 1.35",
    "meter and interval differ",
)

OFFSET = _one(
    "offset of a pressure against a visit's gauge worth a call",
    0.12e5,
    "pressure",
    "0.12 bar",
    "two gauges of class 0.6 to 10 bar",
)
ATMOSPHERE = _one("atmosphere", 1.01325e5, "pressure", "1.01325 bar", "ISO 2533, sea level", _A)
ATMOSPHERE_BAND = _one(
    "nearness to one atmosphere", 0.07e5, "pressure", "0.07 bar", "weather and 500 m of height"
)
DRIFT_SEEN = _one(
    "drift: share of the visits' difference that the record itself must show", 0.4, "ratio", "40 %",
    "else one of the gauges was misread",
)  # fmt: skip

CLOCK = _one("clock against a visit worth a call", 45.0, "time", "45 s", "a watch read at the cabinet")
CLOCK_SPREAD = _one(
    "difference of two visits' clocks that is a drift", 30.0, "time", "30 s", "two such readings"
)
LAG_LEAST = _one(
    "lag between channels worth a call", 600.0, "time", "10 min", "means are stamped at either end"
)
LAG_STEPS = _one(
    "lag between channels worth a call, in intervals", 2.0, "ratio", "2", "means are stamped at either end"
)
LAG_REACH = _one("longest lag looked for", 14_400.0, "time", "4 h", "beyond it days look alike")
LAG_PEAK = _one("least correlation at the lag", 0.15, "ratio", "0.15", "shared short swings")
LAG_CLEAR = _one("correlation at the lag over the scatter of the others", 6.0, "ratio", "6", "a clear peak")

SWAP_TIME = _one("channel swap: least time", 1800.0, "time", "30 min", "shorter ones are events")
SWAP_NEAR = _one(
    "channel swap: nearness to the other's usual level over their usual distance",
    0.3,
    "ratio",
    "30 %",
    "they exchange",
)
DAMPED_SLOPE = _one(
    "sensor cock shut: answer to the other channels over the usual", 0.2, "ratio", "0.2", "it answers nothing"
)
DAMPED_SIGNAL = _one(
    "sensor cock shut: expected movement over the usual error", 1.0, "ratio", "1", "else nothing to see"
)
DAMPED_TIME = _one("sensor cock shut: least time", 14_400.0, "time", "4 h", "shorter calms happen")
CALM = _one(
    "sensor cock shut: movement of half a day over the usual", 0.19, "ratio", "0.19",
    "the calmest half day of clean records of the tests' generator had 0.29",
)  # fmt: skip
CALM_SIGNAL = _one(
    "sensor cock shut: usual movement over the scatter", 1.0, "ratio", "1", "else nothing to see"
)
NOISE = _one(
    "sensor cock shut: movement of block medians over the sensor's own noise in them", 1.35, "ratio", "1.35",
    "the median of a normal law scatters 1.25 times as much as its mean",
)  # fmt: skip

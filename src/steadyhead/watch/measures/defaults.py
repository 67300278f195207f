"""Limits of the measures, each with what it rests on. SI throughout."""

from __future__ import annotations

from steadyhead.records.values import Default, Evidence


def _one(name: str, si: float, kind: str, text: str, source: str) -> Default:
    return Default(f"measures: {name}", si, kind, text, Evidence.ESTIMATE, source)


TURNING = _one(
    "change of flow in twenty minutes that is a rise or a fall", 0.1, "ratio", "10 %", "users swing by less"
)
LEAST_IN_BIN = _one("least samples in a bin of flow", 20.0, "ratio", "20", "a median needs some")
STEADY_FLOW = _one("supply sensitivity: most change of flow", 0.08, "ratio", "8 %", "droop is then small")
STEADY_DROOP = _one(
    "supply sensitivity: droop that comes with steady flow",
    0.005e5,
    "pressure",
    "0.005 bar",
    "a part of 8 % of flow",
)
INLET_STEP = _one(
    "supply sensitivity: least change of inlet", 0.1e5, "pressure", "0.1 bar", "pumps make more"
)
LEAST_STEPS = _one("supply sensitivity: least changes", 12.0, "ratio", "12", "a slope needs some")
FLOAT_UP = _one(
    "night lock-up: outlet over the droop curve that is a rise",
    0.1e5,
    "pressure",
    "0.10 bar",
    "noise and droop",
)
LEAST_NIGHTS = _one("night lock-up: least nights", 3.0, "ratio", "3", "one night proves little")
LEAST_DAYS = _one("strainer trend: least days", 5.0, "ratio", "5", "days differ")
CLEAN_DAYS = _one(
    "strainer trend: days in a row whose middle, where it is least, is taken for clean", 5.0, "ratio", "5",
    "a record seldom begins at a cleaning",
)  # fmt: skip
LOSS_SEEN = _one(
    "strainer: least loss at the highest flow", 0.02e5, "pressure", "0.02 bar", "two gauges of 0.01 bar each"
)
OPENED_AT = Default(
    "measures: strainer coefficient over that when clean at which it is opened", 2.0, "ratio", "2",
    Evidence.PRACTICE, "design handbook 5.5 and 6.4: a strainer is opened at about twice its clean loss",
)  # fmt: skip

LEAP = _one("fast change: least change", 0.3e5, "pressure", "0.3 bar", "smaller ones harm little")
LEAP_TIME = _one("fast change: time within which it happens", 10.0, "time", "10 s", "slower are levels")
LEAP_APART = _one("fast change: time after which the next one counts", 60.0, "time", "60 s", "one rings")
LEAP_SEEN = _one(
    "fast change: interval beyond which most lie between samples", 60.0, "time", "60 s", "they last seconds"
)
LEAST_CYCLE = _one("cycles: least range told", 0.1e5, "pressure", "0.10 bar", "less is noise")
AIR = _one("cavitation: pressure of the air", 1.013e5, "pressure", "1.013 bar", "at sea level")
VAPOUR = _one("cavitation: vapour pressure", 1.7e3, "pressure", "0.017 bar", "water at 15 °C")
SWING_SHARE = _one(
    "hunting: share of the swing's power about one period", 0.4, "ratio", "40 %", "a sine has nearly all"
)
SWING_DAYS = _one(
    "hunting: share of the days on which a flow swings", 0.3, "ratio", "30 %", "once is no habit"
)
LEAST_TOPS = _one("trip margin: least days", 7.0, "ratio", "7", "a week has two kinds of days")
DEMAND_STEP = _one("demand: least step of the daily mean", 0.18, "ratio", "ln 1.2", "weeks differ by less")
DEMAND_NIGHT = _one("demand: least step of the night's flow", 0.26, "ratio", "ln 1.3", "own records")
DEMAND_SIGMAS = _one("demand: step over the scatter of days", 4.0, "ratio", "4", "own years")
DEMAND_DAYS = _one("demand: least days on either side", 7.0, "ratio", "7", "a week has all kinds of days")

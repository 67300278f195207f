"""Thresholds of the events of a station, each with what it rests on.

*Own estimate* means: chosen so that ordinary records of the tests' own generator stay free of false calls,
not taken from a publication. SI throughout.
"""

from __future__ import annotations

from steadyhead.records.values import Default, Evidence

_E = Evidence.ESTIMATE


def _one(name: str, si: float, kind: str, text: str, source: str, evidence: Evidence = _E) -> Default:
    return Default(f"events: {name}", si, kind, text, evidence, source)


STILL = _one("flow over its median below which none passes", 0.02, "ratio", "2 %", "resolution of meters")
RISE = _one(
    "trip: rise of the outlet over before that is a sign of one", 0.12e5, "pressure", "0.12 bar",
    "less is droop and noise",
)  # fmt: skip
RISE_CLEAR = _one(
    "trip told without a switch: least rise of the outlet before the flow stops",
    0.2e5, "pressure", "0.2 bar",
    "a slow sampling sees the rise in part only",
)  # fmt: skip
RISE_TIME = _one("trip: longest time of the rise looked at", 21_600.0, "time", "6 h", "a night's creep")
CLOCKS_APART = _one(
    "trip told without a switch: how far the clocks of two loggers may stand apart", 120.0, "time", "2 min",
    "clocks set by hand",
)  # fmt: skip
DRAINED = _one(
    "trip told without a switch: outlet over the usual, no flow, inlet as usual", 0.6, "ratio", "60 %",
    "nothing feeds the zone",
)  # fmt: skip
CLOSED_LEAST = _one(
    "trip told without a switch: least time without flow", 600.0, "time", "10 min", "shorter ones are samples"
)
AGAIN = _one(
    "second closing this soon after the reset is of the same trip", 3600.0, "time", "1 h",
    "a drained zone is filled in less",
)  # fmt: skip

SUPPLY_FALL = _one(
    "supply loss: fall below the usual daily low over that low", 0.25, "ratio", "25 %",
    "peaks of demand and pumps stay within",
)  # fmt: skip
SUPPLY_FALL_SPREAD = _one(
    "supply loss: fall below the usual daily low over the usual daily fall", 1.0, "ratio", "1", "own year"
)
SUPPLY_HELD = _one(
    "supply loss: least time where values are held until the next report",
    1200.0,
    "time",
    "20 min",
    "one report may be a surge",
)
SUPPLY_TIME = _one("supply loss: least time", 240.0, "time", "4 min", "shorter ones are surges")

BURST_SHARE = _one("burst: least extra flow over the mean", 0.35, "ratio", "35 %", "less is demand")
BURST_SIGMAS = _one(
    "burst: least jump over the usual jumps at this flow",
    5.5,
    "ratio",
    "5.5",
    "a wrong call costs as much as a miss",
)
BURST_OTHERS = _one(
    "burst: jump over the largest of other days at this hour", 1.3, "ratio", "1.3", "habits repeat"
)
BURST_TIME = _one("burst: least time", 1500.0, "time", "25 min", "a hydrant runs for less")
BURST_LONGEST = _one("burst: longest time", 345_600.0, "time", "4 days", "longer ones are demand")
BURST_REPEATS = _one("extra flows alike that are a habit", 3.0, "ratio", "3", "field valves, tank filling")

SURGE_LEAST = _one(
    "surge: least height in the inlet", 0.3e5, "pressure", "0.3 bar", "smaller ones harm little"
)
SURGE_OUTLET = _one("surge: least height in the outlet", 0.05e5, "pressure", "0.05 bar", "a sensor's noise")
SURGE_SIGMAS = _one("surge: least height over the scatter, inlet", 8.0, "ratio", "8", "as for spikes")
SURGE_SIGMAS_WITNESSED = _one(
    "surge: least height over the scatter, inlet, where the outlet answers clearly", 5.0, "ratio", "5",
    "two channels at once",
)  # fmt: skip
SURGE_SIGMAS_OUTLET = _one(
    "surge: least height over the scatter, outlet", 5.0, "ratio", "5", "it is a witness only"
)
SURGE_SEEN = _one(
    "surge: interval from which most lie between samples", 5.0, "time", "5 s", "they last seconds"
)
SURGE_DRAWN = _one(
    "surge: share of the height that the flow may explain", 0.4, "ratio", "40 %", "else it is a draw"
)
SURGE_TIME = _one("surge: longest time", 180.0, "time", "3 min", "longer ones are levels")

SWING = _one("hunting: least swing, peak to peak", 0.07e5, "pressure", "0.07 bar", "less harms little")
SWING_OVER_USUAL = _one("hunting: scatter over the usual scatter", 2.5, "ratio", "2.5", "own years")
SWING_TAIL = _one(
    "hunting: most fourth moment over the squared second", 4.0, "ratio", "4",
    "1.5 for a sine, 3 for a normal law, far more for single jumps",
)  # fmt: skip
SWING_SAMPLES = _one(
    "hunting: samples in a period from which it is seen", 4.0, "ratio", "4", "design handbook 6.4"
)
SWING_SHORTEST = _one("hunting: shortest usual period", 3.0, "time", "3 s", "design handbook 6.4: 3 to 60 s")
SWING_PERIOD = _one("hunting: longest usual period", 60.0, "time", "60 s", "design handbook 6.4: 3 to 60 s")

CREEP_LEAST = _one("night creep: least rise", 0.05e5, "pressure", "0.05 bar", "gauges of class 0.6")
CREEP_SIGMAS = _one("night creep: rise over the scatter of nights", 6.0, "ratio", "6", "own years")
CREEP_ABOVE = _one(
    "night creep: nights above the known lock-up", 0.2e5, "pressure", "0.2 bar", "two gauges, and a setting"
)
CREEP_FLOW = _one(
    "night creep: flow of the nights over that of the others from which their droop is known", 0.6, "ratio",
    "60 %", "own records of a holiday",
)  # fmt: skip
CREEP_UNSEEN = _one(
    "night creep: what the outlet may rise below the flows that are known", 0.25e5, "pressure", "0.25 bar",
    "a pilot near its lock-up",
)  # fmt: skip

BLINDING_RATIO = _one("strainer: least growth of the resistance", 1.4, "ratio", "1.4", "own years")
BLINDING_LOSS = _one(
    "strainer: least added loss at high flow", 0.12e5, "pressure", "0.12 bar", "less is the supply's own"
)
BLINDING_SIGMAS = _one("strainer: growth over the scatter of days", 5.0, "ratio", "5", "own years")

LINE_QUICK = _one(
    "strainer or line, no gauge at T0: least resistance by changes of a quarter of an hour over that by all",
    0.9, "ratio", "0.9", "own years: 0.92 to 1.04, 0.63 to 0.89 where others draw from the line",
)  # fmt: skip
LINE_GROWTH = _one(
    "strainer or line, no gauge at T0: share of the growth that the quick changes must show", 0.85, "ratio",
    "85 %", "own years",
)  # fmt: skip
LINE_LEAST = _one(
    "strainer or line, no gauge at T0: growth over the resistance that quick changes must show", 0.15,
    "ratio", "15 %", "days differ by less",
)  # fmt: skip
LINE_STEP = _one(
    "strainer or line, no gauge at T0: least step over the level before that is one", 0.2, "ratio", "20 %",
    "own years",
)  # fmt: skip

SETTING_LEAST = _one(
    "setting moved: least step of the outlet", 0.08e5, "pressure", "0.08 bar", "half a turn moves more"
)
SETTING_SIGMAS = _one("setting moved: step over the scatter of hours", 6.0, "ratio", "6", "own years")
SETTING_SHARP = _one(
    "setting moved: share of the step within two intervals", 0.6, "ratio", "60 %", "else it walks"
)
SETTING_BEFORE = _one(
    "setting moved: least time at the old level", 10_800.0, "time", "3 h", "else none is known"
)
SETTING_STAYS = _one(
    "setting moved: least time at the new level", 43_200.0, "time", "12 h", "shorter ones are events"
)

DEMAND_LEAST = _one("demand changed: least step", 0.26, "ratio", "ln 1.3", "weeks differ by less")
DEMAND_SHARP = _one(
    "demand changed: share of the step within two days", 0.7, "ratio", "70 %", "else it is season"
)
DEMAND_AT_ONCE = _one(
    "demand changed: share of the step within eight hours", 0.65, "ratio", "65 %", "else it is weather"
)
DEMAND_STAYS = _one(
    "demand changed: least time at the new level", 129_600.0, "time", "36 h", "longer than a day off"
)

THERMAL_RISE = _one(
    "thermal rise: least rise of the outlet in a closed zone", 0.25e5, "pressure", "0.25 bar",
    "a reducer that shuts leaves less",
)  # fmt: skip
THERMAL_SLOW = _one(
    "thermal rise: least time from rest to top", 1200.0, "time", "20 min", "water warms slowly"
)
THERMAL_FALL = _one(
    "thermal rise: share of the rise that goes again while no water flows", 0.3, "ratio", "30 %",
    "what a leaking seat brings stays",
)  # fmt: skip
THERMAL_OVER = _one(
    "thermal rise: top over the inlet from which no leak explains it", 0.1e5, "pressure", "0.1 bar",
    "two gauges",
)  # fmt: skip
THERMAL_INLET = _one(
    "thermal rise: most correlation with the inlet", 0.8, "ratio", "0.8", "else the outlet may follow it"
)
STILL_LEAST = _one("closed zone: least time without flow", 3600.0, "time", "1 h", "shorter ones are pauses")

BACKFEED_RISE = _one(
    "backfeed: least outlet over the usual at no flow", 0.15e5, "pressure", "0.15 bar", "two gauges, droop"
)
BACKFEED_TIME = _one("backfeed: least time", 1800.0, "time", "30 min", "shorter ones are waves")
BACKFEED_USUAL = _one(
    "backfeed: least usual flow at this hour over the mean", 0.3, "ratio", "30 %", "else the zone may rest"
)
BACKFEED_STEADY = _one(
    "backfeed: most scatter of the outlet over its rise", 0.35, "ratio", "35 %", "a drained zone falls"
)

SHUT_OFF_RATIO = _one("shut-off: least growth of its resistance", 1.5, "ratio", "1.5", "days differ by less")
SHUT_OFF_LOSS = _one("shut-off: least added loss at high flow", 0.05e5, "pressure", "0.05 bar", "two gauges")
SHUT_OFF_SIGMAS = _one("shut-off: growth over the scatter of days", 6.0, "ratio", "6", "as for strainers")
SHUT_OFF_SHARP = _one(
    "shut-off: share of the growth between three neighbouring days from which it was moved", 0.75, "ratio",
    "75 %", "dirt takes longer",
)  # fmt: skip

RAISED_LEAST = _one(
    "outlet raised for a while: least rise", 0.2e5, "pressure", "0.2 bar", "hours differ by less"
)
RAISED_SIGMAS = _one(
    "outlet raised for a while: rise over the scatter of quarters of an hour", 6.0, "ratio", "6", "own years"
)
RAISED_TIME = _one(
    "outlet raised for a while: least time", 1800.0, "time", "30 min", "shorter ones are waves"
)
RAISED_LONGEST = _one(
    "outlet raised for a while: longest time", 43_200.0, "time", "12 h", "longer ones are a setting"
)
RAISED_FLOW = _one(
    "outlet raised for a while: flow beside each end over that within, or the other way round", 0.6, "ratio",
    "60 %", "else the droop tells it",
)  # fmt: skip
RAISED_STEADY = _one(
    "outlet raised for a while: most range within over the rise", 0.6, "ratio", "60 %", "a creep climbs"
)
OVER_TIME = _one("outlet over the trip: least time", 60.0, "time", "60 s", "shut-offs close within a minute")
OVER_TRIP = _one(
    "outlet over the trip: upper edge over the trip where it is not known", 0.1, "ratio", "10 %", "tolerances"
)
OVER_LONG = _one(
    "outlet over the trip: least time within its tolerance", 600.0, "time", "10 min", "it waits for no peak"
)
OVER_GAUGE = _one("outlet over the trip: least height", 0.05e5, "pressure", "0.05 bar", "a logger's gauge")

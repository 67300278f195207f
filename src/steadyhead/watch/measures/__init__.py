"""Measures of a station from its loggers, made of days that merge."""

from steadyhead.watch.measures.band import InBand, time_in_band
from steadyhead.watch.measures.day import Day, Days, days_of, merge
from steadyhead.watch.measures.droop import DroopCurve, droop_change, droop_curve
from steadyhead.watch.measures.lockup import Lockup, night_lockup
from steadyhead.watch.measures.measure import Measure, Measured
from steadyhead.watch.measures.strainer import StrainerTrend, strainer_trend
from steadyhead.watch.measures.supply import supply_sensitivity

__all__ = [
    "Day",
    "Days",
    "DroopCurve",
    "InBand",
    "Lockup",
    "Measure",
    "Measured",
    "StrainerTrend",
    "days_of",
    "droop_change",
    "droop_curve",
    "merge",
    "night_lockup",
    "strainer_trend",
    "supply_sensitivity",
    "time_in_band",
]

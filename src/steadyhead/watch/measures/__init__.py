"""Measures of a station from its loggers, made of days that merge."""

from steadyhead.watch.measures.as_left import AsLeft, DroopAsLeft, Stood, after, droop_as_left, lockup_as_left
from steadyhead.watch.measures.band import InBand, time_in_band
from steadyhead.watch.measures.beside_twin import AgainstTwin, Beside, Twin, against_twin
from steadyhead.watch.measures.cavitation import Cavitation, cavitation_hours
from steadyhead.watch.measures.daily import days_of, renewed
from steadyhead.watch.measures.day import Day, Days, merge
from steadyhead.watch.measures.demand import Demand, demand
from steadyhead.watch.measures.droop import DroopCurve, droop_change, droop_curve
from steadyhead.watch.measures.hunting import Hunting, hunting
from steadyhead.watch.measures.levels import level_trend, levelled
from steadyhead.watch.measures.lockup import Lockup, night_lockup
from steadyhead.watch.measures.measure import Measure, Measured, Rows
from steadyhead.watch.measures.shutoff import ShutOffTrend, shut_off_trend
from steadyhead.watch.measures.strainer import StrainerTrend, strainer_trend
from steadyhead.watch.measures.supply import supply_sensitivity
from steadyhead.watch.measures.transients import Transients, transients
from steadyhead.watch.measures.trip import TripMargin, trip_margin

__all__ = [
    "AgainstTwin",
    "AsLeft",
    "Beside",
    "Cavitation",
    "Day",
    "Days",
    "Demand",
    "DroopAsLeft",
    "DroopCurve",
    "Hunting",
    "InBand",
    "Lockup",
    "Measure",
    "Measured",
    "Rows",
    "ShutOffTrend",
    "Stood",
    "StrainerTrend",
    "Transients",
    "TripMargin",
    "Twin",
    "after",
    "against_twin",
    "cavitation_hours",
    "days_of",
    "demand",
    "droop_as_left",
    "droop_change",
    "droop_curve",
    "hunting",
    "level_trend",
    "levelled",
    "lockup_as_left",
    "merge",
    "night_lockup",
    "renewed",
    "shut_off_trend",
    "strainer_trend",
    "supply_sensitivity",
    "time_in_band",
    "transients",
    "trip_margin",
]

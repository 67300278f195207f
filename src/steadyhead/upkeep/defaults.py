"""Intervals and factors of upkeep where the owner states none, each with its evidence (design handbook 5).

*Common practice* here means: what the trade does under average conditions. Codes, the supplier's instructions
and the owner's rules take their place.
"""

from __future__ import annotations

from steadyhead.records.values import Default, Evidence
from steadyhead.upkeep.days import DAYS_OF_A_MONTH

MONTH = DAYS_OF_A_MONTH * 86_400.0
"""Mean month of the calendar. [s]"""
_P = Evidence.PRACTICE
_E = Evidence.ESTIMATE
_A = Evidence.PUBLISHED


def _months(name: str, months: float, text: str, evidence: Evidence, source: str) -> Default:
    return Default(f"interval: {name}", months * MONTH, "time", text, evidence, source)


def _factor(name: str, value: float, evidence: Evidence, source: str) -> Default:
    return Default(f"factor on an interval: {name}", value, "ratio", f"{value:g}", evidence, source)


WEEK = 7 / DAYS_OF_A_MONTH
LOOK_MANNED = _months("look at a plant room", WEEK, "1 week", _P, "weekly where people are about")
LOOK_CHAMBER = _months(
    "look into a chamber", 1, "1 month", _P,
    "monthly; a trade article of 2025 suggests three to six months by priority",
)  # fmt: skip
STRAINER_READING = _months(
    "reading of a strainer's loss at a known flow", 3, "3 months", _P, "monthly to quarterly"
)
STRAINER_CLEAN = _months("main strainer opened and cleaned", 12, "12 months", _P, "yearly")
FINE_STRAINER = _months(
    "filter of 80 to 150 µm in a building", 6, "6 months", _A,
    "EN 806-5, annex A, cited second hand; not read by us",
)  # fmt: skip
PILOT_FILTER = _months("filter ahead of a pilot", 12, "12 months", _P, "yearly, with the strainer")
FUNCTIONAL = _months("functional check of a reducer: duty and lock-up", 12, "12 months", _P, "6 to 12 months")
ALARM = _months("high outlet alarm to the desk", 12, "12 months", _P, "6 to 12 months, with the reducer")
TRIP_PROOF = _months(
    "trip proof of a shut-off, to the desk", 12, "12 months", _P,
    "12 months; 6 where critical, up to 24 with data",
)  # fmt: skip
MONITOR = _months(
    "proof that a monitor holds", 12, "12 months", _P,
    "as the trip proof of a shut-off: it stands idle as long",
)  # fmt: skip
RELIEF = _months("relief valve: lift, reseat, discharge path", 12, "12 months", _P, "yearly")
VESSEL = _months("precharge of an expansion vessel", 12, "12 months", _P, "yearly; its water side empty")
ISOLATING = _months(
    "isolating valve: full or near-full travel, turns counted", 12, "12 months", _A,
    "US EPA guidance on distribution suggests exercising valves yearly, cited second hand; not read by us",
)  # fmt: skip
GAUGES = _months(
    "fixed gauges and transmitters compared with a test gauge", 12, "12 months", _P,
    "yearly; calibration every 1 to 2 years",
)  # fmt: skip
PILOT_OVERHAUL = _months("pilot: diaphragm, seat, spring and seals", 48, "4 years", _P, "3 to 5 years")
INSIDE = _months(
    "main valve: inside inspection, elastomers", 48, "4 years", _P,
    "3 to 5 years, up to 10 with good evidence; at least one city rebuilds every year",
)  # fmt: skip
LADDERS = _months("ladder, lid and their fixings", 12, "12 months", _P, "yearly")
COATING = _months("coating, bolting and supports", 60, "5 years", _P, "5 years")
REVIEW = _months(
    "settings held against demand, inlet and limits of today", 30, "30 months", _E,
    "2 to 3 years, or after any change of the network",
)  # fmt: skip
FIRE_LOOK = _months(
    "fire service: inspection of the reducer", 3, "3 months", _A,
    "NFPA 25, 13.5.1, as seen in a public checklist; the edition in force and the fire authority decide",
)  # fmt: skip
FIRE_PART = _months(
    "fire service: partial flow", 12, "12 months", _A,
    "NFPA 25, from memory; the edition in force and the fire authority decide",
)  # fmt: skip
FIRE_FULL = _months(
    "fire service: full flow", 60, "5 years", _A,
    "NFPA 25, as seen in a public checklist; the edition in force and the fire authority decide",
)  # fmt: skip

CRITICAL = _factor("critical consumers, on proofs and functional checks", 0.5, _E, "hospital, single feed")
REDUNDANT = _factor(
    "shut-off and relief valve both proved, on the trip proof", 1.25, _E,
    "only as long as the relief valve is in date by its own interval",
)  # fmt: skip
WARM = _factor("water above 25 °C, on elastomers", 0.8, _E, "ageing of elastomers")
FLOODS = _factor("chamber that floods", 0.7, _E, "breathers, exhausts and pilots under water")
FAST = _factor("more than 5 m/s at average flow", 0.7, _E, "wear; meant: for more than 5 % of the time")
OLD = _factor("valve more than 15 years in service", 0.8, _E, "ageing")
DRIFTED = _factor("as found moved by more than half the tolerance", 0.5, _E, "drift between two visits")
STEADY = _factor(
    "as found moved by less than a quarter of the tolerance, three times", 1.25, _E, "drift between visits"
)
CLEAN = _factor("strainer found clean twice running", 1.25, _E, "1.25 to 1.5")
DIRTY = _factor("strainer found with much debris, or its loss doubled", 0.5, _E, "0.3 to 0.7")

WARM_FROM = Default(
    "water from which elastomers age faster", 298.15, "temperature", "25 °C", _E, "handbook 5.2"
)
FAST_FROM = Default("velocity from which a valve wears faster", 5.0, "velocity", "5 m/s", _E, "handbook 5.2")
OLD_FROM = _months("age from which a valve counts as old", 180, "15 years", _E, "handbook 5.2")

UNSEEN_FAILURES = Default(
    "failures a year of a shut-off that nobody sees until it is asked to act", 0.02, "ratio", "0.02 a year",
    _E, "within 0.01 to 0.05; your own tests tell better",
)  # fmt: skip
PULL_SHARE = Default(
    "share of its interval in which a thing is worth doing early with the same isolation", 0.4, "ratio",
    "40 %", _E, "30 to 50 %",
)  # fmt: skip
DEFER_SHARE = Default(
    "longest deferral, of the interval in force", 0.5, "ratio", "50 %", _E,
    "so that a deferral cannot become a habit",
)  # fmt: skip
MOST_DEFERRALS = 2
"""Deferrals of one thing in a row; the third asks for the work or for another interval. Own estimate."""

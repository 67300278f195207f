"""Numbers of the transient engine that no station states, each with where it comes from."""

from __future__ import annotations

from steadyhead.records.values import Default, Evidence

_E = Evidence.ESTIMATE
_OWN = "own estimate"

GAS_FRACTION = Default(
    "free gas at each node of a main, share of its volume at atmospheric pressure",
    1e-7,
    "ratio",
    "1e-7",
    _E,
    "discrete gas cavity of Wylie 1984, from memory",
)
GAS_WEIGHTING = Default(
    "weight of the new level in the gas balance of a node", 1.0, "ratio", "1", _E, "fully implicit"
)
REACHES = Default(
    "reaches in the shortest main", 100.0, "ratio", "100", _E, "converged below 0.01 bar without separation"
)
LONGEST_STEP = Default("longest time step", 0.02, "time", "0.02 s", _E, "resolves a sensing line of 0.05 s")
BULK_STIFFNESS = Default(
    "stiffness of the water in the sections of a station, walls and a trace of gas included",
    1.2e9,
    "pressure",
    "1.2 GPa",
    _E,
    "own estimate",
)
SECTION_GAS = Default(
    "free gas in a section of a station, share of its volume at atmospheric pressure", 1e-7, "ratio", "1e-7",
    _E, "as in the mains: where the pressure falls to that of vapour a cavity stands in it",
)  # fmt: skip
SEAT_FLOOR = Default(
    "what a seat without a stated leak passes, of the full coefficient", 1e-9, "ratio", "1e-9", _E,
    "shut: a closed section keeps its pressure for the length of a run",
)  # fmt: skip
LEAST_SECTION = Default(
    "least water between two things in a station", 1e-4, "volume", "0.1 L", _E, "a flange and a bit of bore"
)
AIR_EXPONENT = Default(
    "exponent of air in a vessel or a chamber", 1.2, "ratio", "1.2", Evidence.PRACTICE, "from memory"
)
STEM_DAMPING = Default(
    "damping of a stem that rides on air in N s/m", 2e4, "ratio", "2e4", _E,
    "own estimate; decides that mode alone, so it is told as it is: qualitative",
)  # fmt: skip
BLOCKED_FEED = Default("feed over pilot below which a chamber never refills", 8e-4, "ratio", "8e-4", _E, _OWN)
ADJUSTED_WAVE_SPEED = Default(
    "change of a wave speed to whole reaches that is told", 0.02, "ratio", "2 %", _E, _OWN
)
SEPARATED = Default("gas at one node that counts as column separation", 1e-5, "volume", "0.01 L", _E, _OWN)
COUPLED = Default(
    "lift of a shut-off above which a cavity falling in on one side is felt on the other", 0.05, "ratio",
    "5 %", _E, _OWN,
)  # fmt: skip
SETTLED_WITHIN = Default("band that counts as settled", 1e4, "pressure", "0.1 bar", _E, "own estimate")
END_SHARE = Default("last part of a run whose mean is its end", 0.10, "ratio", "10 %", _E, "own estimate")
RIPPLE_SHARE = Default("last part of a run whose swing is its ripple", 0.25, "ratio", "25 %", _E, _OWN)
LEAST_SWING = Default("swing below which no period is told", 1e4, "pressure", "0.1 bar", _E, "own estimate")

# A station file as a plan.
PLAIN_SECTION = Default(
    "water in a section beside no valve, over that beside one", 0.3, "ratio", "0.3", _E, _OWN
)
BETWEEN_VALVES = Default(
    "water in a section between two valves, over that beside one", 0.5, "ratio", "0.5", _E, _OWN
)
CHECK_CLOSES = Default(
    "time in which a check valve follows a reversal", 0.0, "time", "0 s", _E, "shuts at reversal"
)
DIRECT_LAG = Default("lag of a direct-acting reducer", 0.3, "time", "0.3 s", _E, "0.1 to 1 s")
DEAD_BAND = Default("trip minus reset of a shut-off", 0.6e5, "pressure", "0.6 bar", _E, "own estimate")
REACHES_CLOSED = Default("lift at which a closed contact makes", 0.03, "ratio", "3 %", _E, "own estimate")
LEAVES_CLOSED = Default("lift at which a closed contact breaks", 0.05, "ratio", "5 %", _E, "own estimate")
LEAVES_OPEN = Default("lift at which an open contact breaks", 0.95, "ratio", "95 %", _E, "own estimate")
OPENS_OVER_CLOSES = Default(
    "opening over closing time of a shut-off driven by spring or weight",
    2.0,
    "ratio",
    "2",
    _E,
    "own estimate",
)
STUB_BORE = Default("bore of a main nobody stated, where no part tells it", 0.1, "length", "0.1 m", _E, "own")
STUB_WAVE_SPEED = Default(
    "wave speed in a stub for a main nobody stated", 1000.0, "velocity", "1000 m/s", _E, "between materials"
)
STUB_STEP = Default(
    "time step where neither main is stated", 5e-3, "time", "5 ms", _E, "a tenth of a sensing line"
)
ZONE_AGREES = Default(
    "difference of mains and rest of a zone to its volume that is told",
    0.05,
    "ratio",
    "5 %",
    _E,
    "own estimate",
)
FINEST_STEP = Default(
    "time step below which a short main is cut into fewer reaches", 1e-3, "time", "1 ms", _E,
    "a sensing line of 0.05 s takes fifty of them",
)  # fmt: skip
LEAST_REACHES = Default("fewest reaches of a stated main", 10.0, "ratio", "10", _E, "own estimate")
STUDY_REACHES = Default(
    "reaches in the shortest main of a study, halved once to see what the grid does", 25.0, "ratio", "25", _E,
    "extremes of the examples within 0.02 bar of eight times as many, without separation",
)  # fmt: skip
STUDY_STEP = Default(
    "longest time step of a study, halved once to see what the grid does", 0.01, "time", "0.01 s", _E,
    "a fifth of a sensing lag; extremes of the examples within 0.02 bar of those at 2.5 ms",
)  # fmt: skip

# Events.
EVENT_AT = Default("calm before an event", 1.0, "time", "1 s", _E, "own estimate")
WATCHED_FOR = Default("time watched after an event", 60.0, "time", "60 s", _E, "own estimate")
WATCHED_LONGER = Default(
    "further time for a shut-off that has tripped and is not shut",
    120.0,
    "time",
    "120 s",
    _E,
    "own estimate",
)
STEP_WITHIN = Default("time in which demand or supply changes", 1.0, "time", "1 s", _E, "own estimate")
FAILS_WITHIN = Default(
    "time in which a reducer is driven open where no failure is credited",
    5.0,
    "time",
    "5 s",
    _E,
    "own estimate",
)
TORN_OVER_FEED = Default(
    "leak of a torn diaphragm over its feed", 8.0, "ratio", "8", _E, "Kv 0.5 with a feed of Kv 0.06 at DN 100"
)
SECONDS_PER_TURN = Default(
    "time of one turn of an isolating valve's spindle, by a fast hand",
    1.0,
    "time",
    "1 s",
    _E,
    "own estimate",
)
CLOSED_WITHIN = Default(
    "time in which an isolating valve of unknown turns is moved", 10.0, "time", "10 s", _E, _OWN
)
SCREW_TURNS = Default("turns of a pilot screw, turned too fast", 1.0, "turns", "1 turn", _E, "own estimate")
SCREW_WITHIN = Default("time of those turns", 1.0, "time", "1 s", _E, "own estimate")
LOOK = Default("time between two looks whether a run is decided or at rest", 1.0, "time", "1 s", _E, _OWN)
QUIET_FOR = Default(
    "time nothing moves before a run counts as at rest, and twice the way of a wave to and fro if longer",
    4.0, "time", "4 s", _E, "four to a hundred sensing lags",
)  # fmt: skip
QUIET_WITHIN = Default(
    "pressure that counts as standing still in that time", 20.0, "pressure", "20 Pa", _E,
    "over the minute left it would come to 0.003 bar",
)  # fmt: skip
QUIET_FLOW = Default("flow that counts as standing still", 1e-6, "flow", "0.004 m³/h", _E, _OWN)
QUIET_LIFT = Default("lift or pilot opening that counts as standing still", 1e-3, "ratio", "0.1 %", _E, _OWN)
QUIET_SWING = Default(
    "times as far as standing still that a swing may reach which dies away about a middle that stands still",
    20.0, "ratio", "20", _E, "0.004 bar, a fifth of what the engine is held to",
)  # fmt: skip
MOST_LINES = Default("lines of a trace", 4000.0, "ratio", "4000", _E, "enough for a picture")
GRID_CHANGE = Default(
    "change of an extreme under a halved step that is told", 0.005, "ratio", "0.5 %", _E, _OWN
)
ABSURD = Default(
    "pressure over the supply that no station sees", 5.0, "ratio", "5", _E, "convergence is not validity"
)
MASS_ERROR = Default(
    "error of the mass account that is told", 1e-3, "ratio", "0.1 %", _E, "below 0.01 % at steps of 5 ms"
)
SWINGS_GROW = Default(
    "growth of swings up to which a run of a hunting reducer is read", 3.0, "ratio", "3", _E, _OWN
)
LEAST_READ = Default("least time a run of a hunting reducer is read", 5.0, "time", "5 s", _E, "own estimate")
MOST_WITHIN = Default(
    "longest time of a change that is run", 3600.0, "time", "3600 s", _E, "slower than any wave or stem"
)
QUIET_DIFFERS = Default(
    "difference of two runs of an event below which nothing is told of it", 0.02e5, "pressure", "0.02 bar",
    _E, _OWN,
)  # fmt: skip
BELOW_AIR = Default(
    "pressure below that of the air, anywhere in a main, that is told", 0.1e5, "pressure", "0.1 bar", _E, _OWN
)

# Bands of what is not calibrated.
_NEEDLES = "needles are turned in until the valve stands still; own estimate"
FEED_BAND = (
    Default(
        "feed of a chamber nobody measured, lowest over its default", 0.25, "ratio", "a quarter", _E, _NEEDLES
    ),
    Default(
        "feed of a chamber nobody measured, highest over its default", 2.0, "ratio", "twice", _E, _NEEDLES
    ),
)
PILOT_BAND = (
    Default(
        "pilot over feed nobody measured, lowest over its default", 0.75, "ratio", "three quarters", _E, _OWN
    ),
    Default(
        "pilot over feed nobody measured, highest over its default", 1.5, "ratio", "one and a half", _E, _OWN
    ),
)
PROPORTIONAL_BAND = (
    Default(
        "band of a pilot nobody measured, lowest over its default",
        0.5,
        "ratio",
        "half",
        _E,
        "0.4 to 1.5 bar of 0.8",
    ),
    Default(
        "band of a pilot nobody measured, highest over its default",
        1.9,
        "ratio",
        "1.9 times",
        _E,
        "0.4 to 1.5 bar of 0.8",
    ),
)
SENSE_LAG_BAND = (
    Default("lag of a sensing line nobody measured, lowest", 0.02, "time", "0.02 s", _E, _OWN),
    Default("lag of a sensing line nobody measured, highest", 0.3, "time", "0.3 s", _E, _OWN),
)
AREA_BAND = (
    Default("diaphragm area nobody measured, lowest over its default", 0.8, "ratio", "0.8", _E, _OWN),
    Default("diaphragm area nobody measured, highest over its default", 1.25, "ratio", "1.25", _E, _OWN),
)
ZONE_MAINS = (
    Default("mains like the zone's that go on behind its end, fewest", 1.0, "ratio", "1", _E, _OWN),
    Default("mains like the zone's that go on behind its end, most", 3.0, "ratio", "3", _E, _OWN),
)
AT_STATION = Default("distance from the station that counts as at it", 1.0, "length", "1 m", _E, _OWN)

# The smallest event of the file that trips.
EDGE_WITHIN = Default("width an edge is halved to", 0.02, "ratio", "2 %", _E, _OWN)
FASTEST_TRIED = Default("shortest time a change of flow is tried in", 0.1, "time", "0.1 s", _E, _OWN)
SLOWEST_TRIED = Default("longest time a change of flow is tried in", 600.0, "time", "600 s", _E, _OWN)
TRIED_LARGER = Default("step between draw-offs tried", 1.5, "ratio", "1.5", _E, _OWN)
LARGEST_OF_STATED = Default("largest draw-off tried over the stated one", 5.0, "ratio", "5", _E, _OWN)
TRIP_WATCHED = Default("time watched for a trip after the last change", 20.0, "time", "20 s", _E, _OWN)
TRIP_LOOKED_AT = Default("time between two looks for a trip", 0.5, "time", "0.5 s", _E, _OWN)
NO_TRIP = 1e12
"""A trip above it is none. [Pa]"""
MEMBERS = Default(
    "members of the uncalibrated band a stability band is drawn from", 48.0, "ratio", "48", _E,
    "the tenths move by a few per cent with the seed",
)  # fmt: skip
OBSERVED_DRAWN = Default(
    "members drawn for each one wanted, where observations choose among them", 8.0, "ratio", "8", _E, _OWN
)
OBSERVED_FEWEST = Default(
    "fewest members that must agree with what was seen for a fit", 8.0, "ratio", "8", _E, _OWN
)
OBSERVED_READING = Default(
    "error of an outlet pressure read on site without a stated ±", 5000.0, "pressure", "0.05 bar", _E,
    "as the tolerance a reading must settle in",
)  # fmt: skip
HUNTS_MOSTLY = Default(
    "share of fitted members that hunt from which on it is to be heeded", 0.5, "ratio", "half", _E, _OWN
)
NOT_DETERMINED = Default(
    "part of its band a value still fills that observations do not determine", 0.8, "ratio", "80 %", _E, _OWN
)

# Air in a chamber.
AIR_SHARE = Default(
    "air in a chamber, over what the chamber takes in a stroke", 0.23, "ratio", "0.23", _E,
    "own estimate: 0.1 L at DN 100, a cover that was not vented",
)  # fmt: skip
AIR_NUDGE = Default("change of demand that wakes what air does", 0.02, "ratio", "2 %", _E, _OWN)

# Tolerances and ensembles.
STRIDE = Default("time between two looks at one run of many", 1.0, "time", "1 s", _E, _OWN)
AFTER_SHUT = Default(
    "time one run of many is watched after its shut-off is shut", 10.0, "time", "10 s", _E, _OWN
)
DEMAND_TOLERANCE = Default("tolerance of a flow of the file", 0.1, "ratio", "10 %", _E, _OWN)
INLET_TOLERANCE = Default("tolerance of an inlet pressure of the file", 0.02, "ratio", "2 %", _E, _OWN)
WAVE_STATED = Default("tolerance of a stated wave speed", 0.05, "ratio", "5 %", _E, _OWN)
WAVE_DERIVED = Default(
    "tolerance of a wave speed worked out from wall and material", 0.15, "ratio", "15 %", _E, _OWN
)
ELASTICITY_TOLERANCE = Default(
    "tolerance of volume times elasticity of a zone", 0.3, "ratio", "30 %", _E, _OWN
)
KV_STATED = Default("tolerance of a Kv of the file", 0.1, "ratio", "10 %", _E, _OWN)
AIR_SHARES = (0.023, 0.07, 0.23)
"""Air in a chamber over what it takes in a stroke: 10, 30 and 100 mL at DN 100; own estimate. [1]"""

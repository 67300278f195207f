"""Defaults of the design room, each with its evidence (design handbook 2.3 to 2.5, 3.8).

"Common practice" has no single source; "own estimate" is ours and may be replaced at any time. None is a
code requirement.
"""

from __future__ import annotations

from steadyhead.records.values import Default, Evidence

_P = Evidence.PRACTICE
_E = Evidence.ESTIMATE
_BAR = 1e5

# Tolerances of the ladder.
GAP = Default(
    "gap between highest normal and the trip's lower edge",
    0.15 * _BAR,
    "pressure",
    "0.15 bar",
    _E,
    "own estimate",
)
REDUCER_REPEATABILITY = Default(
    "repeatability of a reducer's pilot",
    0.10 * _BAR,
    "pressure",
    "0.10 bar",
    _P,
    "0.05 to 0.1 bar or 1 to 2 %",
)
REDUCER_REPEATABILITY_SHARE = Default(
    "repeatability of a reducer's pilot, share of its setting",
    0.02,
    "ratio",
    "2 %",
    _P,
    "the larger of the two is taken",
)
REDUCER_DRIFT_SHARE = Default(
    "drift of a reducer's pilot in a year, share of its setting", 0.03, "ratio", "3 %", _P, "1 to 3 % a year"
)
SHUT_OFF_REPEATABILITY = Default(
    "repeatability of a shut-off's pilot",
    0.15 * _BAR,
    "pressure",
    "0.15 bar",
    _P,
    "0.1 to 0.15 bar or 2 to 3 %; worse after long rest",
)
SHUT_OFF_REPEATABILITY_SHARE = Default(
    "repeatability of a shut-off's pilot, share of its setting",
    0.025,
    "ratio",
    "2.5 %",
    _P,
    "the larger of the two is taken",
)
SHUT_OFF_DRIFT_SHARE = Default(
    "drift of a shut-off's pilot in a year, share of its setting", 0.02, "ratio", "2 %", _P, "1 to 3 % a year"
)
GAUGE_ERROR = Default(
    "error of the gauge a trip is set with, none named",
    0.10 * _BAR,
    "pressure",
    "0.10 bar",
    _E,
    "class 1.0 on 0 to 10 bar",
)
ALARM_ERROR = Default(
    "error of the alarm's transmitter, none stated",
    0.10 * _BAR,
    "pressure",
    "0.10 bar",
    _P,
    "0.1 to 0.5 % of span and drift",
)
TRIP_GUESS = Default(
    "trip over lock-up where none is chosen, only to size shares of it",
    1.2,
    "ratio",
    "1.2",
    _P,
    "1.15 to 1.3 of duty",
)

# Failures and overshoot.
CREDITED_WITHIN = Default(
    "time in which a reducer drifts open, none credited",
    120.0,
    "time",
    "120 s",
    _E,
    "a slow failure: minutes to weeks",
)
DEAD_TIME = Default(
    "time from the trip to the first movement of a shut-off",
    0.5,
    "time",
    "0.5 s",
    _E,
    "beside closing times of some seconds",
)
FAILURE_SPEEDS = (
    Default(
        "sudden failure of a reducer",
        2.0,
        "time",
        "2 s",
        _E,
        "main diaphragm bursts, a hand on the pilot screw",
    ),
    Default(
        "fast failure of a reducer", 30.0, "time", "30 s", _E, "restriction blocked, pilot diaphragm torn"
    ),
    Default(
        "medium failure of a reducer", 120.0, "time", "2 min", _E, "sensing line shut, restriction fouling"
    ),
    Default("slow failure of a reducer", 600.0, "time", "10 min", _E, "dirt on a seat, drift"),
)
FASTEST_LOOKED_AT = Default(
    "fastest failure looked at", 0.5, "time", "0.5 s", _E, "faster is a surge, not a filling zone"
)
SLOWEST_LOOKED_AT = Default(
    "slowest failure looked at", 86400.0, "time", "1 d", _E, "slower failures are seen by the alarm"
)
PROOF_DIFFERS = Default(
    "difference of the proved overshoot to the lumped one that is explained", 0.2e5, "pressure", "0.2 bar",
    _E, "own estimate",
)  # fmt: skip
PACE_HELPS = Default(
    "difference of a lowest pressure between both edges of the closing time that is told as a cure",
    0.02e5, "pressure", "0.02 bar", _E, "own estimate",
)  # fmt: skip
PACE_ROOM = Default(
    "room beyond the band of a closing time a window leaves where another pace is told", 0.05, "ratio", "5 %",
    _E, "own estimate",
)  # fmt: skip
PROOF_DIFFERS_SHARE = Default(
    "share of the greater of both overshoots from which their difference is explained", 0.30, "ratio", "30 %",
    _E, "own estimate",
)  # fmt: skip
PROOF_GRID = Default(
    "change of the worst proved pressure under a halved step that is told", 0.005, "ratio", "0.5 %", _E,
    "as the transient twin tells it of a run",
)  # fmt: skip
PROOF_MASS = Default(
    "error of the mass account of a proof that is told", 1e-3, "ratio", "0.1 %", _E, "as of a run"
)
PROOF_WAVE = Default(
    "change of a wave speed in a proof that is told", 0.02, "ratio", "2 %", _E, "as of a run"
)
DRAWN_IN = Default(
    "pressure below that of the air that a credited failure may leave untold", 0.1e5, "pressure", "0.1 bar",
    _E, "as the transient twin tells it of a run",
)  # fmt: skip
CLOSING_DIFFERS = Default(
    "gauges at a closing time, off from the open valve by more than this, that is asked about", 0.2e5,
    "pressure", "0.2 bar", _E, "own estimate: two gauges of 1 % of 10 bar",
)  # fmt: skip
CLOSING_DIFFERS_SHARE = Default(
    "the same over the difference of the open valve", 0.3, "ratio", "30 %", _E,
    "own estimate: Kv from the size of the valve",
)  # fmt: skip
NARROW_WINDOW = Default(
    "window of the closing time, narrower than this about its middle, that is told", 0.20, "ratio", "±20 %",
    _E, "a year of dirt and temperature moves a closing time as far",
)  # fmt: skip
CLOSING_SPREAD = Default(
    "closing time a year may add",
    0.20,
    "ratio",
    "20 %",
    _E,
    "dirt and temperature; a narrower window does not last",
)
LAST_SHARE = Default(
    "share of the stroke in which a shut-off stops most of the flow",
    0.2,
    "ratio",
    "20 %",
    _E,
    "a valve of linear Kv throttles little until its last fifth",
)

# Limits.
RATING_TEMPERATURE = Default(
    "water temperature up to which a plastic bears its class",
    293.15,
    "temperature",
    "20 °C",
    _P,
    "pressure classes of plastic pipes are stated at about 20 °C (from memory)",
)
PLASTIC_WALLS = ("PVC-U", "PE100", "PE80")
"""Materials of the file whose strength falls with temperature."""
PLASTIC_WORDS = (
    r"\b(?:[A-Za-z]{0,2}-?PVC|PVC-?[A-Z]*|(?:HD|MD|LD)?PE(?:-?\d+|-?X|-?RT)?|PP|PP-?[HR]|ABS)\b"
    r"|(?i:\bplastic|\bpoly(?:ethylene|propylene|vinyl))"
)
"""How a component's words tell that it is plastic; own estimate."""

# Relations of the ladder.
MIN_DIFFERENCE = Default(
    "least difference a pilot-operated reducer needs", 0.7 * _BAR, "pressure", "0.7 bar", _P, "0.5 to 0.7 bar"
)
SPRING_REACH = Default(
    "what a reducer's spring must reach, over the trip", 1.10, "ratio", "110 %", _E, "trip and 10 %"
)
TRIP_IN_SPRING_LOW = Default(
    "lowest place of a trip in its spring's range", 0.30, "ratio", "30 %", _P, "30 to 80 %"
)
TRIP_IN_SPRING_HIGH = Default(
    "highest place of a trip in its spring's range", 0.80, "ratio", "80 %", _P, "30 to 80 %"
)
DUTY_IN_SPRING_LOW = Default(
    "lowest place of duty in its spring's range", 1 / 3, "ratio", "33 %", _E, "middle third"
)
DUTY_IN_SPRING_HIGH = Default(
    "highest place of duty in its spring's range", 2 / 3, "ratio", "67 %", _E, "middle third"
)
SMALLEST_TURN = Default(
    "smallest honest turn of a pilot screw", 15 / 360, "turns", "0.042 turns", _E, "15 degrees"
)
COARSE_TURN_SHARE = Default(
    "most of the trip's repeatability that the smallest turn may move",
    0.5,
    "ratio",
    "50 %",
    _E,
    "coarser springs miss the window",
)

# Sizing.
TRAVEL_HIGH = Default("most travel at the highest flow", 0.85, "ratio", "85 %", _P, "75 to 85 % of travel")
TRAVEL_LOW = Default(
    "least travel at the highest flow before a smaller valve is looked at",
    0.30,
    "ratio",
    "30 %",
    _E,
    "75 to 85 % is usual; a high pressure difference leaves less, as the velocity then decides",
)
GROWTH = Default(
    "flow a smaller valve must still take, over the stated one",
    1.25,
    "ratio",
    "125 %",
    _E,
    "room for a future demand",
)
VALVE_SIZES_MM = (20, 25, 32, 40, 50, 65, 80, 100, 125, 150, 200, 250, 300, 350, 400, 500, 600)
"""Nominal sizes of valves [mm]; the usual ones (from memory)."""
LOWEST_LIFT = Default(
    "lift below which a single seat stops holding smoothly", 0.03, "ratio", "3 %", _E, "about 4 % of Kv"
)
LOWEST_FLOW_LOW = Default(
    "lowest smooth flow over the valve's most, good valve",
    0.01,
    "ratio",
    "1 %",
    _P,
    "1 to 5 %; measure it on site",
)
LOWEST_FLOW_HIGH = Default(
    "lowest smooth flow over the valve's most, plain valve",
    0.05,
    "ratio",
    "5 %",
    _P,
    "1 to 5 %; measure it on site",
)
BORE_VELOCITY = Default("velocity in a valve's bore, lasting", 5.0, "velocity", "5 m/s", _P, "4 to 5 m/s")
BORE_VELOCITY_FIRE = Default(
    "velocity in a valve's bore, fire or short peaks", 7.5, "velocity", "7.5 m/s", _P, "6 to 7.5 m/s"
)
PIPE_VELOCITY = Default("velocity in the connected pipe", 2.5, "velocity", "2.5 m/s", _P, "1 to 2.5 m/s")
STRAINER_LOSS = Default(
    "loss of a clean strainer at peak", 0.20 * _BAR, "pressure", "0.20 bar", _P, "0.1 to 0.2 bar"
)
SHUT_OFF_LOSS = Default(
    "loss of an open shut-off at peak", 0.15 * _BAR, "pressure", "0.15 bar", _E, "full bore"
)
GAUGE_SHARE = Default(
    "most of the trip's tolerance that a gauge may take",
    0.25,
    "ratio",
    "25 %",
    _E,
    "a quarter of the upper tolerance",
)
GAUGE_WORKING_LOW = Default(
    "lowest working value over span", 0.50, "ratio", "50 %", _P, "50 to 75 % of span, steady pressure"
)
GAUGE_WORKING_HIGH = Default(
    "highest working value over span", 0.75, "ratio", "75 %", _P, "50 to 75 % of span, steady pressure"
)

# Practical steps of remedies, weakest first: what a shop or a hand offers.
GAUGE_CLASSES = (0.016, 0.010, 0.006, 0.005, 0.0025, 0.001)
"""Accuracy of gauges, share of span: EN 837-1 classes and the American grade of 0.5 % (from memory)."""
GAUGE_SPANS_BAR = (4.0, 6.0, 10.0, 16.0, 25.0, 40.0, 60.0, 100.0)
"""Spans of gauges offered [bar]; the usual ones (from memory)."""
CLOSING_SECONDS = (20.0, 15.0, 12.0, 10.0, 8.0, 7.0, 6.0, 5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 1.0)
"""Closing times offered [s]; own estimate of what a needle can be trimmed to."""
PRESSURE_CLASSES_BAR = (6.0, 8.0, 10.0, 12.5, 16.0, 20.0, 25.0, 32.0, 40.0, 63.0, 100.0)
"""Ratings offered in place of a weak component [bar]; the usual PN steps (from memory)."""
MOST_DUTY_STEPS = 20
"""Most steps by which a duty is lowered."""
MEASURED_BAR = (0.10, 0.08, 0.06, 0.05, 0.04, 0.03, 0.02)
"""Repeatability or drift that a measurement would have to show [bar]; own estimate."""
DUTY_STEP = {
    "bar": 0.05,
    "psi": 1.0,
    "kPa": 5.0,
    "MPa": 0.005,
    "m head": 0.5,
    "ft head": 2.0,
    "mbar": 50.0,
    "kgf/cm²": 0.05,
}
"""Practical step of a pressure setting by unit; own estimate."""

# Capacity map.
MAP_WIDTH = Default(
    "width to which a border of the capacity map is halved, share of its value",
    0.001,
    "ratio",
    "0.1 %",
    _E,
    "a tenth of the 1 % asked, the rest for the straight line between two places of a border",
)
MAP_HALVINGS = 40
"""Most halvings of a border; one that runs to zero never grows narrow beside its value. Own estimate."""
MAP_TRIES = 8
"""Places tried along a column of the map before halving; own estimate."""
MAP_COLUMNS, MAP_ROWS = 49, 41
"""Places along the two axes at which borders are found; own estimate, lines between them to 1 %."""
MAP_FLOW_MARGIN = Default(
    "highest flow of a capacity map over the highest of the design",
    1.25,
    "ratio",
    "125 %",
    _E,
    "room to read",
)
MAP_INLET_MARGIN = Default(
    "highest inlet of a capacity map over the highest of the design",
    1.15,
    "ratio",
    "115 %",
    _E,
    "room to read",
)
MAP_INLET_LOW = Default(
    "lowest inlet of a capacity map over the lower of duty and lowest inlet",
    0.7,
    "ratio",
    "70 %",
    _E,
    "room to show where it stands wide open",
)
MAP_LEAST_INLET = Default(
    "least height of a capacity map", 1e5, "pressure", "1 bar", _E, "a map of no height cannot be drawn"
)
MAP_FIRST_FLOW = Default(
    "lowest flow of a capacity map over its highest",
    0.0005,
    "ratio",
    "0.05 %",
    _E,
    "at no flow nothing flows",
)
STYLE_MODIFIER = Default(
    "F_d of a globe reducer, for flow that is not turbulent",
    0.46,
    "ratio",
    "0.46",
    Evidence.ESTIMATE,
    "IEC 60534-2-1 gives 0.46 for a contoured plug, flow to open (from memory); a reducer may differ",
)
NOMINAL_SIZES_MM = (
    25.0,
    32.0,
    40.0,
    50.0,
    65.0,
    80.0,
    100.0,
    125.0,
    150.0,
    200.0,
    250.0,
    300.0,
    400.0,
    500.0,
)
"""Nominal sizes compared [mm]; ISO 6708, from memory."""
SMALLER_SIZES, LARGER_SIZES = 2, 1
"""How many sizes below and above the fitted one are compared; own estimate."""

# Quick check of a reducer's loop, swept: what the inside may be where nobody stated or measured it.
LOOP_MOST = Default(
    "most of crossover frequency times sensing lag for a quiet loop", 0.5, "ratio", "0.5", _E, "about 0.5"
)
LOOP_NOTE = "swept over proportional band and sensing lag where not known; mains left out; not calibrated"
LOOP_BANDS = tuple(
    Default(
        "proportional band, looked at", bar * _BAR, "pressure", f"{bar:g} bar", _E, "stiff to soft pilots"
    )
    for bar in (0.4, 0.8, 1.5)
)
LOOP_LAGS = tuple(
    Default("lag of the sensing line, looked at", s, "time", f"{s:g} s", _E, "short to throttled lines")
    for s in (0.02, 0.05, 0.3)
)

# Relief valves, vessels, monitors.
RELIEF_ERROR = Default(
    "± of a relief valve's crack", 0.10 * _BAR, "pressure", "0.10 bar", _P, "0.1 bar or 3 %, from memory"
)
RELIEF_ERROR_SHARE = Default(
    "± of a relief valve's crack, share of it", 0.03, "ratio", "3 %", _P, "the larger of the two is taken"
)
RELIEF_LEAST_RISE = 1e-3
"""Least rise from crack to wide open, over the crack: the equation has no steps. [1]"""
GAS_EXPONENT = Default(
    "exponent of the gas in a vessel while a shut-off closes", 1.2, "ratio", "1.2", _E,
    "between slow, 1.0, and without exchange of heat, 1.4 (textbook values, from memory)",
)  # fmt: skip
SAFETY_VALVE_SHARE = Default(
    "most of a heater safety valve's pressure that may stand before it", 0.75, "ratio", "75 %",
    Evidence.PUBLISHED, "EN 806-2 as a trade article quotes it; the standard itself not opened",
)  # fmt: skip
HOT_WATER = Default(
    "hot water, no temperature stated", 333.15, "temperature", "60 °C", _P, "usual store, from memory"
)
METAL_EXPANSION = Default(
    "linear expansion of a metal wall", 12e-6, "ratio", "0.000012", Evidence.PUBLISHED,
    "steel, per kelvin, textbook value, from memory; copper 0.000017",
)  # fmt: skip
MONITOR_RESPONSE = Default(
    "time a monitor takes to close from wide open", 10.0, "time", "10 s", _E,
    "stroke of a pilot-operated reducer: some seconds; measure it",
)  # fmt: skip
LEAST_SHARE_CARRIED = Default(
    "share of the flow from which a stream counts as carrying", 0.01, "ratio", "1 %", _E, "a hundredth"
)
SAME_SETTING = Default(
    "difference below which two settings count as equal", 0.02 * _BAR, "pressure", "0.02 bar", _E,
    "less than a hand can set",
)  # fmt: skip

CURVE_STEPS = 8
"""Flows at which required coefficients are compared over flow; own estimate."""

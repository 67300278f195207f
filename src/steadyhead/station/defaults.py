"""Defaults of the twin by size, each with its evidence (physics specification, section 8).

Nothing here was calibrated on a real valve; a measured baseline replaces every one of them.
"""

from __future__ import annotations

from itertools import pairwise
from math import exp, log, sqrt

from steadyhead.records.values import Default, Evidence

GRAVITY = 9.81
"""Acceleration of gravity used throughout. [m/s²]"""

_E = Evidence.ESTIMATE
_P = Evidence.PRACTICE
_M = "textbook value, from memory"

VALVE_LOSS = Default(
    "loss coefficient of a globe reducer or shut-off", 5.5, "ratio", "5.5", _E, "globe body, own estimate"
)
ISOLATING_LOSS = Default(
    "loss coefficient of an open isolating valve", 0.2, "ratio", "0.2", _E, "own estimate"
)
ISOLATING_EXPONENT = Default(
    "exponent of flow share over opening, isolating valve", 1.5, "ratio", "1.5", _E,
    "reproduces tabulated gate-valve losses within 25 % (table from memory)",
)  # fmt: skip
STRAINER_FACTOR = Default(
    "Kv of a clean strainer over (DN/mm)²",
    0.030,
    "ratio",
    "0.030",
    _E,
    "own estimate: Kv 300 at DN 100",
    0.006,
)
METER_FACTOR = Default("Kv of a flow meter over (DN/mm)²", 0.06, "ratio", "0.060", _E, "own estimate", 0.02)
DRAIN_FACTOR = Default(
    "Kv of a drain with its hose over (DN/mm)²",
    0.010,
    "ratio",
    "0.010",
    _E,
    "own estimate: loss coefficient 16",
    0.003,
)
RELIEF_FACTOR = Default(
    "Kv of a relief valve with its outlet pipe over (DN/mm)²",
    0.010,
    "ratio",
    "0.010",
    _E,
    "own estimate: loss coefficient 16",
    0.003,
)
RELIEF_RISE = Default(
    "rise from crack to wide open of a relief valve, over its crack", 0.10, "ratio", "0.10", _P,
    "wide open 10 % above crack, from memory",
)  # fmt: skip
RELIEF_BLOWDOWN = Default(
    "fall from crack to shut of a relief valve, over its crack", 0.10, "ratio", "10 %", _E,
    "5 to 20 % is usual; state what its sheet says",
)  # fmt: skip
CHECK_LOSS = Default("loss coefficient of an open check valve", 2.0, "ratio", "2.0", _E, "own estimate")
CHECK_FLOOR = Default(
    "flow share that passes a check valve backwards", 1e-5, "ratio", "0.00001", _E, "numerical tightness"
)
DIRECT_BAND = Default(
    "band of a direct-acting reducer over its duty pressure", 0.2, "ratio", "0.2", _E, "0.1 to 0.3", 0.1
)
CURVE_SHAPE = Default(
    "lift characteristic b", 1.0, "ratio", "1.0", _E, "flat disc in series with the body loss"
)
SEAT_RATIO = Default("seat over diaphragm area r0", 0.45, "ratio", "0.45", _E, "own estimate")
FLOW_FORCE = Default("fall of under-disc pressure with lift r1", 0.15, "ratio", "0.15", _E, "own estimate")
REDUCER_SPRING_SHUT = Default(
    "reducer spring at the seat s0", 0.05e5, "pressure", "0.05 bar", _E, "own estimate"
)
REDUCER_SPRING_RISE = Default(
    "reducer spring over the stroke s1", 0.08e5, "pressure", "0.08 bar", _E, "own estimate"
)
SHUT_OFF_SPRING_SHUT = Default(
    "shut-off spring at the seat s0", 0.15e5, "pressure", "0.15 bar", _E, "own estimate"
)
SHUT_OFF_SPRING_RISE = Default(
    "shut-off spring over the stroke s1", 0.25e5, "pressure", "0.25 bar", _E, "own estimate"
)
PRESSURE_RECOVERY = Default("F_L", 0.85, "ratio", "0.85", _E, "globe body, within the usual range", 0.05)
INCIPIENT_RATIO = Default("x_Fz", 0.45, "ratio", "0.45", _E, "globe body; falls with lift in reality", 0.1)
SEAT_FLOOR = Default(
    "numerical floor of the flow share", 1e-5, "ratio", "0.00001", _E, "numerical tightness, no leak"
)
REDUCER_SENSE_LAG = Default("lag of the reducer's sensing line", 0.05, "time", "0.05 s", _E, "0.02 to 0.3 s")
SHUT_OFF_SENSE_LAG = Default("lag of the shut-off's sensing line", 0.10, "time", "0.10 s", _E, "own estimate")
TURNS_FREE = Default("screw turns before the spring is touched", 0.0, "turns", "0 turns", _E, "own estimate")
SCREW_PLAY = Default("play of a pilot screw", 0.15, "turns", "0.15 turns", _E, "0 to 0.3 turns", 0.15)
DEAD_VOLUME = Default("chamber volume at full lift, DN 100", 1e-4, "volume", "0.1 L", _E, "own estimate")
TURNS_PER_RANGE = Default(
    "turns that span a pilot spring's range", 8.0, "turns", "8 turns", _P,
    "a spring of about 16 bar range moves about 2 bar a turn: common practice, one fact; extrapolated by us",
    3.2,
)  # fmt: skip
LOCKUP_RISE = Default(
    "lock-up rise of a pilot-operated reducer", 0.2e5, "pressure", "0.2 bar", _P, "0.1 to 0.3 bar", 0.1e5
)
CLOSING_NEEDLE_SHARE = Default(
    "closing needle Kv of a shut-off over its Kv", 0.15 / 170, "ratio", "0.00088", _E, "Kv 0.15 at DN 100"
)
OPENING_SHARE = Default(
    "chamber vent Kv of a shut-off over its Kv", 0.10 / 170, "ratio", "0.00059", _E, "Kv 0.10 at DN 100"
)
TRICKLE_SHARE = Default(
    "trickle over duty flow, for the closing time of a needle nobody timed",
    0.02,
    "ratio",
    "2 %",
    _P,
    "1 to 3 % of design flow",
)
DEMAND_EXPONENT = Default(
    "exponent n of demand ∝ pressureⁿ", 0.5, "ratio", "0.5", _E, "a zone: 0.5 to 1.0", 0.1
)

FEED_KV_BY_SIZE = ((0.050, 0.025), (0.080, 0.05), (0.100, 0.06), (0.150, 0.15), (0.200, 0.30))
"""Feed restriction of a reducer's chamber [Kv] by nominal bore [m]; own estimate, DN 50 extrapolated."""
PILOT_OVER_FEED = Default("Kv of an open pilot over its feed", 2.0, "ratio", "2", _E, "own estimate")

NODE_VOLUME_LITRES = ((0.080, 8.0), (0.100, 15.0), (0.150, 30.0), (0.200, 60.0))
"""Water in the station section beside a valve [L] by nominal bore [m]; own estimate."""

ROUGHNESS_MM = {
    "ductile iron": 0.1, "grey iron": 0.5, "steel": 0.1, "copper": 0.01, "PVC-U": 0.01, "PE100": 0.01,
    "PE80": 0.01, "GRP": 0.02, "asbestos cement": 0.05, "other": 0.1,
}  # fmt: skip
"""Wall roughness by material [mm]; textbook values, from memory."""

WALL_MODULUS_GPA = {
    "ductile iron": 170.0, "grey iron": 100.0, "steel": 207.0, "copper": 115.0, "PVC-U": 3.0, "PE100": 1.1,
    "PE80": 0.8, "GRP": 20.0, "asbestos cement": 24.0, "other": 100.0,
}  # fmt: skip
"""Young's modulus of the wall by material [GPa]; textbook values, from memory; PE short-term."""

BORE_OVER_WALL = {
    "ductile iron": 35.0, "grey iron": 20.0, "steel": 45.0, "copper": 25.0, "PVC-U": 17.0, "PE100": 9.0,
    "PE80": 9.0, "GRP": 40.0, "asbestos cement": 12.0, "other": 20.0,
}  # fmt: skip
"""Inside diameter over wall where not stated; usual classes, own estimate."""

BULK_MODULUS_PA = 2.1e9
"""Bulk modulus of water used with walls [Pa]; handbook 2.1 to 2.2 GPa."""


def by_size(table: tuple[tuple[float, float], ...], bore: float) -> float:
    """Return a value by nominal bore [m]: log-log between rows, growing with the square beyond them."""
    first, last = table[0], table[-1]
    if bore <= first[0]:
        return first[1] * (bore / first[0]) ** 2
    if bore >= last[0]:
        return last[1] * (bore / last[0]) ** 2
    for (x0, y0), (x1, y1) in pairwise(table):
        if bore <= x1:
            share = log(bore / x0) / log(x1 / x0)
            return exp(log(y0) + share * log(y1 / y0))
    return last[1]


def kv_from_loss(loss: float, bore: float) -> float:
    """Return Kv of a fitting from its loss coefficient, Kv = 0.04 (D/mm)²/√ζ.

    Parameters
    ----------
    loss
        Loss coefficient ζ on the nominal bore. [1]
    bore
        Nominal bore. [m]

    Notes
    -----
    From Δp = ζ ρ v²/2 with Kv in m³/h at 1 bar; IEC 60534 constant N2 = 1.6e-3, printed to 3 digits.
    """
    return 0.04 * (bore * 1e3) ** 2 / sqrt(loss)


VALVE_LOSS_BAND = 0.3
"""Relative half-width of a valve's Kv where no data sheet is given; own estimate."""

"""Numbers of the signatures that no station file states, each with its evidence.

Weights say how often a cause is met among visits at which something differs, in shares of a hundred or so.
Nobody has counted them: they follow the order of the design handbook's fault finding (reading first, then
cocks and valves left standing, then dirt, then parts) and are own estimates.
"""

from __future__ import annotations

DRAWS = 16
"""Drawn stations behind every curve: enough for a mean, two slopes and what is left over; own estimate."""
SEED = 20260707

HEALTHY = 60.0
"""Weight of the healthy state beside the causes, which together weigh about as much; own estimate."""
FRESH = ("first", "after_repair", "new_setting")
"""Visits after which hands have been at cocks, tubes and springs: what people leave behind weighs more."""

WEIGHTS: dict[str, tuple[float, float]] = {
    # row or row.point: (after hands have been at it, in long service)
    "1": (1.0, 2.5), "2": (2.0, 0.7), "3": (2.0, 1.0), "4": (1.5, 0.5), "5": (2.0, 1.5), "6": (1.0, 1.0),
    "7": (1.0, 2.0), "8": (0.5, 1.0), "9": (0.5, 1.0), "10": (0.5, 1.0), "11": (1.5, 2.0), "12": (1.0, 1.0),
    "21": (1.5, 0.3), "22": (1.5, 0.3), "23": (1.0, 1.0), "24": (0.7, 0.1), "25": (1.0, 2.0),
    "26": (2.0, 2.0), "27.psi": (1.0, 1.0), "27.kpa": (0.7, 0.7), "27.head": (0.3, 0.3),
    "27.height": (2.0, 2.0), "27.zero": (1.5, 2.0), "27.tap": (1.5, 1.0), "27.air": (1.5, 1.0),
    "28": (1.0, 3.0), "29": (2.0, 2.0), "29.more": (1.5, 1.0), "30": (1.5, 1.5), "31": (1.5, 1.5),
    "32": (1.0, 1.5), "33": (0.5, 1.0), "35": (0.5, 1.0), "36": (0.7, 0.7), "39": (0.3, 0.5),
    "40": (0.5, 1.0), "43": (1.0, 1.0), "44": (0.7, 1.5), "45": (0.5, 1.5), "47": (0.7, 1.5),
    "48": (1.0, 1.0), "48.trip": (1.0, 1.0), "48.low": (1.5, 0.5), "25.trip": (1.0, 2.0),
    "52": (0.5, 0.7), "53": (0.5, 0.5), "55": (1.0, 1.0), "57": (1.0, 0.5),
    "58": (0.5, 0.2), "59": (0.3, 0.7), "60": (1.0, 0.7), "60.fast": (1.0, 0.5), "61": (0.3, 0.3),
    "62": (0.3, 0.3), "63": (1.0, 1.0), "64": (1.0, 0.7), "65": (0.5, 0.7), "66": (0.5, 0.7),
    "B2.in": (1.5, 1.5), "B2.out": (1.0, 1.0), "B2.kept": (2.0, 2.0),
}  # fmt: skip

# Severities. Between two neighbours of a row every severity is possible; neighbours weigh alike.

FEED_LEFT = (0.3, 0.1, 0.03, 0.01)
"""Share of the feed's Kv that a dirty filter or bore leaves; own estimate. Blocked altogether is one more."""
CLOG = (2.0, 8.0, 30.0, 120.0, 500.0)
"""Loss of a blinded strainer over the clean one; physics specification 10 takes 30, the ends own estimate."""
TORN_KV_SHARE = (0.0005, 0.002, 0.006)
"""Kv of a torn diaphragm over the valve's; physics specification 10 takes 0.5 of 170, ends own estimate."""
LEAK_KV_SHARE = (2e-8, 6e-8, 2e-7, 6e-7, 1e-5, 1e-4, 1e-3, 3e-3)
"""Kv of a leaking seat over the valve's, from drops to a worn seat; physics specification: 0.5 of 170."""
PASSING_KV_SHARE = (1e-4, 1e-3, 1e-2)
"""Kv of a shut-off that shuts and passes, over its own; own estimate."""
DEBRIS_LIFT = (0.003, 0.01, 0.03)
"""Lift a seat is held off; physics specification 10 takes 0.02, the ends own estimate."""
PILOT_LEAK = (0.3, 0.55, 0.65, 0.8)
"""Opening that dirt on its seat leaves a pilot at least; own estimate. Wide open is row 9."""
FROZEN_LIFT = (0.003, 0.02, 0.1, 0.4, 1.0)
"""Lift a locked valve stands at; own estimate."""
SHUT_OFF_LIFT = (0.5, 0.2, 0.08, 0.03, 0.012)
"""Lift of a shut-off that is not fully open; physics specification 10 takes 0.15, the ends own estimate."""
GATE_LEFT = (0.5, 0.2, 0.08, 0.03, 0.012)
"""Share of its opening at which a valve on the way stands; own estimate."""
GATE_MORE = (1.5, 3.0, 10.0, 100.0)
"""Opening of the inlet valve over its V2 opening; at most fully open; own estimate."""
SUPPLY_LACK = (0.1, 0.3, 0.5, 0.7)
"""What the inlet lacks over its usual pressure; own estimate."""
TOO_SMALL = (0.7, 0.4, 0.2)
"""Kv of a valve that is too small, or does not lift fully, over the stated one; own estimate."""
SHIFT = (0.1e5, 0.3e5, 0.8e5, 2e5)
"""How far somebody has moved a setting [Pa]; own estimate: from a slip of the hand to another spring end."""
NUT = (0.03e5, 0.1e5, 0.3e5)
"""How far a nut lets a screw walk, or drags it [Pa]; own estimate, from the accepted 0.02 bar on."""
SWIRL = (-0.5e5, -0.15e5, 0.15e5, 0.5e5)
"""Error of a tap in disturbed flow at peak [Pa]; own estimate: a few velocity heads."""
BREATHER = (0.05e5, 0.15e5, 0.3e5)
"""Rise by a breather under water, 0.1 bar for each metre [Pa]; handbook row 40 gives the slope."""
TRIP_LATE = (0.1e5, 0.3e5, 1e5)
"""How much higher a stiff pilot trips [Pa]; own estimate."""
FALSE_SPRING = (1.5, 2.0, 4.0)
"""Bar per turn over the plate's; handbook row 22 and 3.8."""
WEAK_SHORT = (0.1e5, 0.5e5, 1.5e5)
"""How far a spring too weak stops short [Pa]; own estimate."""
SLOW = (1.5, 3.0, 10.0)
"""Closing time over the expected one: filter, needle, diaphragm; own estimate."""
FAST = (0.6, 0.3, 0.1)
"""Closing time over the expected one with the needle too far open; own estimate."""
ZERO = (0.05e5, 0.15e5, 0.5e5, 1.5e5)
"""Error of a gauge beyond its class, from a crept zero to a knocked pointer [Pa]; own estimate."""
HEIGHT = 3.0
"""A gauge on a hose hangs this far from its tap at most [m]; depth of a chamber, own estimate."""
AIR_COLUMN = 2.0
"""Length of a hose that stands full of air at most [m]; own estimate."""
WARMER = 1.0
"""Warming of a shut section while it is watched, at most [K]; own estimate."""
WATCH = {"early": 5.0, "late": 300.0}
"""Time a shut section has had when it is read first, and last [s]; own estimate: 5 to 30 min are asked."""
ISOLATING_LEAK = (0.0, 0.3)
"""Pressure that an isolating valve which passes keeps up against an open drain, over the one behind it."""
ALARM_OFF = (0.1e5, 0.3e5, 1e5)
"""How far a transmitter is off beyond its stated error [Pa]; own estimate."""

STIFFNESS = 1.2e9
"""Bulk stiffness of a shut section: water, pipe walls and a trace of gas [Pa]; physics specification 5."""
BACKFEED = (0.1e5, 0.5e5, 2e5)
"""How much higher a zone stands that feeds back [Pa]; own estimate."""
RELIEF_OFF = (0.1e5, 0.3e5, 1e5)
"""How far a relief valve lifts off its stated crack [Pa]; own estimate."""
CLOG_LOSS = (2.0, 6.0, 20.0, 60.0)
"""Loss across a strainer, or a shut-off that is not fully open, over the expected one; own estimate."""
STOPS_SHORT = (1.5, 2.0, 3.0)
"""Turns of a spring too weak over those of the plate's; own estimate."""

MODEL_SHARE = 0.05
"""What the twin may be off with a fault in it, over what the fault changes: its insides are calibrated on no
valve; own estimate."""
ISOLATED_HALF = 0.15e5
"""Half width of the pressure an isolated gauge has kept [Pa]; own estimate."""
OLD = ("trickle", "lockup", "v2", "static", "after_trip")
"""States of a visit whose pressures a gauge may have kept."""
SAME = 2e3
"""A cause whose reading lies within this of the healthy one, at every flow, is not told apart there. [Pa]"""
SAME_HALVES = 0.7
"""Or within this many half widths."""

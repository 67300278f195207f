"""Numbers of the protection proof and of the needle window that no station states, each with its source."""

from __future__ import annotations

from steadyhead.records.values import Default, Evidence

_E = Evidence.ESTIMATE
_OWN = "own estimate"

REACHES = Default(
    "reaches in the shortest main of a proof, halved once for its worst case", 50.0, "ratio", "50", _E,
    "converged below 0.01 bar without separation",
)  # fmt: skip
SPREAD_STATED = Default(
    "band of a closing time that is stated", 0.20, "ratio", "20 %", _E, "a year of dirt and temperature"
)
SPREAD_USUAL = Default(
    "band of the closing time of a needle not stated", 0.30, "ratio", "30 %", _E, "needle by valve size"
)
SUDDENLY = Default(
    "time in which a reducer fails open that is credited for none", 2.0, "time", "2 s", _E,
    "main diaphragm bursts, a hand on the pilot screw",
)  # fmt: skip
LOOKED_AT = Default("time between two looks at a proof before the trip", 0.5, "time", "0.5 s", _E, _OWN)
STEP = Default(
    "time step of a proof, mains cut more coarsely down to ten reaches", 5e-3, "time", "5 ms", _E,
    "a tenth of a sensing line; the halved run tells",
)  # fmt: skip
WATCHED_SHUT = Default(
    "time watched after the shut-off is shut", 5.0, "time", "5 s", _E, "beside two returns of the waves"
)
RETURNS = Default(
    "returns of the wave of the longer main watched after the shut-off is shut", 2.0, "ratio", "2", _E,
    "the highest comes with the first",
)  # fmt: skip
LONGEST_CLOSING = Default("time from trip to shut that is waited for", 180.0, "time", "180 s", _E, _OWN)
LONGEST_WATCHED = Default(
    "time a failure is watched that does not trip", 900.0, "time", "15 min", _E, "the zone fills until then"
)
AT_REST = Default(
    "change of pressure over two looks below which a failure that does not trip has come to rest",
    100.0, "pressure", "1 mbar", _E, _OWN,
)  # fmt: skip
SLOWEST = Default("longest closing time by stopwatch that is looked at", 120.0, "time", "2 min", _E, _OWN)
FASTEST = Default("shortest closing time by stopwatch that is looked at", 0.5, "time", "0.5 s", _E, _OWN)
EDGE = Default("width to which an edge of the window is found", 0.01, "ratio", "1 %", _E, "2 % are told")
RELIEF_KVS = (10.0, 16.0, 25.0, 40.0, 63.0, 100.0, 160.0, 250.0)
"""Kv of relief valves tried as a remedy, in steps of the preferred numbers; own choice. [m³/h at 1 bar]"""
RELIEF_CRACK = Default(
    "crack of a relief valve tried as a remedy, over the upper edge of the trip", 0.02, "ratio", "2 %", _E,
    "it stands shut until the shut-off has tripped",
)  # fmt: skip
RELIEF_WIDE = Default(
    "wide open of a relief valve tried as a remedy, over its crack", 0.10, "ratio", "10 %", _E, _OWN
)
VESSELS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0)
"""Volumes of vessels tried as a remedy, in steps of the preferred numbers; own choice. [m³]"""
PRECHARGE = Default(
    "precharge of a vessel tried as a remedy, over the lowest pressure it stands at", 0.8, "ratio", "80 %",
    Evidence.PRACTICE, "from memory",
)  # fmt: skip
SMALLER = (0.7, 0.5, 0.35, 0.25)
"""Shares of the reducer's Kv tried as a remedy; own choice. [1]"""
SLOWER = (2.0, 4.0, 8.0, 16.0, 32.0)
"""How many times as slow the credited failures are tried as a remedy; own choice. [1]"""
RATING_STEP = Default("step of a rating tried as a remedy", 0.5e5, "pressure", "0.5 bar", _E, _OWN)
PEAK_DROOP = Default(
    "fall of the outlet at peak flow a smaller reducer may bring", 0.1e5, "pressure", "0.1 bar", _E, _OWN
)

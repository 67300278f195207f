"""Map the coupled station cases of the independent reference onto the public API of steadyhead.

No physics here: dictionaries in, station records and conditions, dictionaries out. The names of the case
format stay in this folder.
"""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from math import isnan
from typing import Any

from steadyhead.design.envelope import Valve, envelope
from steadyhead.hydraulics import Model, build_plain, solve
from steadyhead.hydraulics.sequence import SetState, setting_sequence
from steadyhead.records.station import Station
from steadyhead.records.steady import Conditions, Steady
from steadyhead.records.values import Value
from steadyhead.station.load import load_json

BAR = 1e5
DEFAULTS: dict[str, Any] = {
    "fluid": {"rho": 999.7, "nu": 1.31e-6, "pv": 1228.0, "patm": 101325.0, "pcrit": 221.2e5},
    "supply": {"p": [[0, 9.0]]},
    "up": {"L": 500.0, "D": 0.150, "a": 1150.0, "rough": 1e-4, "z": [0.0, 0.0]},
    "down": {"L": 800.0, "D": 0.150, "a": 1150.0, "rough": 1e-4, "z": [0.0, 0.0]},
    "iso_up": {"kvs": 894.0, "open": [[0, 1]]},
    "iso_dn": {"kvs": 894.0, "open": [[0, 1]]},
    "strainer": {"kv": 300.0, "clog": 1.0},
    "order": "prv_osv",
}

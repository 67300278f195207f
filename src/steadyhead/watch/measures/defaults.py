"""Limits of the measures, each with what it rests on. SI throughout."""

from __future__ import annotations

from steadyhead.records.values import Default, Evidence


def _one(name: str, si: float, kind: str, text: str, source: str) -> Default:
    return Default(f"measures: {name}", si, kind, text, Evidence.ESTIMATE, source)


TURNING = _one(
    "change of flow in twenty minutes that is a rise or a fall", 0.1, "ratio", "10 %", "users swing by less"
)
LEAST_IN_BIN = _one("least samples in a bin of flow", 20.0, "ratio", "20", "a median needs some")
STEADY_FLOW = _one("supply sensitivity: most change of flow", 0.08, "ratio", "8 %", "droop is then small")
INLET_STEP = _one(
    "supply sensitivity: least change of inlet", 0.1e5, "pressure", "0.1 bar", "pumps make more"
)
LEAST_STEPS = _one("supply sensitivity: least changes", 12.0, "ratio", "12", "a slope needs some")
FLOAT_UP = _one(
    "night lock-up: outlet over the droop curve that is a rise",
    0.1e5,
    "pressure",
    "0.10 bar",
    "noise and droop",
)
LEAST_NIGHTS = _one("night lock-up: least nights", 3.0, "ratio", "3", "one night proves little")
LEAST_DAYS = _one("strainer trend: least days", 5.0, "ratio", "5", "days differ")

"""How fast the transient twin is on this machine: one function for a person, its parts for the benchmarks."""

from __future__ import annotations

from steadyhead.services.speed.measuring import Measured, SpeedAnswer, measure_speed, speed_data

__all__ = ["Measured", "SpeedAnswer", "measure_speed", "speed_data"]

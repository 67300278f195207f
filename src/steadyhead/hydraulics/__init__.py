"""Steady state of a station: build its model once, then ask it anything."""

from steadyhead.hydraulics.cases import Case, case, design_cases, flow_of, inlet_pressure
from steadyhead.hydraulics.model import Model, build, build_plain
from steadyhead.hydraulics.settings import design_lockup
from steadyhead.hydraulics.solving import solve, solve_many

__all__ = [
    "Case",
    "Model",
    "build",
    "build_plain",
    "case",
    "design_cases",
    "design_lockup",
    "flow_of",
    "inlet_pressure",
    "solve",
    "solve_many",
]

"""The figures of a plan that stand outside its steps, as plain data; names end in the unit, SI."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from steadyhead.records.plan_numbers import InletOpening, PlanNumbers

DIGITS = 9
"""Significant digits a computed value keeps."""


def numbers_data(numbers: PlanNumbers) -> dict[str, Any]:
    """Return openings, limits, target readings, first turns and gauges of a plan as plain data.

    Turn tables, response table, water budget and bands stand in the plan itself.
    """
    return {
        "trickle_flow_m3_s": _round(numbers.trickle_flow),
        "inlet_opening": {section: _opening(one) for section, one in numbers.inlet_opening.items()},
        "test_limit_pa": _table(numbers.test_limit),
        "target_reading_pa": _table(numbers.target_reading),
        "first_turn_turns": _table(numbers.first_turn),
        "flow_points_m3_s": [_round(one) for one in numbers.flow_points],
        "fill_speed_m_s": _round(numbers.fill_speed),
        "fill_surge_pa": _round(numbers.fill_surge),
        "good_gauges": list(numbers.good_gauges),
        "poor_gauges": list(numbers.poor_gauges),
    }


def _opening(one: InletOpening) -> dict[str, Any]:
    return {
        "share_1": _round(one.share),
        "turns": None if one.turns is None else _round(one.turns),
        "drain": one.drain,
        "pressure_pa": _round(one.pressure),
        "limit_pa": _round(one.limit),
    }


def _table(values: Mapping[str, float]) -> dict[str, float]:
    return {name: _round(value) for name, value in values.items()}


def _round(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")

"""One reducer on its own over flow and inlet pressure: where it holds and where it does not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import nan
from typing import Literal, cast

from steadyhead.errors import InputError
from steadyhead.hydraulics.kernel import capacity
from steadyhead.hydraulics.model import Model
from steadyhead.hydraulics.solving import arranged, conditions_row
from steadyhead.laws.compiling import floats, table
from steadyhead.records.steady import Conditions

Verdict = Literal["cannot hold", "choked", "cavitating", "low flow", "holds"]

LEAST_LIFT = 0.03
"""Lift below which a single seat is not expected to control; own estimate, about 4 % of Kv. [1]"""


@dataclass(frozen=True, slots=True)
class ReachPoint:
    """What a reducer does at one flow [m³/s] and inlet pressure [Pa]; outlet [Pa], lift and ratios [1]."""

    flow: float
    inlet_pressure: float
    verdict: Verdict
    lift: float
    outlet_pressure: float
    pressure_ratio: float


def reach(
    model: Model,
    reducer_id: str,
    flows: Sequence[float],
    inlet_pressures: Sequence[float],
    *,
    least_lift: float = LEAST_LIFT,
    conditions: Conditions | None = None,
) -> tuple[ReachPoint, ...]:
    """Return verdicts over a grid, inlet pressures outside, flows inside; the valve alone, no mains.

    The first verdict that applies is given, in the order of `Verdict`. x_Fz and F_L are taken as stated, no
    scaling for size or pressure; low flow is a band until measured on the valve.

    Parameters
    ----------
    model, reducer_id
        Station and which of its reducers; it is taken to sense its own outlet.
    flows
        Above 0. [m³/s]
    inlet_pressures
        Gauge at the datum. [Pa]
    least_lift
        Least controllable lift. [1]
    conditions
        Settings other than the design's.

    Raises
    ------
    InputError
        For a direct-acting reducer: its lift follows its outlet alone, there is nothing to map.
    """
    pairs = [(flow, inlet) for inlet in inlet_pressures for flow in flows]
    return reach_pairs(model, reducer_id, pairs, least_lift=least_lift, conditions=conditions)


def reach_pairs(
    model: Model,
    reducer_id: str,
    pairs: Sequence[tuple[float, float]],
    *,
    least_lift: float = LEAST_LIFT,
    conditions: Conditions | None = None,
) -> tuple[ReachPoint, ...]:
    """Return the verdict at each pair of flow [m³/s] and inlet pressure [Pa at the datum]; see `reach`."""
    if any(part.id == reducer_id and part.kind != "pilot-operated" for part in model.reducers):
        raise InputError(
            f"reducer {reducer_id}", "is direct-acting; the map is of a pilot-operated one.", "Name another."
        )
    asked = conditions or Conditions(supply_pressure=model.station.supply.typical.si)
    line = arranged(model, asked)
    row = model.element[reducer_id]
    points = table([[nan] * capacity.POINT_WIDTH for _ in pairs], capacity.POINT_WIDTH)
    capacity.fill_pairs(
        floats([flow for flow, _ in pairs]),
        floats([inlet for _, inlet in pairs]),
        least_lift,
        line.values[row],
        line.links[row],
        conditions_row(model, asked),
        line.xs,
        line.ys,
        points,
    )
    return tuple(
        ReachPoint(
            flow,
            inlet,
            cast("Verdict", capacity.VERDICTS[int(point[capacity.POINT_VERDICT])]),
            float(point[capacity.POINT_LIFT]),
            float(point[capacity.POINT_OUTLET]),
            float(point[capacity.POINT_RATIO]),
        )
        for (flow, inlet), point in zip(pairs, points, strict=True)
    )

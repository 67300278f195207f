"""One reducer on its own over flow and inlet pressure: where it holds and where it does not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan, nan
from typing import Literal, cast

from steadyhead.errors import InputError
from steadyhead.hydraulics.cavitation import KnownLimits
from steadyhead.hydraulics.kernel import capacity
from steadyhead.hydraulics.model import Model
from steadyhead.hydraulics.solving import arranged, conditions_row
from steadyhead.laws.compiling import floats, table
from steadyhead.records.cavitation import Degree
from steadyhead.records.steady import Conditions

Verdict = Literal["cannot hold", "choked", "cavitating", "low flow", "holds"]

LEAST_LIFT = 0.03
"""Lift below which a single seat is not expected to control; own estimate, about 4 % of Kv. [1]"""


@dataclass(frozen=True, slots=True)
class ReachPoint:
    """What a reducer does at one flow [m³/s] and inlet pressure [Pa]; outlet [Pa], lift and ratios [1].

    `degree`: the worst degree of cavitation reached there, whatever the verdict; None: none.
    """

    flow: float
    inlet_pressure: float
    verdict: Verdict
    lift: float
    outlet_pressure: float
    pressure_ratio: float
    degree: Degree | None = None


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

    The first verdict that applies is given, in the order of `Verdict`. Cavitation is judged by the limits of
    the file over lift, else by x_Fz; F_L is constant; low flow is a band until measured on the valve.

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
    refuse_direct(model, reducer_id)
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
    atmosphere = model.atmosphere
    found = []
    for (flow, inlet), point in zip(pairs, points, strict=True):
        verdict = cast("Verdict", capacity.VERDICTS[int(point[capacity.POINT_VERDICT])])
        lift, ratio = float(point[capacity.POINT_LIFT]), float(point[capacity.POINT_RATIO])
        degree = _degree(model.cavitation[reducer_id], verdict, ratio, lift, inlet + atmosphere)
        outlet = float(point[capacity.POINT_OUTLET])
        told = _with_degree(verdict, degree, lift < least_lift)
        found.append(ReachPoint(flow, inlet, told, lift, outlet, ratio, degree))
    return tuple(found)


def _degree(
    limits: KnownLimits, verdict: Verdict, ratio: float, lift: float, inlet_abs: float
) -> Degree | None:
    if verdict == "choked":
        return "choked"
    if isnan(ratio) or ratio <= 0.0:
        return None
    return limits.reached(1.0 / ratio, lift, inlet_abs)


def _with_degree(verdict: Verdict, degree: Degree | None, is_low: bool) -> Verdict:
    """Return the kernel's verdict, its one x_Fz replaced by the limits of the file."""
    if verdict in ("cannot hold", "choked"):
        return verdict
    if degree is not None:
        return "choked" if degree == "choked" else "cavitating"
    return "low flow" if is_low else "holds"


def refuse_direct(model: Model, reducer_id: str) -> None:
    """Raise InputError for a direct-acting reducer: there is nothing to map."""
    if any(part.id == reducer_id and part.kind != "pilot-operated" for part in model.reducers):
        others = ", ".join(part.id for part in model.reducers if part.kind == "pilot-operated")
        name_one = f", or name a pilot-operated one: {others}" if others else ""
        raise InputError(
            f"reducer {reducer_id}",
            "is direct-acting: its lift follows its outlet, not its inlet, so that it has no such map.",
            f"Judge it by the flow and droop of its data sheet{name_one}.",
        )

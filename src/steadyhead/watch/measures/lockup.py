"""The outlet at the lowest flow of the nights: *tight down to Q = x*, never *tight*."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from steadyhead.watch.counting import counted
from steadyhead.watch.defects.saying import bar
from steadyhead.watch.defects.series import Floats
from steadyhead.watch.measures.day import Day, Days, measured, with_flow
from steadyhead.watch.measures.defaults import FLOAT_UP, LEAST_NIGHTS
from steadyhead.watch.measures.droop import droop_curve, sen
from steadyhead.watch.measures.measure import Measure, Measured

MONTH = 30.0
LAST = 30
"""Nights by which the lock-up is told and held against its limit: what began late in a long record shows.
Own estimate."""
ZERO_SHARE = 0.2
"""Share of the nights, beside `LEAST_NIGHTS`, that must be at zero flow to be taken for it: a meter that
failed for a night reads zero, too. Own estimate."""
YES = 0.5
"""Correlation of outlet and inlet over the nights from which the outlet is said to follow."""


@dataclass(frozen=True, slots=True)
class Lockup:
    """Outlet at the lowest flow, its trend [Pa in 30 days], what it takes from the inlet [Pa/Pa] and the flow
    down to which it keeps its level [m³/s]; None: not known.
    """

    measured: Measured
    trend: float | None
    follows_inlet: float | None
    tight_down_to: float | None


def night_lockup(days: Days) -> Lockup:
    """Return what the nights say of seat and pilot.

    Method (design handbook 6.4): median outlet over the last nights at the lowest flow of each, its trend by
    Theil-Sen, its slope on the inlet over the nights. The flow down to which it is tight is the lowest night
    flow at which the outlet still lies on the droop curve of the higher flows; a leak smaller than that flow
    cannot be seen: the reducer only opens less. Zero counts where a fifth of the nights, three at least,
    met it.
    """
    nights = [d for d in days.days if d.night is not None]
    if len(nights) < LEAST_NIGHTS.si:
        words = "The outlet at the lowest flow is not known: too few nights with outlet and flow."
        return Lockup(measured(days, Measure.LOCKUP, "Pa", words), None, None, None)
    at = np.array([d.number for d in nights], dtype=float)
    outlet = np.array([d.night.outlet for d in nights if d.night is not None])
    late = outlet[-LAST:]
    value = float(np.median(late))
    low, high = np.quantile(late, (0.05, 0.95))
    trend = sen(at, outlet)[0] * MONTH
    tight, why = _tight_down_to(days, nights)
    these = (
        counted(len(nights), "night") if len(nights) <= LAST else f"the last {LAST} of {len(nights)} nights"
    )
    words = f"At the lowest flow of {these} the outlet stands at {bar(value)}. {_tight_words(tight, why)}"
    assumed = ("a leak below the night's flow is not seen", "proof needs a test at zero flow")
    found = measured(
        days, Measure.LOCKUP, "Pa", words, (value, float(low), float(high)), assumed, n_valid=with_flow(days)
    )
    return Lockup(found, trend, _follows(nights), tight)


def _tight_words(flow: float | None, why: str) -> str:
    if flow is None:
        return f"Down to which flow it is tight is not known: {why}."
    if flow == 0.0:
        return "Tight down to Q = 0 as far as this meter sees."
    return f"Tight down to Q = {flow * 1000.0:.2f} L/s; a smaller leak is not seen.{why}"


def _tight_down_to(days: Days, nights: list[Day]) -> tuple[float | None, str]:
    """Return the flow down to which the outlet keeps to the droop curve; why none, or no lower one, is."""
    points = droop_curve(days).points
    flows = np.array([d.night.flow for d in nights if d.night is not None])
    outlet = np.array([d.night.top for d in nights if d.night is not None])
    higher = [p for p in points if p.flow > 1.5 * float(np.quantile(flows, 0.9))]
    if len(higher) < 4:
        return None, "too few flows above those of the nights are met to compare with"
    root = np.sqrt([p.flow for p in higher])
    y = np.array([p.outlet for p in higher])
    slope = sen(root, y)[0]
    line = float(np.median(y - slope * root)) + slope * np.sqrt(flows)
    kept = flows[outlet <= line + FLOAT_UP.si]
    lifted = flows[outlet > line + FLOAT_UP.si]
    if lifted.size:
        kept = kept[kept > float(np.max(lifted))]
    if kept.size:
        return _lowest(kept, flows.size)
    most = f"{float(np.max(lifted)) * 1000.0:.2f} L/s"
    return (
        None,
        f"the outlet floats up in {lifted.size} of {counted(flows.size, 'night')}, at flows up to {most}",
    )


def _lowest(kept: Floats, nights: int) -> tuple[float, str]:
    """Return the lowest flow of nights that few zeros do not decide, and what is said of those."""
    none = int(np.count_nonzero(kept <= 0.0))
    if not none or none >= max(LEAST_NIGHTS.si, math.ceil(ZERO_SHARE * nights)) or none == kept.size:
        return float(np.min(kept)), ""
    those = "one night" if none == 1 else counted(none, "night")
    return float(np.min(kept[kept > 0.0])), f" In {those} the meter showed none: that proves nothing."


def _follows(nights: list[Day]) -> float | None:
    both = [(n.inlet, n.outlet) for n in (d.night for d in nights) if n is not None and n.inlet is not None]
    if len(both) < 5:
        return None
    x, y = np.array(both, dtype=float).T
    if float(np.std(x)) <= 0.0 or float(np.std(y)) <= 0.0:
        return None
    if abs(float(np.corrcoef(x, y)[0, 1])) < YES:
        return 0.0
    return sen(x, y)[0]

"""The arithmetic of the pressure ladder: rungs, two ways of adding tolerances, the window for the trip."""

from __future__ import annotations

from math import sqrt
from typing import Literal

from steadyhead.records.ladder import Contribution, Ladder, LadderInputs, Stacking, Verdict


def stack(inputs: LadderInputs) -> Ladder:
    """Return the ladder of given rungs and tolerances.

    Pure arithmetic at the station datum: knows neither station nor twin. The lock-up rise is inside `lockup`
    and is not added again.

    Parameters
    ----------
    inputs
        Rungs, tolerances and limits. [Pa gauge at datum]

    Returns
    -------
    Ladder
        Highest and lowest normal, and worst-case and root-sum-square window side by side.

    Notes
    -----
    P_hn = lockup + Σ adds; lowest normal = duty − Σ takes;
    P_T ∈ [P_hn + gap + tol_low, P_fault,max − ΔP_over − tol_up] (design handbook 2.4, own derivation).
    tol_low leaves the gauge out where both pilots are set with one gauge on one tap.

    Examples
    --------
    >>> rungs = LadderInputs(
    ...     duty=4.0e5, lockup=4.4e5, gap=0.15e5, trip=5.1e5, overshoot=0.57e5, fault_limit=5.94e5,
    ...     highest_normal_adds=(Contribution("repeatability", 0.10e5), Contribution("drift", 0.15e5)),
    ...     lowest_normal_takes=(),
    ...     trip_tolerances=(Contribution("repeatability", 0.15e5), Contribution("drift", 0.1e5),
    ...                      Contribution("gauge", 0.1e5)),
    ... )
    >>> stack(rungs).worst_case.verdict, round(stack(rungs).worst_case.width / 1e5, 2)
    ('empty', -0.03)
    """
    highest_normal = inputs.lockup + sum(part.size for part in inputs.highest_normal_adds)
    lowest_normal = inputs.duty - sum(part.size for part in inputs.lowest_normal_takes)
    return Ladder(
        inputs=inputs,
        highest_normal=highest_normal,
        lowest_normal=lowest_normal,
        worst_case=_stacking(inputs, highest_normal, "worst case"),
        root_sum_square=_stacking(inputs, highest_normal, "root-sum-square"),
    )


def chosen(ladder: Ladder, stacking: str) -> Stacking:
    """Return the stacking the engineer chose: ``worst case`` unless ``root-sum-square``."""
    return ladder.root_sum_square if stacking == "root-sum-square" else ladder.worst_case


def combined(parts: tuple[Contribution, ...], way: str) -> float:
    """Return tolerances added up: plain sum for ``worst case``, else the root of the sum of squares. [Pa]"""
    if way == "worst case":
        return sum(part.size for part in parts)
    return sqrt(sum(part.size**2 for part in parts))


def _stacking(
    inputs: LadderInputs, highest_normal: float, way: Literal["worst case", "root-sum-square"]
) -> Stacking:
    if not inputs.has_shut_off:
        return Stacking(way, 0.0, 0.0, highest_normal, None, None, "no shut-off", None, None, None, None)
    without_gauge = tuple(p for p in inputs.trip_tolerances if p.label != inputs.gauge_label)
    low = combined(without_gauge if inputs.gauge_offset_cancels else inputs.trip_tolerances, way)
    up = combined(inputs.trip_tolerances, way)
    lowest = highest_normal + inputs.gap + low
    highest = None
    if inputs.fault_limit is not None and inputs.overshoot is not None:
        highest = inputs.fault_limit - inputs.overshoot - up
    width = None if highest is None else highest - lowest
    verdict: Verdict = "not known" if width is None else "open" if width >= 0.0 else "empty"
    trip = inputs.trip
    inside = None
    if trip is not None and highest is not None:
        inside = lowest <= trip <= highest
    peak = None
    if trip is not None and inputs.overshoot is not None:
        peak = trip + up + inputs.overshoot
    return Stacking(
        name=way,
        tolerance_low=low,
        tolerance_up=up,
        lowest=lowest,
        highest=highest,
        width=width,
        verdict=verdict,
        trip_lower_edge=None if trip is None else trip - up,
        trip_upper_edge=None if trip is None else trip + up,
        peak=peak,
        trip_inside=inside,
    )

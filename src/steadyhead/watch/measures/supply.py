"""Supply sensitivity: what the outlet does when the inlet moves at steady flow."""

from __future__ import annotations

import numpy as np

from steadyhead.watch.counting import counted, signed
from steadyhead.watch.measures.day import Days, measured
from steadyhead.watch.measures.defaults import LEAST_STEPS, STEADY_DROOP
from steadyhead.watch.measures.droop import SPREAD
from steadyhead.watch.measures.measure import Measure, Measured, Trust


def supply_sensitivity(days: Days) -> Measured:
    """Return the change of the outlet over that of the inlet at steady flow. [Pa/Pa]

    Method (design handbook 6.4): changes from one sample to the next but one in which the inlet moves by
    0.1 bar or more (pumps start and stop) and the flow by less than 8 %; slope through the origin of their
    sums.
    """
    n = sum(d.steps.n for d in days.days)
    xx, xy, yy = (sum(getattr(d.steps, name) for d in days.days) for name in ("xx", "xy", "yy"))
    if n < LEAST_STEPS.si or xx == 0:
        words = f"What the outlet does when the inlet moves is not known: {n} such moments at steady flow."
        return measured(days, Measure.SENSITIVITY, "Pa/Pa", words)
    slope = xy / xx
    error = float(np.sqrt(max(yy - slope * xy, 0.0) / max(n - 1, 1) / xx))
    # What flow within 8 % brings of droop goes with the inlet and does not average out.
    reach = float(np.hypot(SPREAD * error, STEADY_DROOP.si / np.sqrt(xx / n)))
    figure = signed(f"{slope:.3f}")
    words = (
        f"When the inlet moves by 1 bar the outlet moves by {figure} bar with it ({counted(n, 'moment')})."
    )
    trust: Trust = "good" if n >= 4 * LEAST_STEPS.si else "fair"
    assumed = (
        f"flow steady within 8 %, its droop within {STEADY_DROOP.text}",
        "the inlet moves by 0.1 bar or more",
        "both gauges keep time together",
    )
    value = (slope, slope - reach, slope + reach)
    return measured(days, Measure.SENSITIVITY, "Pa/Pa", words, value, assumed, trust)

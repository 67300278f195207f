"""Supply sensitivity: what the outlet does when the inlet moves at steady flow."""

from __future__ import annotations

import numpy as np

from steadyhead.watch.counting import counted, signed
from steadyhead.watch.measures.beside_twin import Twin
from steadyhead.watch.measures.day import Days, measured
from steadyhead.watch.measures.defaults import LEAST_STEPS, STEADY_DROOP
from steadyhead.watch.measures.droop import SPREAD
from steadyhead.watch.measures.grid import GRAIN
from steadyhead.watch.measures.measure import Measure, Measured, Trust

HALF = 0.5e5
"""To either side of the mean inlet, for what the twin's outlet takes from it. [Pa]"""


def supply_sensitivity(days: Days, twin: Twin | None = None) -> Measured:
    """Return the change of the outlet over that of the inlet at steady flow. [Pa/Pa]

    twin: what it gives at the mean flow for an inlet half a bar to either side of the mean is told beside it.

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
    words += _of_twin(days, twin)
    trust: Trust = "good" if n >= 4 * LEAST_STEPS.si else "fair"
    assumed = (
        f"flow steady within 8 %, its droop within {STEADY_DROOP.text}",
        "the inlet moves by 0.1 bar or more",
        "both gauges keep time together",
    )
    value = (slope, slope - reach, slope + reach)
    return measured(days, Measure.SENSITIVITY, "Pa/Pa", words, value, assumed, trust)


def _of_twin(days: Days, twin: Twin | None) -> str:
    rows = [d.inlets for d in days.days if d.inlets.size]
    flows = [d.more.flow for d in days.days if d.more.flow is not None and d.more.flow > 0.0]
    if twin is None or not twin.takes_inlet or not rows or not flows:
        return ""
    every = np.concatenate(rows).astype(np.int64)
    inlet = float(every[:, 2].sum()) / float(every[:, 1].sum()) * GRAIN
    flow = float(np.mean(flows))
    low, high = twin.outlet([(flow, inlet - HALF), (flow, inlet + HALF)])
    if low is None or high is None:
        return ""
    return f" In the twin it moves by {signed(f'{(high - low) / (2.0 * HALF):.3f}')} of the inlet's move."

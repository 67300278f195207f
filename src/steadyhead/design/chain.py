"""What arrives before a reducer at a given flow: supply less main, strainer, valves ahead of it."""

from __future__ import annotations

from steadyhead.design.basis import Basis
from steadyhead.design.credit import main_drop, part_k, valve_k
from steadyhead.records.design import InletCase
from steadyhead.records.parts import Reducer, ShutOff


def inlet_before(basis: Basis, reducer: Reducer, flow: float, inlet_case: InletCase) -> float:
    """Return the pressure just before a reducer; a reducer ahead of it is taken to hold its duty.

    A monitor ahead of it stands wide open.

    Parameters
    ----------
    reducer
        One of the main line.
    flow
        [m³/s]
    inlet_case
        Which supply pressure.

    Returns
    -------
    float
        Gauge at datum; negative where the losses take more than there is. [Pa]
    """
    pressure = basis.supply_at_datum(inlet_case).si
    if basis.station.supply.stated_at == "head of main":
        pressure -= main_drop(basis, flow)
    for part in basis.layout.main:
        if part.id == reducer.id:
            break
        if isinstance(part, Reducer) and basis.layout.pairing == "monitor":
            pressure -= (flow / valve_k(basis, part)) ** 2
        elif isinstance(part, Reducer):
            pressure = min(pressure, part.duty.pressure.si)
        elif isinstance(part, ShutOff):
            pressure -= (flow / valve_k(basis, part)) ** 2
        else:
            pressure -= (flow / part_k(basis, part)) ** 2
    return pressure

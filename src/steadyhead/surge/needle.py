"""Closing time of a shut-off driven by line pressure, from its needle, in any situation; and the way back.

A time belongs to a needle *and* to pressures: a stroke timed on site is turned into the needle's flow
coefficient once, and that gives the time in every other situation.
"""

from __future__ import annotations

from dataclasses import dataclass

from steadyhead.errors import InputError
from steadyhead.laws.compiling import floats
from steadyhead.laws.shutoff import closing_integral, fill_differences_on_test, graded_lift
from steadyhead.laws.valves import critical_pressure_factor
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.plan import Plan, ShutOffRow, Water
from steadyhead.surge.plant import Plant
from steadyhead.surge.rest import rest_of
from steadyhead.surge.schedule import Schedule
from steadyhead.surge.starting import write
from steadyhead.surge.state import blank

INTERVALS = 60
"""Of Simpson's rule over the stroke, crowded towards shut."""


@dataclass(frozen=True, slots=True)
class TimedStroke:
    """Readings taken before a stroke: inlet and outlet pressure of the shut-off [Pa] and its flow [m³/s].

    is_outlet_held: another feed holds the outlet; else it falls with the draw-off Q/√p₂.
    """

    inlet: float
    outlet: float
    flow: float
    is_outlet_held: bool = False


def shut_off_of(plan: Plan, name: str) -> ShutOffRow:
    """Return a shut-off of a plan by name.

    Raises
    ------
    InputError
        The plan has no shut-off of that name.
    """
    for part in plan.station:
        if isinstance(part, ShutOffRow) and part.id == name:
            return part
    raise InputError("shut-off", f"got {name!r}.", "Name a shut-off of the plan.")


def integral_on_test(valve: ShutOffRow, water: Water, stroke: TimedStroke) -> float:
    """Return J of a stroke with pressures as read; closing time is J over the needle's k. [m³/√Pa]

    Quasi-steady, inlet held; see `steadyhead.laws.shutoff.closing_integral`.
    """
    curve = valve.body.curve
    differences = floats([0.0] * (INTERVALS + 1))
    factor = critical_pressure_factor(water.vapour_pressure_abs, water.critical_pressure_abs)
    fill_differences_on_test(
        differences,
        stroke.inlet,
        stroke.outlet,
        stroke.flow,
        stroke.is_outlet_held,
        valve.body.coefficient,
        valve.body.shape,
        valve.body.floor,
        floats([x for x, _ in curve] or [0.0]),
        floats([y for _, y in curve] or [0.0]),
        0,
        len(curve),
        valve.body.recovery,
        water.atmosphere_abs,
        factor * water.vapour_pressure_abs,
    )
    return _integral(valve, [float(value) for value in differences])


def integral_in_station(plant: Plant, name: str, schedule: Schedule | None = None) -> float:
    """Return J of a stroke in the whole station, steady at each place of the stem. [m³/√Pa]

    Quasi-steady: the reducer follows, surges are not counted; water must run.

    Parameters
    ----------
    plant
        From `steadyhead.surge.compile_plan`.
    name
        Of the shut-off.
    schedule
        Inputs; their first values hold throughout.
    """
    valve = shut_off_of(plant.plan, name)
    row = plant.rows[name]
    state = blank(plant)
    write(plant, state, (schedule or Schedule()).at_start())
    differences = [0.0]  # shut: it has no weight
    for index in range(1, INTERVALS + 1):
        state.row_values[row][at.LIFT] = graded_lift(index, INTERVALS)
        rest = rest_of(plant, state)
        differences.append(max(rest.nodes[row + 1] - rest.nodes[row], 0.0))
    return _integral(valve, differences)


def _integral(valve: ShutOffRow, differences: list[float]) -> float:
    body = valve.body
    return closing_integral(
        floats(differences),
        body.seat_ratio,
        body.flow_force,
        body.spring_shut,
        body.spring_rise,
        body.area,
        body.stroke,
    )

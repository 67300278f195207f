"""The flow coefficient a valve of some size must have: choked or not, with fittings, turbulent or not."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from steadyhead.design.basis import Basis
from steadyhead.design.closing import CRITICAL_PRESSURE_ABS
from steadyhead.laws.sizing import fitting_losses, piping_factor, required_kv_with_fittings, valve_reynolds
from steadyhead.laws.valves import critical_pressure_factor
from steadyhead.laws.viscous import TURBULENT_FROM, required_kv_viscous
from steadyhead.records.parts import IsolatingValve, Reducer

SAME_BORE = 0.06
"""A bore this near to another counts as the same: no fitting between them. [1]"""


@dataclass(frozen=True)
class Trim:
    """What the sizing equations ask of a valve: bore [m], F_L [1], F_d [1]."""

    size: float
    recovery: float
    style: float


@dataclass(frozen=True)
class Needed:
    """What a valve needs at one flow.

    Parameters
    ----------
    kv
        [m³/h at 1 bar]; inf: no valve of this size passes it.
    piping
        F_P of the reducers beside it; 1: none count. [1]
    reynolds
        Valve Reynolds number; None: not asked, there is no flow or no answer. [1]
    """

    kv: float
    piping: float = 1.0
    reynolds: float | None = None

    @property
    def is_turbulent(self) -> bool:
        """Whether flow counts as turbulent."""
        return self.reynolds is None or self.reynolds >= TURBULENT_FROM


def throat_abs(basis: Basis) -> float:
    """Return F_F p_v of the water. [Pa abs]"""
    vapour = basis.twin.water.vapour_pressure_abs
    return critical_pressure_factor(vapour, CRITICAL_PRESSURE_ABS) * vapour


def pipes_beside(basis: Basis, reducer: Reducer) -> tuple[float, float]:
    """Return the pipe bores before and after a reducer. [m]

    That of the nearest isolating valve on either side; without one that of the main; without one the
    reducer's own. Never narrower than the reducer, nor wider by less than six per cent.
    """
    main, station = basis.layout.main, basis.station
    at = next((i for i, part in enumerate(main) if part.id == reducer.id), 0)
    before = next((p.size.si for p in reversed(main[:at]) if isinstance(p, IsolatingValve)), None)
    after = next((p.size.si for p in main[at:] if isinstance(p, IsolatingValve)), None)
    if before is None and station.supply.main is not None:
        before = station.supply.main.bore.si
    if after is None and station.zone.main is not None:
        after = station.zone.main.bore.si
    own = reducer.size.si
    return _beside(before, own), _beside(after, own)


def _beside(bore: float | None, size: float) -> float:
    return size if bore is None or bore < size * (1.0 + SAME_BORE) else bore


def needed(
    basis: Basis, trim: Trim, pipes: tuple[float, float], *, flow: float, before: float, after: float
) -> Needed:
    """Return what a valve needs to pass a flow between two pressures.

    IEC 60534-2-1 with short concentric reducers between valve and pipe. Where flow is not turbulent the
    standard's Reynolds factor takes their place, as it is given without fittings.

    Parameters
    ----------
    basis
        The station: water and atmosphere.
    trim
        The valve.
    pipes
        Bores before and after it. [m]
    flow
        [m³/s]
    before, after
        Gauge at the valve. [Pa]
    """
    if before <= after:
        return Needed(inf)
    if flow <= 0.0:
        return Needed(0.0)
    water, atmosphere = basis.twin.water, basis.twin.atmosphere_abs
    inlet_abs, outlet_abs, throat = before + atmosphere, after + atmosphere, throat_abs(basis)
    inlet_pipe, outlet_pipe = (max(pipe, trim.size) for pipe in pipes)
    kv = required_kv_with_fittings(
        flow=flow, inlet_abs=inlet_abs, outlet_abs=outlet_abs, density=water.density,
        recovery=trim.recovery, throat_abs=throat, valve_size=trim.size,
        inlet_pipe=inlet_pipe, outlet_pipe=outlet_pipe,
    )  # fmt: skip
    if kv == inf:
        return Needed(kv)
    number = valve_reynolds(
        flow=flow, viscosity=water.kinematic_viscosity, valve_size=trim.size, recovery=trim.recovery,
        style=trim.style, kv=kv,
    )  # fmt: skip
    if number >= TURBULENT_FROM:
        losses = fitting_losses(trim.size, inlet_pipe, outlet_pipe)
        return Needed(kv, piping_factor(kv, trim.size, losses), number)
    slow = required_kv_viscous(
        flow=flow, inlet_abs=inlet_abs, outlet_abs=outlet_abs, density=water.density,
        viscosity=water.kinematic_viscosity, recovery=trim.recovery, throat_abs=throat,
        valve_size=trim.size, style=trim.style,
    )  # fmt: skip
    return Needed(slow, 1.0, number)

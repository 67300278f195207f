"""What the pipes bear: every component's limits at the station datum, the weakest of each side named."""

from __future__ import annotations

from collections.abc import Iterable

from steadyhead.records.ladder import ComponentLimit
from steadyhead.records.station import Limit, Station
from steadyhead.station.elevation import to_datum


def component_limits(station: Station, density: float) -> tuple[ComponentLimit, ...]:
    """Return the limits of all components at the station datum, in the order of the file.

    A component with one limit only has it for both questions: without a surge rating nothing more is
    known than the rating. Derating multiplies both.

    Parameters
    ----------
    station
        With its limits, each at its own level.
    density
        Of the water. [kg/m³]

    Notes
    -----
    P_at_datum = limit · derating + ρ g (z_component − z_datum) (design handbook 2.4).
    """
    return tuple(_component(limit, station.station.datum.si, density) for limit in station.limits)


def _component(limit: Limit, datum: float, density: float) -> ComponentLimit:
    share = 1.0 if limit.derating is None else limit.derating.si
    normal = limit.normal or limit.fault
    fault = limit.fault or limit.normal
    normal_local = None if normal is None else normal.si * share
    fault_local = None if fault is None else fault.si * share

    def carried(local: float | None) -> float | None:
        return None if local is None else to_datum(local, level=limit.level.si, datum=datum, density=density)

    stated = fault or normal
    return ComponentLimit(
        component=limit.component,
        level=limit.level.si,
        normal_local=normal_local,
        fault_local=fault_local,
        normal_at_datum=carried(normal_local),
        fault_at_datum=carried(fault_local),
        side=limit.side,
        source=limit.source or (stated.provenance if stated else ""),
    )


def weakest_normal(components: Iterable[ComponentLimit], side: str = "consumer") -> ComponentLimit | None:
    """Return the component of a side whose normal limit is lowest at datum; the first of equals."""
    found = [c for c in components if c.side in _sees(side) and c.normal_at_datum is not None]
    return min(found, key=_normal, default=None)


def weakest_fault(components: Iterable[ComponentLimit], side: str = "consumer") -> ComponentLimit | None:
    """Return the component of a side whose limit in a fault is lowest at datum; the first of equals."""
    found = [c for c in components if c.side in _sees(side) and c.fault_at_datum is not None]
    return min(found, key=_fault, default=None)


def _sees(side: str) -> tuple[str, ...]:
    """Return the sides whose components see this pressure; the outlet's fittings see the consumers'."""
    return ("consumer", "outlet") if side == "consumer" else (side,)


def _normal(component: ComponentLimit) -> float:
    assert component.normal_at_datum is not None
    return component.normal_at_datum


def _fault(component: ComponentLimit) -> float:
    assert component.fault_at_datum is not None
    return component.fault_at_datum

"""Losses of strainers and shut-offs, and velocities in pipes, with the flow that runs through each."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.design import defaults as d
from steadyhead.design.along import flow_through
from steadyhead.design.basis import Basis
from steadyhead.design.credit import part_k, valve_k
from steadyhead.laws.coefficients import kv_of_k, velocity
from steadyhead.records.design import LossSizing, PipeSizing
from steadyhead.records.parts import IsolatingValve, LinePart, ShutOff, Strainer
from steadyhead.records.values import Default
from steadyhead.station.streams import views


def _parts(basis: Basis) -> Iterator[LinePart]:
    """Yield every part on a way through the station, each once."""
    seen: set[str] = set()
    for view in views(basis.station):
        for part in view.layout.main:
            if part.id not in seen:
                seen.add(part.id)
                yield part


def losses(basis: Basis) -> tuple[LossSizing, ...]:
    """Return the clean losses of strainers and shut-offs at peak flow, and at a stated fire flow."""
    found = []
    for part in _parts(basis):
        if isinstance(part, Strainer):
            found.append(_loss(basis, part, part_k(basis, part), d.STRAINER_LOSS))
        elif isinstance(part, ShutOff):
            found.append(_loss(basis, part, valve_k(basis, part), d.SHUT_OFF_LOSS))
    return tuple(found)


def _loss(basis: Basis, part: Strainer | ShutOff, k: float, limit: Default) -> LossSizing:
    peak = flow_through(basis, part.id, "peak") or 0.0
    fire = flow_through(basis, part.id, "fire")
    return LossSizing(
        part=part.id,
        kind="strainer" if isinstance(part, Strainer) else "shut-off",
        kv=kv_of_k(k, basis.density),
        loss=(peak / k) ** 2,
        limit=limit.si,
        source=limit.value().provenance,
        fire_loss=None if fire is None else (fire / k) ** 2,
        flow=peak,
    )


def pipes(basis: Basis) -> tuple[PipeSizing, ...]:
    """Return the velocities in both mains and in the isolating valves' bores, at peak and at fire flow."""
    peak, fire = basis.station.demand.peak.si, basis.station.demand.fire
    most = None if fire is None else fire.si
    found = []
    if basis.station.supply.main is not None:
        found.append(_pipe("the supply main", basis.station.supply.main.bore.si, peak, most))
    if basis.station.zone.main is not None:
        found.append(_pipe("the zone's main", basis.station.zone.main.bore.si, peak, most))
    for part in _parts(basis):
        if isinstance(part, IsolatingValve):
            flow = flow_through(basis, part.id, "peak") or 0.0
            found.append(_pipe(part.id, part.size.si, flow, flow_through(basis, part.id, "fire")))
    return tuple(found)


def _pipe(place: str, bore: float, peak: float, fire: float | None) -> PipeSizing:
    return PipeSizing(
        place=place,
        bore=bore,
        velocity=velocity(peak, bore),
        limit=d.PIPE_VELOCITY.si,
        source=d.PIPE_VELOCITY.value().provenance,
        fire_velocity=None if fire is None else velocity(fire, bore),
    )

"""Every value of a design that nobody stated, with where it comes from."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.design import credit
from steadyhead.design import defaults as d
from steadyhead.design import tolerances as tol
from steadyhead.design.basis import Basis
from steadyhead.design.rungs import Rungs
from steadyhead.records.design import UsedDefault
from steadyhead.records.parts import Drain, FlowMeter, IsolatingValve, Reducer, ShutOff, Strainer
from steadyhead.records.values import Default, Origin, Value
from steadyhead.station import defaults as sd
from steadyhead.station.mechanics import (
    drain_kv,
    isolating_kv,
    meter_kv,
    reducer_twin,
    shut_off_twin,
    strainer_kv,
)


def used_defaults(basis: Basis, rungs: Rungs | None) -> tuple[UsedDefault, ...]:
    """Return the defaults a sheet rests on: inside of valves and pipes, ladder, failures."""
    found = list(_parts(basis))
    if rungs is not None:
        found += _ladder(basis, rungs)
    return tuple(found)


def _used(where: str, what: str, value: Value) -> Iterator[UsedDefault]:
    if value.origin is not Origin.STATED and value.origin is not Origin.MEASURED:
        yield UsedDefault(where, what.replace("_", " "), value.text, value.kind, value.si, value.provenance)


def _parts(basis: Basis) -> Iterator[UsedDefault]:
    for part in basis.station.parts():
        where = basis.part_place(part.id)
        if isinstance(part, Reducer):
            for name, value in reducer_twin(part).values().items():
                yield from _used(where, name, value)
        elif isinstance(part, ShutOff):
            for name, value in shut_off_twin(part).values().items():
                yield from _used(where, name, value)
        elif isinstance(part, IsolatingValve):
            yield from _used(where, "kv", isolating_kv(part))
        elif isinstance(part, Strainer):
            yield from _used(where, "kv clean", strainer_kv(part))
        elif isinstance(part, FlowMeter):
            yield from _used(where, "kv", meter_kv(part))
        elif isinstance(part, Drain):
            yield from _used(where, "kv", drain_kv(part))


def _ladder(basis: Basis, rungs: Rungs) -> Iterator[UsedDefault]:
    station, ladder = basis.station, rungs.ladder
    reducer = basis.layout.reducers[-1]
    yield from _used(basis.part_place(reducer.id, "lockup"), "lockup_pressure", rungs.lockup)
    yield from _used("tolerances.gap", "gap", tol.gap(basis))
    stacks = [(reducer.id, ladder.inputs.highest_normal_adds)]
    if basis.layout.shut_off is not None:
        stacks.append((basis.layout.shut_off.id, ladder.inputs.trip_tolerances))
    for part_id, parts in stacks:
        for part in parts:
            if part.provenance.startswith("default"):
                text = f"{part.size / 1e5:.3g} bar"
                yield UsedDefault(
                    basis.part_place(part_id), part.label, text, "pressure", part.size, part.provenance
                )
    if station.alarm is not None and station.alarm.error is None:
        yield from _default("alarm.error", d.ALARM_ERROR)
    if station.demand.exponent is None:
        yield from _default("demand.exponent", sd.DEMAND_EXPONENT)
    if basis.layout.shut_off is not None:
        yield from _failures(basis, rungs)


def _failures(basis: Basis, rungs: Rungs) -> Iterator[UsedDefault]:
    shut_off = basis.layout.shut_off
    assert shut_off is not None
    yield from _default(basis.part_place(shut_off.id, "closing"), d.DEAD_TIME)
    if rungs.closing is not None:
        yield from _used(basis.part_place(shut_off.id, "closing"), "closing time", rungs.closing)
    if not basis.station.credited:
        yield from _default("credited", d.CREDITED_WITHIN)
    stiffness = credit.zone_stiffness(basis.station.zone)
    if stiffness is not None:
        yield from _used("zone.elasticity", "elasticity of the zone", stiffness.compressibility)


def _default(where: str, default: Default) -> Iterator[UsedDefault]:
    yield from _used(where, default.name, default.value())

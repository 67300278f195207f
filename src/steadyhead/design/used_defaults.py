"""Every value of a design that nobody stated, with where it comes from."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.design import credit
from steadyhead.design import defaults as d
from steadyhead.design import tolerances as tol
from steadyhead.design.basis import Basis
from steadyhead.design.relief import relief_reseat
from steadyhead.design.rungs import Rungs
from steadyhead.design.tolerances import relief_error
from steadyhead.hydraulics.mains import zone_stiffness
from steadyhead.records.design import UsedDefault
from steadyhead.records.parts import (
    CheckValve,
    Drain,
    FlowMeter,
    IsolatingValve,
    Reducer,
    Relief,
    ShutOff,
    Strainer,
)
from steadyhead.records.values import Default, Origin, Value
from steadyhead.station import defaults as sd
from steadyhead.station.mechanics import (
    check_valve_kv,
    drain_kv,
    isolating_kv,
    meter_kv,
    reducer_twin,
    relief_full,
    relief_kv,
    shut_off_twin,
    strainer_kv,
)


def used_defaults(whole: Basis, ways: tuple[tuple[Basis, Rungs], ...]) -> tuple[UsedDefault, ...]:
    """Return the defaults a sheet rests on, each once: inside of valves and pipes, ladder, failures.

    Parameters
    ----------
    whole
        The station.
    ways
        Each way through it with its ladder; empty where there is none.
    """
    found = list(_parts(whole))
    for basis, rungs in ways:
        found += [one for one in _ladder(basis, rungs) if len(ways) == 1 or one not in found]
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
                if name != "closing_needle_kv" or part.closing is None:  # a stated time gives the needle
                    yield from _used(where, name, value)
        elif isinstance(part, IsolatingValve):
            yield from _used(where, "kv", isolating_kv(part))
        elif isinstance(part, Strainer):
            yield from _used(where, "kv clean", strainer_kv(part))
        elif isinstance(part, FlowMeter):
            yield from _used(where, "kv", meter_kv(part))
        elif isinstance(part, Drain):
            yield from _used(where, "kv", drain_kv(part))
        elif isinstance(part, Relief):
            yield from _used(where, "kv", relief_kv(part))
            yield from _used(where, "wide open", relief_full(part))
            yield from _used(where, "reseat", relief_reseat(part))
            yield from _used(where, "± of its crack", relief_error(part))
        elif isinstance(part, CheckValve):
            yield from _used(where, "kv", check_valve_kv(part))


def _ladder(basis: Basis, rungs: Rungs) -> Iterator[UsedDefault]:
    station, ladder = basis.station, rungs.ladder
    reducer = basis.worker
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
    if basis.monitor is not None and basis.monitor.response is None:
        yield from _default(basis.part_place(basis.monitor.id), d.MONITOR_RESPONSE)
    if station.hot_water is not None and station.hot_water.hot is None:
        yield from _default("hot_water.hot", d.HOT_WATER)
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
    if rungs.worked_trip is not None and credit.vessel_compliance(basis, rungs.worked_trip) > 0.0:
        yield from _default(basis.part_place(basis.vessels[0].id), d.GAS_EXPONENT)
    stiffness = zone_stiffness(basis.station.zone)
    if stiffness is not None:
        yield from _used("zone.elasticity", "elasticity of the zone", stiffness.compressibility)


def _default(where: str, default: Default) -> Iterator[UsedDefault]:
    yield from _used(where, default.name, default.value())

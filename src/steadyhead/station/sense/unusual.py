"""Single figures that make a station look safer than it can be."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.findings import Amount, Finding, Severity
from steadyhead.records.parts import (
    Drain,
    FactorySetting,
    FlowMeter,
    IsolatingValve,
    PilotSpring,
    Reducer,
    ShutOff,
    Strainer,
)
from steadyhead.records.values import Default, Value
from steadyhead.station.defaults import kv_from_loss
from steadyhead.station.refusal import Path
from steadyhead.station.sense import defaults as d
from steadyhead.station.sense.places import Places


def flattering(at: Places) -> Iterator[Finding]:
    """Yield STN-05 (ask) for coefficients beyond their bore, STN-06 (heed) for tags that do not fit."""
    for path, part in at.parts():
        yield from _coefficient(at, path, part)
        if isinstance(part, Reducer):
            highest = part.duty.pressure if part.lockup is None else part.lockup
            yield from _tag(at, path, part.factory, part.pilot, (part.duty.pressure, highest))
        elif isinstance(part, ShutOff):
            wanted = None if part.trip is None else (part.trip, part.trip)
            yield from _tag(at, path, part.factory, part.pilot, wanted)


def _coefficient(at: Places, path: Path, part: object) -> Iterator[Finding]:
    loss: Default = d.LEAST_VALVE_LOSS
    field, kv = "kv", getattr(part, "kv", None)
    if isinstance(part, Strainer):
        field, kv = "kv_clean", part.kv_clean
    elif isinstance(part, Drain):
        loss = d.LEAST_DRAIN_LOSS
    elif isinstance(part, IsolatingValve | FlowMeter):
        loss = d.LEAST_ISOLATING_LOSS
    elif not isinstance(part, Reducer | ShutOff):
        return
    most = kv_from_loss(loss.si, part.size.si)
    if kv is not None and kv.si > most:
        where = at.words(*path, field)
        params = {"typed": kv.text, "size": part.size.text, "loss": loss.text}
        most_of_all = Amount("flow_coefficient", most)
        yield Finding("STN-05", where, Severity.ASK, params, Amount("flow_coefficient", kv.si), most_of_all)


def _tag(
    at: Places, path: Path, tag: FactorySetting | None, pilot: PilotSpring, wanted: tuple[Value, Value] | None
) -> Iterator[Finding]:
    if tag is None:
        return
    got, problem = tag.pressure, ""
    if not pilot.spring_low.si <= got.si <= pilot.spring_high.si:
        problem = f"outside its spring, {pilot.spring_low.text} to {pilot.spring_high.text}"
    elif wanted is not None:
        low, high = (one.si for one in wanted)
        if not low * (1 - d.TAG_OFF.si) <= got.si <= max(low, high) * (1 + d.TAG_OFF.si):
            problem = f"more than {d.TAG_OFF.text} away from the setting wanted, {wanted[0].text}"
    if problem:
        where = at.words(*path, "factory", "pressure")
        params = {"typed": got.text, "problem": problem}
        yield Finding("STN-06", where, Severity.HEED, params, Amount("pressure", got.si))

"""Which pieces stand in the station, as the certificate lists them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from steadyhead.records.certificate import FlowTest, PerTurn, Row
from steadyhead.records.parts import (
    FactorySetting,
    IsolatingValve,
    PilotSpring,
    Reducer,
    Relief,
    ShutOff,
    Strainer,
)
from steadyhead.records.station import Station
from steadyhead.units import UnitSet, say
from steadyhead.visits.certifying.seen import Seen

NOT_STATED = "not stated"


def equipment(
    station: Station, seen: Seen, turns: Sequence[PerTurn] = ()
) -> tuple[tuple[str, tuple[Row, ...]], ...]:
    """Return each valve, strainer and isolating valve with what is stated of it.

    Parameters
    ----------
    station
        The station file's record.
    seen, turns
        The run, for needles; change per turn of each pilot's screw, where fitted.
    """
    found = []
    for part in station.parts():
        if isinstance(part, Reducer | ShutOff):
            found.append((_name(part.id, part.name), tuple(_valve(part, seen, turns))))
        elif isinstance(part, Relief):
            found.append((_name(part.id, part.name), tuple(_relief(part, seen.units))))
        elif isinstance(part, Strainer):
            rows = [("Strainer", say(part.size.si, "size", seen.units)), ("Mesh", part.mesh or NOT_STATED)]
            found.append((_name(part.id, part.name), tuple(rows)))
        elif isinstance(part, IsolatingValve):
            spindle = f"{part.turns.si:g} turns" if part.turns else f"turns {NOT_STATED}"
            closes = f"shuts {part.closes}" if part.closes else f"direction {NOT_STATED}"
            rows = [
                ("Isolating valve", say(part.size.si, "size", seen.units)),
                ("Spindle", f"{spindle}, {closes}"),
            ]
            found.append((_name(part.id, part.name), tuple(rows)))
    return tuple(found)


def _name(part: str, name: str) -> str:
    return f"{part}, {name}" if name else part


def _valve(valve: Reducer | ShutOff, seen: Seen, turns: Sequence[PerTurn]) -> Iterator[Row]:
    units = seen.units
    kind = "Reducer" if isinstance(valve, Reducer) else "Shut-off"
    yield kind, say(valve.size.si, "size", units)
    yield "Serial number, rating, seat, diaphragm", valve.notes or NOT_STATED
    yield from _spring(valve.pilot, valve.factory, units)
    found = next((one for one in turns if one.valve == valve.id), None)
    yield "Per turn, found", "not determined by this run" if found is None else _turn(found, units)
    needles = [
        n
        for s in seen.on_way()
        for n in (seen.noted(s, "needles"),)
        if n is not None and s.node.id.rpartition(".")[2] == valve.id
    ]
    yield "Needle", f"{seen.value(needles[-1])} from shut" if needles else "as found; not turned"
    yield "Senses", valve.senses
    yield "Chamber feed", valve.chamber_feed
    if isinstance(valve, ShutOff):
        yield "Root cock", valve.sensing_tap
        yield "Closing medium from", valve.closing_medium
        yield "Exhaust to", valve.exhaust
        yield "Tell-tale", valve.tell_tale
        yield "Resets", valve.resets
        switch = valve.limit_switch
        yield "Limit switch", f"{switch.kind}; text: {switch.text or NOT_STATED}" if switch else "none stated"


def _turn(found: PerTurn, units: UnitSet) -> str:
    value, within = (say(one, "pressure_per_turn", units) for one in (found.value, found.within))
    return f"{value} ± {within}, fitted to {', '.join(found.steps)}"


def _spring(pilot: PilotSpring, factory: FactorySetting | None, units: UnitSet) -> Iterator[Row]:
    ends = [say(end.si, "pressure", units) for end in (pilot.spring_low, pilot.spring_high)]
    yield "Spring", f"{ends[0]} to {ends[1]}"
    plate = f"{say(pilot.per_turn.si, 'pressure_per_turn', units)}" if pilot.per_turn else NOT_STATED
    yield "Per turn, plate", plate
    yield "Screw", f"{pilot.raises} raises" if pilot.raises else "direction not stated"
    if factory is not None:
        seal = "sealed" if factory.sealed else "not sealed"
        bench = f", bench {factory.date}" if factory.date else ""
        yield "Factory tag", f"{say(factory.pressure.si, 'pressure', units)}, {seal}{bench}"


def _relief(relief: Relief, units: UnitSet) -> Iterator[Row]:
    yield "Relief valve", say(relief.size.si, "size", units)
    yield "Starts to lift, design", say(relief.crack.si, "pressure", units)
    yield "Runs to", relief.runs_to or NOT_STATED
    yield "Tells by", relief.tells


def k_words(test: FlowTest, which: str, units: UnitSet) -> str:
    """Return a loss factor in words: pressure lost at one unit of flow, squared.

    Examples
    --------
    >>> from steadyhead.units import METRIC
    >>> test = FlowTest("", "T3", (), None, None, 7.5e7, None, "", "valid", "")
    >>> k_words(test, "strainer", METRIC)
    '7.50·10⁻⁴ bar/(L/s)²'
    """
    from steadyhead.units import from_si, to_si

    value = test.k_strainer if which == "strainer" else test.k_shut_off
    if value is None:
        return "not worked out"
    if value <= 0.0:
        return "too small to tell with these gauges"
    flow, pressure = units.first.unit("flow"), units.first.unit("pressure")
    told = from_si(value * to_si(1.0, "flow", flow) ** 2, "pressure", pressure) - from_si(
        0.0, "pressure", pressure
    )
    figure, _, power = f"{told:.2e}".partition("e")
    raised = str(int(power)).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))
    return f"{figure}·10{raised} {pressure}/({flow})²".replace("-", "−")

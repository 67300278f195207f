"""Which way through a station a reducer stands on, and what stands ahead of it there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import isnan

from steadyhead.design.basis import Basis
from steadyhead.design.credit import part_k, valve_k
from steadyhead.design.twin import SteadyTwin
from steadyhead.errors import InputError, NotConverged
from steadyhead.records.design import FlowCase, InletCase
from steadyhead.records.parts import Branch, LinePart, Parallel, Reducer, ShutOff, flat
from steadyhead.records.steady import ValveReading
from steadyhead.station.layout import at_one_place
from steadyhead.station.streams import stream_words, views

_CARRIES: tuple[FlowCase, ...] = ("peak", "average")


@dataclass(frozen=True)
class Along:
    """A reducer with the way it stands on.

    Parameters
    ----------
    basis
        The station with that way only; the twin is still that of the whole station.
    reducer
        The part.
    branch
        The stream it stands in, where there are others beside it; None: on the one way through.
    """

    basis: Basis
    reducer: Reducer
    branch: Branch | None


@dataclass(frozen=True)
class Ahead:
    """What stands between the place a map is drawn for and a reducer.

    Parameters
    ----------
    before
        Reducer ahead that holds a pressure of its own; None: nothing does.
    resistance
        Δp/Q² of everything between, clean and open. [Pa·s²/m⁶]
    place
        Where the pressure of the map stands, in words.
    """

    before: Reducer | None
    resistance: float
    place: str


def reducers_along(basis: Basis) -> tuple[Along, ...]:
    """Return every reducer on a way through the station, each once, main and duty ways first."""
    found: dict[str, Along] = {}
    for view in views(basis.station):
        is_same = view.station is basis.station
        here = basis if is_same else Basis(view.station, basis.twin, whole=basis.file, view=view)
        for reducer in here.layout.reducers:
            if reducer.id not in found:
                found[reducer.id] = Along(here, reducer, _branch_of(basis.station.line, reducer.id))
    return tuple(found.values())


def along(basis: Basis, reducer_id: str) -> Along:
    """Return one reducer with its way.

    Raises
    ------
    InputError
        No such reducer on a way through the station.
    """
    known = reducers_along(basis)
    for one in known:
        if one.reducer.id == reducer_id:
            return one
    names = ", ".join(one.reducer.id for one in known) or "none"
    raise InputError(
        "REDUCER", f"got {reducer_id!r}; reducers of this station: {names}.", "Name one of them."
    )


def _branch_of(line: tuple[LinePart, ...], part_id: str) -> Branch | None:
    """Return the innermost branch with others beside it that holds a part; None: it is on every way."""
    for group in (part for part in line if isinstance(part, Parallel)):
        ways = [branch for branch in group.branches if branch.role != "manual bypass"]
        for branch in ways:
            if all(part.id != part_id for part in flat(branch.line)):
                continue
            inner = _branch_of(branch.line, part_id)
            return inner or (branch if len(ways) > 1 else None)
    return None


def ahead(one: Along) -> Ahead:
    """Return what stands ahead of a reducer, up to a reducer that holds a pressure or to its stream's inlet.

    A reducer that senses the same place stands wide open in service: a resistance like others.
    """
    before: Reducer | None = None
    resistance = 0.0
    place = "inlet of the station"
    if one.branch:
        place = f"inlet of the {stream_words(one.branch.role, one.branch.id)}"
    for part in _parts_ahead(one):
        if isinstance(part, Reducer) and not senses_with(one, part):
            before, resistance, place = part, 0.0, f"outlet of {part.id}"
            continue
        k = valve_k(one.basis, part) if isinstance(part, ShutOff | Reducer) else part_k(one.basis, part)
        resistance += 1.0 / (k * k)
    return Ahead(before, resistance, place)


def _parts_ahead(one: Along) -> Iterator[LinePart]:
    inside = None if one.branch is None else {part.id for part in flat(one.branch.line)}
    for part in one.basis.layout.main:
        if part.id == one.reducer.id:
            return
        if inside is None or part.id in inside:
            yield part


def senses_with(one: Along, other: Reducer) -> bool:
    """Return whether another reducer on the way senses the same place: a worker and its monitor do."""
    return at_one_place(one.basis.layout.main, one.reducer.senses, other.senses)


def limited_by(one: Along) -> Reducer | None:
    """Return the last reducer ahead that holds a pressure, in the stream or before it; None: none does."""
    last: Reducer | None = None
    for part in one.basis.layout.main:
        if part.id == one.reducer.id:
            break
        if isinstance(part, Reducer) and not senses_with(one, part):
            last = part
    return last


def reading_of(one: Along, flow_case: FlowCase, inlet_case: InletCase) -> ValveReading | None:
    """Return what the twin of the whole station says of a reducer; None: it has no answer."""
    try:
        steady = one.basis.twin.steady(flow_case, inlet_case)
    except (NotConverged, InputError):
        return None
    reading = steady.valves.get(one.reducer.id)
    if reading is None or isnan(reading.inlet_pressure) or isnan(reading.flow):
        return None
    return reading


def helpers(one: Along, flow_case: FlowCase, inlet_case: InletCase) -> tuple[str, ...]:
    """Return the reducers of other streams that hold the outlet in a case, by id, as the twin has it."""
    if one.branch is None:
        return ()
    try:
        valves = one.basis.twin.steady(flow_case, inlet_case).valves
    except (NotConverged, InputError):
        return ()
    beside = (Basis(view.station, one.basis.twin) for view in views(one.basis.file))
    ways = (way for way in beside if way.layout.reducers and way.layout.position(one.reducer.id) < 0)
    others = (way.worker.id for way in ways)
    return tuple(name for name in dict.fromkeys(others) if name in valves and valves[name].state == "holding")


def serving(one: Along) -> Along:
    """Return a reducer as it serves: in the whole station, or its way alone where it carries nothing there.

    A standby stream is sized for the day on which it carries everything.
    """
    if one.branch is None or one.basis.view is None:
        return one
    readings = (reading_of(one, flow_case, "typical") for flow_case in _CARRIES)
    if any(reading is not None and reading.state not in ("shut", "lock-up") for reading in readings):
        return one
    alone = replace(one.basis, twin=SteadyTwin(one.basis.station))
    return replace(one, basis=alone)


def flow_through(basis: Basis, part_id: str, flow_case: FlowCase) -> float | None:
    """Return the flow through a part at the lowest inlet pressure [m³/s]; None: no such flow is stated.

    In a stream what its first reducer takes in the twin of the whole station, on the one way the station's.
    """
    stated = basis.flow(flow_case)
    branch = _branch_of(basis.station.line, part_id)
    if stated is None or branch is None:
        return None if stated is None else stated.si
    reducers = [part.id for part in flat(branch.line) if isinstance(part, Reducer)]
    try:
        valves = basis.twin.steady(flow_case, "lowest").valves
    except (NotConverged, InputError):
        return stated.si
    own = part_id if part_id in valves else reducers[0] if reducers else ""
    return max(valves[own].flow, 0.0) if own in valves else stated.si

"""How each stream of a station is cut off for a visit: the whole station out, or that stream alone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal

from steadyhead.findings import Finding, Severity
from steadyhead.records.parts import (
    Branch,
    CheckValve,
    Drain,
    ExpansionVessel,
    IsolatingValve,
    LinePart,
    Parallel,
    Reducer,
    ShutOff,
    Strainer,
    Tap,
    flat,
)
from steadyhead.records.plan_numbers import Together
from steadyhead.records.station import Station
from steadyhead.station.layout import Layout, read_layout
from steadyhead.station.streams import View, isolating_valves, views
from steadyhead.visits.defaults import FLOW_TEST_OVER_PEAK
from steadyhead.visits.several.defaults import LOW_FLOW_TEST

Mode = Literal["station out", "stream out"]
"""*station out*: consumers cut off at the station's own two valves, the streams tested one by one between
them. *stream out*: a stream is cut off at its own two valves while the others serve."""


@dataclass(frozen=True, slots=True)
class Beside:
    """A branch that stands isolated while another stream is tested.

    opening: drain, else tap, between its two valves; empty where there is none. seen: its shut-offs that
    sense a tap outside it. part: valves inside it.
    """

    branch: str
    role: str
    locked_shut: bool
    up: IsolatingValve
    down: IsolatingValve
    opening: Drain | Tap | None
    seen: tuple[ShutOff, ...]
    valves: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Way:
    """A view with the bounds of its test.

    Parameters
    ----------
    view
        The way through the station.
    key
        Ends the ids of its steps; never the id of a part.
    mode
        What is cut off.
    station, layout
        Of one line, with no other isolating valve than the two that bound the test.
    ends
        These two.
    own
        Reducers and shut-offs commissioned on this way.
    beside
        What stands isolated meanwhile; nothing where the stream alone is out.
    opened
        Isolating valves on this way that stand open during the test.
    check_valve
        Id of a check valve that no other way has; empty without one.
    locked_shut
        A branch it takes stands locked shut in service.
    outer
        Ids of the parts on the station's own line, outside every branch.
    """

    view: View
    key: str
    mode: Mode
    station: Station
    layout: Layout
    ends: tuple[str, str]
    own: tuple[str, ...]
    beside: tuple[Beside, ...] = ()
    opened: tuple[str, ...] = ()
    check_valve: str = ""
    locked_shut: bool = False
    outer: frozenset[str] = frozenset()

    @property
    def branch(self) -> str:
        """Innermost branch this way takes."""
        return list(self.view.branches.values())[-1]

    @property
    def is_low_flow(self) -> bool:
        """This way is a low-flow stream."""
        return self.view.role == "low flow"

    @property
    def shut_off(self) -> ShutOff | None:
        """The shut-off proved on this way."""
        return next((s for s in self.layout.shut_offs if s.id in self.own), None)

    @property
    def last_reducer(self) -> Reducer:
        """The reducer that holds the outlet of this way."""
        return self.layout.reducers[-1]


@dataclass(frozen=True, slots=True)
class Ways:
    """The ways of a visit in the order they are tested, or why there are none."""

    ways: tuple[Way, ...]
    mode: Mode
    findings: tuple[Finding, ...]


def has_several(station: Station) -> bool:
    """Return whether more than one way leads through a station."""
    return read_layout(station).code == "several streams"


MODES: tuple[Mode, ...] = ("stream out", "station out")
"""What is tried in turn at any visit but the first: as little out as can be."""


def ways_of_visit(station: Station, mode: Mode) -> Ways:
    """Return how the streams of a station are cut off, or what stands against it."""
    found, problems = [], []
    for view in views(station):
        one = _station_out(station, view) if mode == "station out" else _stream_out(station, view)
        if isinstance(one, Way):
            found.append(one)
        else:
            problems += one
    return Ways(() if problems else tuple(found), mode, _different(problems))


def _different(findings: list[Finding]) -> tuple[Finding, ...]:
    return tuple(one for number, one in enumerate(findings) if one not in findings[:number])


def _key(station: Station, view: View) -> str:
    taken = {part.id for part in station.parts()}
    return f"{view.id}.stream" if view.id in taken else view.id


def _station_out(station: Station, view: View) -> Way | list[Finding]:
    common = {part.id for part in station.line if isinstance(part, IsolatingValve)}
    problems = []
    beside = []
    for branch_id in view.beside:
        branch = branch_of(station.line, branch_id)
        up, down = isolating_valves(station, branch_id)
        if up is None or down is None or up is down:
            side = "upstream" if up is None else "downstream"
            params = {"stream": branch_id, "side": side, "other": view.id}
            problems.append(Finding("PLAN-46", f"stream {branch_id}", Severity.STOP, params=params))
        else:
            beside.append(_beside(branch, up, down))
    removed = {
        part.id for part in view.layout.main if isinstance(part, IsolatingValve) and part.id not in common
    }
    if any(valve.id in view.own for valve in view.layout.shut_offs):
        removed |= {valve.id for valve in view.layout.shut_offs if valve.id in view.shared}
    bounded = _bounded(station, view, removed)
    layout = read_layout(bounded)
    for side, valve in (("inlet", layout.inlet_valve), ("outlet", layout.outlet_valve)):
        if valve is None:
            problems.append(Finding("PLAN-04", "line", Severity.STOP, params={"side": side}))
    if problems:
        return problems
    opened = tuple(p.id for p in view.layout.main if p.id in removed and isinstance(p, IsolatingValve))
    return _way(station, view, "station out", bounded, tuple(beside), opened)


def _stream_out(station: Station, view: View) -> Way | list[Finding]:
    outer = {part.id for part in station.line}
    main = view.layout.main
    up, down = view.layout.inlet_valve, view.layout.outlet_valve
    missing = ""
    acting = {valve.id for valve in (*view.layout.reducers, *view.layout.shut_offs)}
    if up is None or down is None or {up.id, down.id} & outer or acting & outer:
        missing = _lacks(station, view)
    else:
        first, last = (view.layout.position(valve.id) for valve in (up, down))
        inside = main[first : last + 1]
        behind = inside[max(i for i, p in enumerate(inside) if isinstance(p, Reducer | ShutOff)) :]
        sensed = {reducer.senses for reducer in view.layout.reducers}
        if not any(isinstance(part, Drain) for part in behind):
            missing = "a drain of its own behind its last valve"
        elif not any(isinstance(part, Tap) for part in behind):
            missing = "a tap of its own behind its last valve"
        elif not sensed <= {part.id for part in inside}:
            missing = "a tap of its own that its reducer senses"
    if missing or up is None or down is None:
        params = {"stream": view.id, "missing": missing}
        return [Finding("PLAN-47", f"stream {view.id}", Severity.HEED, params=params)]
    removed = _outside(main, {part.id for part in inside}, {up.id, down.id})
    return _way(station, view, "stream out", _bounded(station, view, removed), (), ())


def _lacks(station: Station, view: View) -> str:
    """Return in words what a stream would need to be tested between valves of its own."""
    branch = list(view.branches.values())[-1]
    parts = flat(branch_of(station.line, branch).line)
    up, down = isolating_valves(station, branch)
    outer = {part.id for part in station.line}
    found = []
    if up is None or down is None or up is down:
        found.append("isolating valves of its own at both ends")
    shared = [v.id for v in (*view.layout.shut_offs, *view.layout.reducers) if v.id in outer]
    if shared:
        found.append(f"valves of its own in place of {' and '.join(shared)}, shared by the streams")
    if not any(isinstance(part, Drain) for part in parts):
        found.append("a drain of its own")
    if not any(isinstance(part, Tap) for part in parts):
        found.append("a tap of its own")
    return "; ".join(found) or "isolating valves of its own on both sides of all its valves"


def _outside(main: tuple[LinePart, ...], inside: set[str], ends: set[str]) -> set[str]:
    """Return what a stream that is out alone does not touch: other isolating valves, drains, strainers."""
    return {
        part.id
        for part in main
        if part.id not in ends
        and (
            isinstance(part, IsolatingValve)
            or (part.id not in inside and isinstance(part, Drain | Strainer | CheckValve | ExpansionVessel))
        )
    }


def _way(
    station: Station,
    view: View,
    mode: Mode,
    bounded: Station,
    beside: tuple[Beside, ...],
    opened: tuple[str, ...],
) -> Way:
    layout = read_layout(bounded)
    assert layout.inlet_valve is not None
    assert layout.outlet_valve is not None
    outer = {part.id for part in station.line}
    checks = [part.id for part in layout.main if isinstance(part, CheckValve) and part.id not in outer]
    return Way(
        view=view,
        key=_key(station, view),
        mode=mode,
        station=_small(bounded, layout) if view.role == "low flow" else bounded,
        layout=layout,
        ends=(layout.inlet_valve.id, layout.outlet_valve.id),
        own=view.own,
        beside=beside,
        opened=opened,
        check_valve=checks[0] if checks else "",
        outer=frozenset(outer),
        locked_shut=any(branch_of(station.line, b).locked_shut for b in view.branches.values()),
    )


def _small(bounded: Station, layout: Layout) -> Station:
    """Return a low-flow stream with the flows it is made for: the station's peak would only hold it open."""
    if not layout.reducers:
        return bounded
    flow, demand = layout.reducers[-1].duty.flow, bounded.demand
    most = {"peak": LOW_FLOW_TEST.si * flow.si, "average": flow.si, "night": flow.si}
    small: dict[str, Any] = {"fire": None}
    for name, top in most.items():
        stated = getattr(demand, name)
        small[name] = stated.with_si(min(stated.si, top), stated.text)
    return bounded.model_copy(update={"demand": demand.model_copy(update=small)})


def reaching(way: Way, facts: Together) -> Way:
    """Return a low-flow way with its flows up to where another stream takes over: its own working range.

    Any other way, and one whose reducer does not lead, is returned as it is; so is one whose flows reach that
    far already.
    """
    demand = way.station.demand
    leads = way.is_low_flow and way.last_reducer.id == facts.leader
    if not leads or facts.handover is None:
        return way
    wanted = facts.handover / FLOW_TEST_OVER_PEAK.si
    if wanted <= demand.peak.si:
        return way
    wider = demand.model_copy(update={"peak": demand.peak.with_si(wanted, demand.peak.text)})
    return replace(way, station=way.station.model_copy(update={"demand": wider}))


def _bounded(station: Station, view: View, removed: set[str]) -> Station:
    return station.model_copy(update={"line": tuple(_left(view.station.line, removed))})


def _left(line: tuple[LinePart, ...], removed: set[str]) -> Iterator[LinePart]:
    for part in line:
        if isinstance(part, Parallel):
            branches = tuple(
                branch.model_copy(update={"line": tuple(_left(branch.line, removed))})
                if branch.role != "manual bypass"
                else branch
                for branch in part.branches
            )
            yield part.model_copy(update={"branches": branches})
        elif part.id not in removed:
            yield part


def branch_of(line: tuple[LinePart, ...], branch_id: str) -> Branch:
    """Return a branch of any depth by its id.

    Raises
    ------
    KeyError
        No such branch.
    """
    for part in flat(line):
        if isinstance(part, Parallel):
            for branch in part.branches:
                if branch.id == branch_id:
                    return branch
    raise KeyError(branch_id)


def _beside(branch: Branch, up: IsolatingValve, down: IsolatingValve) -> Beside:
    parts = flat(branch.line)
    ids = [part.id for part in parts]
    between = parts[ids.index(up.id) : ids.index(down.id)]
    openings: list[Drain | Tap] = [part for part in between if isinstance(part, Drain)]
    openings += [part for part in between if isinstance(part, Tap)]
    shut_offs = [part for part in parts if isinstance(part, ShutOff)]
    return Beside(
        branch=branch.id,
        role=branch.role,
        locked_shut=bool(branch.locked_shut),
        up=up,
        down=down,
        opening=openings[0] if openings else None,
        seen=tuple(part for part in shut_offs if part.senses not in ids),
        valves=tuple(part.id for part in parts if isinstance(part, Reducer | ShutOff)),
    )

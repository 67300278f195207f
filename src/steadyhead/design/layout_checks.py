"""Findings about the layout: sensing, isolating, draining, closing, common causes."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.design.basis import Basis
from steadyhead.design.relief_checks import relief_layout
from steadyhead.design.report import ASK, HEED, NOTE, STOP, finding, flow
from steadyhead.design.ways import own_parts
from steadyhead.findings import Finding
from steadyhead.records.parts import IsolatingValve, LinePart, Reducer, ShutOff, flat
from steadyhead.station.layout import CHAINS, COVERED, Section, carries_fire_water
from steadyhead.station.streams import views


def layout_findings(basis: Basis) -> Iterator[Finding]:
    """Yield everything the layout itself tells, whether or not it is covered."""
    if not is_covered(basis):
        yield finding("LAY-01", "line", STOP, got=_what_it_is(basis))
    yield from _sensing(basis)
    yield from _isolating(basis)
    yield from _draining(basis)
    yield from _bypasses(basis)
    yield from _sections(basis)
    yield from relief_layout(basis)
    yield from _shared_tap(basis)
    yield from _fire_denied(basis)
    if basis.station.station.kind == "fire main" and not basis.layout.shut_offs:
        yield finding("LAY-43", "station.fire_water", ASK)
    for shut_off in basis.layout.shut_offs:
        yield from _shut_off(basis, shut_off)
        yield from _consumers(basis, shut_off)
    if basis.layout.shut_offs and not basis.station.equipment.hand_pump:
        yield finding("LAY-24", "equipment.hand_pump", NOTE)


def is_covered(basis: Basis) -> bool:
    """Return whether ladder and sizing can be worked out; of several streams each way is asked apart."""
    code = basis.layout.code
    return code in CHAINS or (code in COVERED and len(views(basis.station)) > 1)


def senses_well(basis: Basis) -> bool:
    """Return whether every pilot senses a tap the twin can work with."""
    return not any(f.code in ("LAY-02", "LAY-04") for f in _sensing(basis))


def _what_it_is(basis: Basis) -> str:
    reducers, shut_offs = len(basis.layout.reducers), len(basis.layout.shut_offs)
    parts = f"{_count(reducers, 'reducer')}, {_count(shut_offs, 'shut-off')} on the main way"
    return f"{parts}, or more than one main way"


def _shared_tap(basis: Basis) -> Iterator[Finding]:
    """Yield that a worker and its monitor hang on one tap."""
    monitor = basis.monitor
    if monitor is not None and monitor.senses == basis.worker.senses:
        yield finding(
            "LAY-40",
            basis.part_place(monitor.id, "senses"),
            HEED,
            monitor=monitor.id,
            worker=basis.worker.id,
            tap=monitor.senses,
        )


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _sensing(basis: Basis) -> Iterator[Finding]:
    at = basis.layout.position
    for reducer in basis.layout.reducers:
        tap = reducer.senses
        where = basis.part_place(reducer.id, "senses")
        if at(tap) < at(reducer.id):
            yield finding("LAY-04", where, STOP, reducer=reducer.id, tap=tap)
            continue
        for shut_off in basis.layout.shut_offs:
            if at(reducer.id) < at(shut_off.id) < at(tap):
                yield finding("LAY-03", where, ASK, reducer=reducer.id, tap=tap, shut_off=shut_off.id)
        valves = [p.id for p in basis.layout.main if isinstance(p, IsolatingValve)]
        for valve in [one for one in valves if at(reducer.id) < at(one) < at(tap)][:1]:
            yield finding("LAY-42", where, HEED, reducer=reducer.id, tap=tap, valve=valve)
    for shut_off in basis.layout.shut_offs:
        yield from _shut_off_senses(basis, shut_off)


def _shut_off_senses(basis: Basis, shut_off: ShutOff) -> Iterator[Finding]:
    at, tap = basis.layout.position, shut_off.senses
    where = basis.part_place(shut_off.id, "senses")
    last = max((at(p.id) for p in (*basis.layout.reducers, *basis.layout.shut_offs)), default=-1)
    first = min((at(p.id) for p in (*basis.layout.reducers, *basis.layout.shut_offs)), default=-1)
    if at(tap) < 0:
        where_it_is = "on another stream"
        yield finding("LAY-02", where, STOP, shut_off=shut_off.id, tap=tap, where=where_it_is)
    elif at(tap) < first:
        yield finding("LAY-02", where, STOP, shut_off=shut_off.id, tap=tap, where="on the inlet")
    elif at(tap) < last:
        yield finding("LAY-02", where, STOP, shut_off=shut_off.id, tap=tap, where="between the valves")
    outlet = _outlet_valve(basis)
    if outlet is not None and at(tap) > at(outlet.id):
        yield finding("LAY-05", where, HEED, shut_off=shut_off.id, tap=tap, valve=outlet.id)


def _outlet_valve(basis: Basis) -> IsolatingValve | None:
    """Return the valve that isolates the consumers: of several streams the one behind their joint."""
    if basis.view is None:
        return basis.layout.outlet_valve
    behind = _behind(basis)
    return next((part for part in reversed(behind) if isinstance(part, IsolatingValve)), None)


def _behind(basis: Basis) -> tuple[LinePart, ...]:
    """Return the parts behind the last reducer or shut-off."""
    main = basis.layout.main
    last = max((i for i, part in enumerate(main) if isinstance(part, Reducer | ShutOff)), default=-1)
    return main[last + 1 :]


def _isolating(basis: Basis) -> Iterator[Finding]:
    layout = basis.layout
    if layout.inlet_valve is None:
        yield finding("LAY-08", "line", STOP if layout.shut_offs else HEED)
    if layout.outlet_valve is None:
        yield finding("LAY-09", "line", HEED)
    for valve in (layout.inlet_valve, layout.outlet_valve):
        if isinstance(valve, IsolatingValve) and valve.tight != "yes":
            code, weight = ("LAY-18", HEED) if valve.tight == "no" else ("LAY-19", NOTE)
            yield finding(code, basis.part_place(valve.id, "tight"), weight, valve=valve.id)
    if layout.strainer is None and (layout.reducers or layout.shut_offs):
        yield finding("LAY-30", "line", HEED)


def _draining(basis: Basis) -> Iterator[Finding]:
    layout = basis.layout
    ends = [s for s in layout.sections if s.name == "outlet"]
    ends = ends or [s for s in layout.sections if s.name == "consumer"][:1]
    if layout.reducers and not any(section.drains for section in ends):
        yield finding("LAY-06", "line", STOP if layout.shut_offs else HEED)
    for section in layout.sections:
        if not section.name.startswith("between") or section.drains or not _needs_own(basis, section):
            continue
        if basis.view is None or not any(one.drains for one in _joined(basis, section)):
            weight = STOP if layout.shut_offs else HEED
            yield finding("LAY-07", "line", weight, above=section.above, below=section.below)


def _needs_own(basis: Basis, section: Section) -> bool:
    """Return whether a section between valves holds pressure that only a drain of its own lets go."""
    layout, shut_off = basis.layout, basis.layout.shut_off
    if layout.pairing == "staged":
        first = layout.position(layout.reducers[0].id)
        return layout.position(section.above) >= first
    if layout.pairing == "monitor":
        return shut_off is not None and section.below == shut_off.id and layout.shut_off_place == "downstream"
    return layout.shut_off_place == "downstream"


def _sections(basis: Basis) -> Iterator[Finding]:
    for section in basis.layout.sections:
        if section.name in ("supply", "consumer") or section.taps:
            continue
        if section.name == "inlet" and any(s.taps for s in basis.layout.sections if s.name == "inlet"):
            continue
        if basis.view is not None and any(one.taps for one in _joined(basis, section)):
            continue
        yield finding(
            "LAY-29",
            "line",
            HEED,
            section=f"{section.name}, {section.above or 'start'} to {section.below or 'end'}",
        )


def _joined(basis: Basis, section: Section) -> list[Section]:
    """Return the sections that open isolating valves join to one, from one active valve to the next."""
    active = {part.id for part in (*basis.layout.reducers, *basis.layout.shut_offs)}
    run: list[Section] = []
    for one in basis.layout.sections:
        if one.above in active:
            run = []
        if one.name not in ("supply", "consumer"):
            run.append(one)
        if one.below in active and section in run:
            break
    return run if section in run else [section]


def _bypasses(basis: Basis) -> Iterator[Finding]:
    for group, branch in basis.layout.bypasses:
        where = basis.part_place(branch.id, "locked_shut")
        if not branch.locked_shut:
            yield finding("LAY-20", where, ASK, branch=branch.id)
        elif carries_fire_water(basis.station):
            yield finding("LAY-39", where, NOTE, branch=branch.id)
        around = [p for other in group.branches if other.role != "manual bypass" for p in flat(other.line)]
        for shut_off in around:
            if isinstance(shut_off, ShutOff):
                yield finding(
                    "LAY-21", basis.part_place(branch.id), HEED, branch=branch.id, shut_off=shut_off.id
                )


def _shut_off(basis: Basis, shut_off: ShutOff) -> Iterator[Finding]:
    def at(field: str) -> str:
        return basis.part_place(shut_off.id, field)

    name = shut_off.id
    if shut_off.sensing_tap == "shared with reducer":
        yield finding("LAY-10", at("sensing_tap"), HEED, shut_off=name)
    if shut_off.sensing_tap == "not known":
        yield finding("LAY-11", at("sensing_tap"), ASK, shut_off=name)
    if shut_off.closes_by == "line pressure":
        yield finding("LAY-12", at("closes_by"), NOTE, shut_off=name)
    if shut_off.closes_by == "not known":
        yield finding("LAY-13", at("closes_by"), ASK, shut_off=name)
    if shut_off.closes_by in ("line pressure", "not known") and basis.layout.shut_off_place == "downstream":
        yield from _closing_medium(shut_off, at("closing_medium"))
    if "shared filter" in (shut_off.chamber_feed, *(r.chamber_feed for r in basis.layout.reducers)):
        yield finding("LAY-17", at("chamber_feed"), HEED, shut_off=name)
    if shut_off.limit_switch is None:
        yield finding("LAY-22", at("limit_switch"), HEED, shut_off=name)
    elif shut_off.limit_switch.kind == "reaches closed":
        yield finding("LAY-23", at("limit_switch"), NOTE, shut_off=name)
    if shut_off.resets == "by itself":
        yield finding("LAY-25", at("resets"), HEED, shut_off=name)
    if shut_off.tell_tale in ("none", "not known"):
        yield finding("LAY-28", at("tell_tale"), NOTE, shut_off=name, tell_tale=shut_off.tell_tale)
    if shut_off.live_trip == "not allowed":
        yield finding("LAY-31", at("live_trip"), NOTE, shut_off=name)


def _closing_medium(shut_off: ShutOff, where: str) -> Iterator[Finding]:
    code, weight = {
        "station inlet": ("LAY-14", HEED),
        "not known": ("LAY-15", ASK),
        "own inlet": ("LAY-16", NOTE),
    }[shut_off.closing_medium]
    yield finding(code, where, weight, shut_off=shut_off.id)


def _fire_denied(basis: Basis) -> Iterator[Finding]:
    """Yield that the file denies fire water and states a fire flow."""
    place, fire = basis.station.station, basis.station.demand.fire
    denied = "fire_water" in place.model_fields_set and not place.fire_water
    if denied and fire is not None and fire.si > 0.0:
        yield finding("LAY-41", "station.fire_water", ASK, value=flow(fire.si))


def _consumers(basis: Basis, shut_off: ShutOff) -> Iterator[Finding]:
    station = basis.station
    if carries_fire_water(station):
        yield finding("LAY-26", "station.fire_water", ASK, shut_off=shut_off.id)
    taken_over = basis.leading is not None and shut_off.id in own_parts(basis)
    if station.station.sensitive_consumers and not station.zone.other_feed and not taken_over:
        yield finding(
            "LAY-27",
            "station.sensitive_consumers",
            HEED,
            shut_off=shut_off.id,
            consumers=station.station.sensitive_consumers,
        )

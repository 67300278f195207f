"""May this station be tested as it stands, and by which method? Judged before any step is written."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from steadyhead.design.defaults import SPRING_REACH
from steadyhead.errors import StationError
from steadyhead.findings import Amount, Finding, Input, Severity
from steadyhead.findings.model import Parameter
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.quantities import STANDARD_ATMOSPHERE_PA
from steadyhead.records.station import Station
from steadyhead.records.values import Value
from steadyhead.station.elevation import to_datum
from steadyhead.station.layout import CHAINS, Layout, carries_fire_water, read_layout
from steadyhead.visits import spans
from steadyhead.visits.defaults import LIVE_HEADROOM, MONITOR_REACH
from steadyhead.visits.drains import outlet_drain
from steadyhead.visits.facts import Facts, read_facts
from steadyhead.visits.openings import trip_above_rating
from steadyhead.visits.questions import tap_of_role
from steadyhead.visits.reliefs import lifts_first, lifts_late, stands_in
from steadyhead.water import properties

STOP, ASK, HEED, NOTE = Severity.STOP, Severity.ASK, Severity.HEED, Severity.NOTE


class Refused(StationError):
    """No plan: the station cannot be tested as it stands; the findings say why and what would mend it.

    Parameters
    ----------
    findings
        All findings of the plan; at least one of them stops it.
    """

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        self.findings = findings
        codes = ", ".join(f.code for f in findings if f.severity is STOP)
        super().__init__(f"No plan for this station: {codes}. Each finding names the remedy.")


@dataclass(frozen=True, slots=True)
class Feasibility:
    """What a plan of this station would rest on.

    facts: what the steps need, None where the plan is refused; findings: everything to be told, stops first.
    """

    facts: Facts | None
    findings: tuple[Finding, ...]


def feasibility(station: Station) -> Feasibility:
    """Return whether a plan can be written for a station, by which method, and what must be told.

    The trip is proved by raising the line where consumers can be cut off, the inlet and the reducer's spring
    reach beyond the trip, the outlet section bears it, the shut-off senses the section that is raised, and it
    is allowed; else by injection.
    """
    layout = read_layout(station)
    stops = list(_stops(station, layout))
    against = () if stops else tuple(_against_raising(station, layout))
    if against and not station.equipment.hand_pump:
        stops.append(_finding("PLAN-10", "equipment.hand_pump", STOP))
    told = [*stops, *against]
    if not stops:
        told += _heeds(station, layout, is_live=not against)
    if stops:
        return Feasibility(None, tuple(told))
    return Feasibility(read_facts(station, is_live=layout.shut_off is not None and not against), tuple(told))


def past_due(station: Station, day: date | None) -> tuple[Finding, ...]:
    """Return a finding for each gauge whose calibration has run out on a day; none where no day is given.

    A date that is not written as year-month-day is printed and not judged.
    """
    if day is None:
        return ()
    return tuple(
        _finding("PLAN-35", gauge.id, HEED, gauge=gauge.id, due=gauge.due)
        for gauge in station.gauges
        if _has_passed(gauge.due, day)
    )


def _has_passed(due: str, day: date) -> bool:
    try:
        return date.fromisoformat(due.strip()) < day
    except ValueError:
        return False


def _finding(code: str, subject: str, severity: Severity, **params: Parameter) -> Finding:
    return Finding(code, subject, severity, params=params)


def _stops(station: Station, layout: Layout) -> Iterator[Finding]:
    if layout.code not in CHAINS:
        yield _finding("PLAN-01", "line", STOP)
        return
    yield from _missing_parts(layout)
    yield from _sensing(layout)
    shut_off = layout.shut_off
    if shut_off is not None and shut_off.trip is None:
        yield _finding("PLAN-07", f"{shut_off.id}: trip", STOP, shut_off=shut_off.id)
    if layout.shut_off_place == "downstream":
        yield from _between_rating(station)
    yield from _monitoring(layout)


def _missing_parts(layout: Layout) -> Iterator[Finding]:
    if outlet_drain(layout) is None:
        yield _finding("PLAN-02", "line", STOP)
    held = spans.held(layout).values()
    if any(span.drain is None for span in held):
        yield _finding("PLAN-03", "line", STOP)
    if layout.inlet_valve is None:
        yield _finding("PLAN-04", "line", STOP, side="inlet")
    if layout.outlet_valve is None:
        yield _finding("PLAN-04", "line", STOP, side="outlet")
    taps = tap_of_role(layout)
    for role in (*(span.role for span in held), "T3"):
        if role not in taps:
            yield _finding("PLAN-05", "line", STOP, role=role)


def _sensing(layout: Layout) -> Iterator[Finding]:
    for reducer in layout.reducers:
        holds = layout.reducers[-1] if spans.monitored(layout) else reducer
        section = layout.section_of(reducer.senses)
        own = layout.section_below(holds.id)
        fine = section is not None and own is not None and section.name == own.name
        if not fine and not _sees_through(layout, holds.id, reducer.senses):
            yield _finding("PLAN-08", f"{reducer.id}: senses", STOP, reducer=reducer.id, tap=reducer.senses)
    shut_off = layout.shut_off
    if shut_off is None:
        return
    section = layout.section_of(shut_off.senses)
    if section is None or section.name not in ("outlet", "consumer"):
        where = (
            "between the valves"
            if section is not None and section.name.startswith("between")
            else "on the inlet"
        )
        yield _finding(
            "PLAN-06", f"{shut_off.id}: senses", STOP, shut_off=shut_off.id, tap=shut_off.senses, where=where
        )


def _monitoring(layout: Layout) -> Iterator[Finding]:
    """Yield what keeps a monitor from being proved: settings that do not differ, a spring too short."""
    watching = spans.monitor(layout)
    if watching is None:
        return
    worker = spans.worker(layout)
    wanted = watching.duty.pressure
    if wanted.si <= worker.duty.pressure.si:
        yield _finding("PLAN-39", "line", STOP, monitor=watching.id, reducer=worker.id)
        return
    top = worker.pilot.spring_high
    reach = MONITOR_REACH.si * wanted.si
    if top.si < reach:
        yield Finding(
            "PLAN-40",
            f"{worker.id}: pilot: spring_high",
            STOP,
            params={"reducer": worker.id, "monitor": watching.id},
            value=Amount("pressure", top.si),
            limit=Amount("pressure", reach),
            margin=Amount("pressure", top.si - reach),
            inputs=(Input("monitor", Amount("pressure", wanted.si), wanted.provenance),),
        )


def _sees_through(layout: Layout, reducer_id: str, tap: str) -> bool:
    """Return whether only open isolating valves lie between the last reducer and the tap it senses."""
    at = layout.position(tap)
    later = [
        valve
        for valve in (*layout.reducers, *layout.shut_offs)
        if layout.position(valve.id) > layout.position(reducer_id)
    ]
    return at > layout.position(reducer_id) and not any(layout.position(valve.id) < at for valve in later)


def _between_rating(station: Station) -> Iterator[Finding]:
    static = _at_datum(station, station.supply.static, station.supply.level)
    for limit in station.limits:
        rated = limit.fault or limit.normal
        if limit.side != "between" or rated is None:
            continue
        bears = _at_datum(station, rated, limit.level, limit.derating.si if limit.derating else 1.0)
        if bears < static:
            yield Finding(
                "PLAN-09",
                f"limits: {limit.component}",
                STOP,
                params={"component": limit.component},
                value=Amount("pressure", bears),
                limit=Amount("pressure", static),
                margin=Amount("pressure", bears - static),
                inputs=(Input("rating", Amount("pressure", rated.si), rated.provenance),),
            )


def _at_datum(station: Station, pressure: Value, level: Value | None, share: float = 1.0) -> float:
    local = pressure.si * share
    if level is None:
        return local
    density = properties(station.water.temperature.si, STANDARD_ATMOSPHERE_PA).density
    return to_datum(local, level=level.si, datum=station.station.datum.si, density=density)


def _against_raising(station: Station, layout: Layout) -> Iterator[Finding]:
    shut_off = layout.shut_off
    if shut_off is None or shut_off.trip is None:
        return
    trip = shut_off.trip
    lowest = _at_datum(station, station.supply.min, station.supply.level)
    if lowest < trip.si + LIVE_HEADROOM.si:
        yield _compared("PLAN-11", "supply.min", lowest, trip.si + LIVE_HEADROOM.si, station.supply.min, trip)
    if (span := spans.stage(layout)) is not None:
        first = next(r for r in layout.reducers if r.id == span.above)
        stage, asked = first.duty.pressure, trip.si + LIVE_HEADROOM.si
        if stage.si < asked:
            subject = f"{first.id}: duty: pressure"
            yield _compared("PLAN-41", subject, stage.si, asked, stage, trip, reducer=first.id)
    for reducer in (spans.worker(layout), spans.monitor(layout)):
        if reducer is None:
            continue
        top, wanted = reducer.pilot.spring_high, SPRING_REACH.si * trip.si
        if top.si < wanted:
            subject = f"{reducer.id}: pilot: spring_high"
            yield _compared("PLAN-12", subject, top.si, wanted, top, trip, reducer=reducer.id)
    yield from _reliefs_in_the_way(layout, shut_off)
    outlet = layout.outlet_valve
    if outlet is not None and outlet.tight == "no":
        yield _finding("PLAN-13", f"{outlet.id}: tight", HEED, valve=outlet.id)
    if shut_off.live_trip == "not allowed":
        yield _finding("PLAN-14", f"{shut_off.id}: live_trip", HEED, shut_off=shut_off.id)
    yield from _outlet_rating(station)
    section = layout.section_of(shut_off.senses)
    if section is not None and section.name == "consumer":
        yield _finding("PLAN-15", f"{shut_off.id}: senses", HEED, shut_off=shut_off.id, tap=shut_off.senses)


def _reliefs_in_the_way(layout: Layout, shut_off: ShutOff) -> Iterator[Finding]:
    """Yield the relief valves that lift before the trip and cannot be shut off for its proof."""
    for relief in lifts_first(layout):
        if relief.cock != "yes":
            severity = ASK if relief.cock == "not known" else HEED
            params = {"relief": relief.id, "shut_off": shut_off.id}
            yield Finding(
                "PLAN-36", f"{relief.id}: cock", severity, params=params,
                value=Amount("pressure", relief.crack.si),
            )  # fmt: skip


def _outlet_rating(station: Station) -> Iterator[Finding]:
    over = trip_above_rating(station)
    if over is not None:
        yield Finding(
            "PLAN-32",
            f"limits: {over.component}",
            HEED,
            params={"component": over.component},
            value=Amount("pressure", over.rating),
            limit=Amount("pressure", over.edge),
            margin=Amount("pressure", over.rating - over.edge),
        )


def _compared(
    code: str, subject: str, got: float, wanted: float, value: Value, trip: Value, **params: Parameter
) -> Finding:
    return Finding(
        code,
        subject,
        HEED,
        params=params,
        value=Amount("pressure", got),
        limit=Amount("pressure", wanted),
        margin=Amount("pressure", got - wanted),
        inputs=(
            Input(subject, Amount("pressure", value.si), value.provenance),
            Input("trip", Amount("pressure", trip.si), trip.provenance),
        ),
    )


def _heeds(station: Station, layout: Layout, *, is_live: bool) -> Iterator[Finding]:
    shut_off = layout.shut_off
    if shut_off is None:
        yield from _without_shut_off(layout)
    yield from _reliefs(layout)
    if shut_off is not None:
        yield from _shut_off_heeds(shut_off, is_live=is_live)
    outlet = layout.outlet_valve
    if outlet is not None and outlet.tight == "no":
        yield _finding("PLAN-22", f"{outlet.id}: tight", HEED, valve=outlet.id)
        if (watching := spans.monitor(layout)) is not None:
            yield _finding("PLAN-44", f"{outlet.id}: tight", HEED, valve=outlet.id, monitor=watching.id)
        for relief in (*lifts_first(layout), *stands_in(layout)):
            yield _finding("PLAN-45", f"{outlet.id}: tight", HEED, valve=outlet.id, relief=relief.id)
        if station.alarm is not None and not station.equipment.hand_pump:
            yield _finding("PLAN-31", "alarm", HEED, valve=outlet.id)
    if not any(part.part == "flow_meter" for part in layout.main):
        yield _finding("PLAN-23", "line", HEED)
    if outlet is not None and outlet.tight != "no" and not station.equipment.hand_pump:
        yield _finding("PLAN-24", "equipment.hand_pump", HEED)
    if not station.zone.other_feed:
        yield _finding("PLAN-25", "zone.other_feed", HEED)
    if carries_fire_water(station):
        yield _fire(station, ask=shut_off is not None)
    yield from _inlet_side(layout)
    pilots: tuple[Reducer | ShutOff, ...] = (*layout.reducers, *layout.shut_offs)
    for valve in pilots:
        if valve.pilot.raises is None:
            yield _finding("PLAN-27", f"{valve.id}: pilot: raises", HEED, valve=valve.id)
    if layout.shut_off_place == "downstream" and not any(limit.side == "between" for limit in station.limits):
        yield _finding("PLAN-28", "limits", HEED)


def _without_shut_off(layout: Layout) -> Iterator[Finding]:
    """Yield what protects the consumers where no shut-off does."""
    if stands_in(layout):
        for relief in stands_in(layout):
            yield Finding(
                "PLAN-42", f"{relief.id}: crack", HEED, params={"relief": relief.id},
                value=Amount("pressure", relief.crack.si),
            )  # fmt: skip
    elif (watching := spans.monitor(layout)) is not None:
        worker = spans.worker(layout)
        shared = watching.senses == worker.senses
        params = {
            "monitor": watching.id,
            "sensing": f"Both sense {watching.senses}."
            if shared
            else f"{watching.id} senses {watching.senses}, {worker.id} senses {worker.senses}.",
            "blind": "One tap or cock shut blinds both, and both open."
            if shared
            else f"A shut cock at {watching.senses} goes unseen until {watching.id} is needed.",
        }
        yield Finding("PLAN-43", f"{watching.id}: senses", HEED, params=params)
    elif spans.staged(layout):
        yield _finding("PLAN-18", "line", HEED)
    else:
        yield _finding("PLAN-17", "line", HEED)


def _reliefs(layout: Layout) -> Iterator[Finding]:
    """Yield the relief valves that no step of the plan raises to their crack."""
    shut_off = layout.shut_off
    for relief in lifts_late(layout):
        trip = shut_off.trip if shut_off is not None else None
        yield Finding(
            "PLAN-37", f"{relief.id}: crack", HEED,
            params={"relief": relief.id, "shut_off": shut_off.id if shut_off is not None else ""},
            value=Amount("pressure", relief.crack.si),
            limit=Amount("pressure", trip.si) if trip is not None else None,
        )  # fmt: skip
    on_outlet = spans.reliefs(layout)
    for relief in layout.reliefs:
        if relief not in on_outlet:
            yield _finding("PLAN-38", relief.id, HEED, relief=relief.id)


def _fire(station: Station, *, ask: bool) -> Finding:
    """Return that fire water passes: a question where a shut-off may take it, a heed for a fire demand."""
    stated = station.station.fire_water or station.station.kind == "fire main"
    subject = "station.fire_water" if stated else "demand.fire"
    return _finding("PLAN-26", subject, ASK if ask and stated else HEED)


def _inlet_side(layout: Layout) -> Iterator[Finding]:
    inlet = layout.inlet_valve
    if inlet is not None and inlet.tight == "no":
        yield _finding("PLAN-33", f"{inlet.id}: tight", HEED, valve=inlet.id)
    if not any(section.drains for section in layout.sections if section.name == "inlet"):
        yield _finding("PLAN-34", "line", NOTE)


def _shut_off_heeds(shut_off: ShutOff, *, is_live: bool) -> Iterator[Finding]:
    if shut_off.limit_switch is None:
        yield _finding("PLAN-16", f"{shut_off.id}: limit_switch", HEED, shut_off=shut_off.id)
    if shut_off.sensing_tap != "own":
        word = "shares" if shut_off.sensing_tap == "shared with reducer" else "may share"
        yield _finding("PLAN-19", f"{shut_off.id}: sensing_tap", HEED, shut_off=shut_off.id, shares=word)
    if is_live and shut_off.tell_tale in ("none", "not known"):
        yield _finding("PLAN-20", f"{shut_off.id}: tell_tale", HEED, shut_off=shut_off.id)
    if shut_off.closes_by == "not known":
        yield _finding("PLAN-21", f"{shut_off.id}: closes_by", HEED, shut_off=shut_off.id)

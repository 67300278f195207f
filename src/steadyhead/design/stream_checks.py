"""Findings about streams beside each other: stagger of the trips, who carries, who leads, who fights."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from steadyhead.design import defaults as d
from steadyhead.design import tolerances as tol
from steadyhead.design.basis import Basis
from steadyhead.design.ladder import chosen, combined
from steadyhead.design.report import ASK, HEED, NOTE, STOP, finding, flow, from_part, from_value, pressure
from steadyhead.design.rungs import Rungs
from steadyhead.design.stagger import is_sure, least_apart
from steadyhead.design.ways import in_service, own_parts
from steadyhead.findings import Finding, Input
from steadyhead.records.design import Handover, ReducerSizing
from steadyhead.records.ladder import Contribution
from steadyhead.records.parts import CheckValve, ShutOff


@dataclass(frozen=True, slots=True)
class Way:
    """One way through a station with its ladder."""

    basis: Basis
    rungs: Rungs

    @property
    def role(self) -> str:
        """What it is for."""
        return "" if self.basis.view is None else self.basis.view.role

    @property
    def own_shut_off(self) -> ShutOff | None:
        """Its shut-off, where no other way passes it."""
        shut_off, view = self.basis.layout.shut_off, self.basis.view
        return shut_off if shut_off is not None and view is not None and self._alone(shut_off.id) else None

    def _alone(self, part_id: str) -> bool:
        return part_id in own_parts(self.basis)

    @property
    def serves(self) -> bool:
        """Whether it stands in service."""
        view, whole = self.basis.view, self.basis.whole
        return view is None or whole is None or in_service(whole, view)


def cut_off_by_check_valve(basis: Basis, tap: str) -> bool:
    """Return whether a check valve of the stream keeps the common outlet's pressure from a tap."""
    at, own = basis.layout.position, own_parts(basis)
    return any(
        isinstance(part, CheckValve) and part.id in own and at(part.id) > at(tap)
        for part in basis.layout.main
    )


def stream_findings(
    ways: tuple[Way, ...], handed: tuple[Handover, ...], sized: tuple[ReducerSizing, ...]
) -> Iterator[Finding]:
    """Yield the findings about ways beside each other; nothing for a station of one way.

    Parameters
    ----------
    ways
        In the order of `steadyhead.station.streams.views`.
    handed
        Handover flows of the whole station.
    sized
        Sizing of all reducers.
    """
    serving = [way for way in ways if way.serves and way.basis.view is not None]
    for first, second in combinations(serving, 2):
        yield from _stagger(first, second)
    for way in serving:
        for other in serving:
            if way is other:
                continue
            if way.role == "standby" and other.role in ("duty", "main"):
                yield from _standby(way, other)
            if way.role == "low flow" and other.role in ("duty", "main"):
                yield from _leads(way, other)
                yield from _starts(other, handed, sized)
        yield from _reopens(way, serving)
        if way.basis.is_low_flow and way.basis.layout.shut_off is None:
            yield from _low_flow_open(way)


def _scatter(way: Way, shut_off: ShutOff, trip: float) -> tuple[Contribution, ...]:
    """Return what moves one trip against another: without the gauge where one gauge sets both."""
    moves = tol.trip_tolerances(way.basis, shut_off, trip)
    same = way.basis.station.tolerances.same_gauge
    return tuple(part for part in moves if not (same and part.label == tol.GAUGE))


def _whose(way: Way, shut_off: ShutOff, trip: float) -> Iterator[Input]:
    """Yield a trip and what moves it, each with the shut-off it belongs to."""
    if shut_off.trip is not None:
        yield from_value(f"trip of {shut_off.id}", shut_off.trip)
    for part in _scatter(way, shut_off, trip):
        yield Input(f"{part.label} of {shut_off.id}", pressure(part.size), part.provenance)


def _stagger(first: Way, second: Way) -> Iterator[Finding]:
    """Yield whether a failing stream may trip the healthy one, or take it along."""
    one, other = first.own_shut_off, second.own_shut_off
    if one is None or other is None or one.trip is None or other.trip is None:
        return
    pair = sorted(((one.trip.si, first, one), (other.trip.si, second, other)), key=lambda item: item[0])
    (low, low_way, low_valve), (high, high_way, high_valve) = pair
    where = low_way.basis.part_place(low_valve.id, "trip")
    apart = [w for w, v in ((low_way, low_valve), (high_way, high_valve)) if _is_apart(w, v)]
    scatter = (*_scatter(low_way, low_valve, low), *_scatter(high_way, high_valve, high))
    worst, likely = (combined(scatter, way) for way in ("worst case", "root-sum-square"))
    least = least_apart(low_way.basis.station, low_valve, high_valve)
    if (high - low < worst or not is_sure(least)) and high_way not in apart:
        yield finding(
            "LAD-43",
            where,
            HEED if is_sure(least) else ASK,
            value=pressure(high - low),
            limit=pressure(worst),
            first=low_valve.id,
            second=high_valve.id,
            low=pressure(low),
            high=pressure(high),
            failing=low_way.basis.worker.id,
            worst=pressure(worst),
            likely=pressure(likely),
            least=pressure(least) if least > 0.0 else "none",
            inputs=(
                *_whose(low_way, low_valve, low),
                *_whose(high_way, high_valve, high),
            ),
            upper=False,
        )
    if low_way not in apart:
        yield finding(
            "LAD-44",
            where,
            ASK if low_way.role == "standby" and high_way.role in ("duty", "main") else HEED,
            first=low_valve.id,
            second=high_valve.id,
            low=pressure(low),
            high=pressure(high),
            order="trips before" if high > low else "may trip before",
            failing=high_way.basis.worker.id,
            stagger="The stagger saves the zone from one stream's failure, not from the other's."
            if high > low
            else "Their trips are equal: no stagger saves the zone from the failure of either stream.",
        )


def _is_apart(way: Way, shut_off: ShutOff) -> bool:
    return cut_off_by_check_valve(way.basis, shut_off.senses)


def _standby(way: Way, duty: Way) -> Iterator[Finding]:
    """Yield whether the standby stream is set low enough to stay shut while the duty stream carries."""
    standby, leading = way.basis.worker, duty.basis.worker
    repeat = tol.reducer_moves(leading, duty.rungs.ladder.inputs.lockup)[0]
    droop = max(duty.rungs.droop or 0.0, 0.0)
    gap = leading.duty.pressure.si - standby.duty.pressure.si
    if gap >= repeat.size + droop:
        return
    yield finding(
        "LAD-45",
        way.basis.part_place(standby.id, "duty"),
        HEED,
        value=pressure(gap),
        limit=pressure(repeat.size + droop),
        standby=standby.id,
        duty=leading.id,
        inputs=(
            from_value(f"duty_pressure of {leading.id}", leading.duty.pressure),
            from_value(f"duty_pressure of {standby.id}", standby.duty.pressure),
            from_part(repeat),
            from_part(Contribution(tol.DROOP, droop, "twin, peak flow and lowest inlet")),
        ),
        upper=False,
    )


def _leads(low: Way, main: Way) -> Iterator[Finding]:
    """Yield whether the low-flow stream leads by more than the settings move."""
    small, large = low.basis.worker, main.basis.worker
    lead = small.duty.pressure.si - large.duty.pressure.si
    where = low.basis.part_place(small.id, "duty")
    moves = tuple(tol.reducer_moves(reducer, reducer.duty.pressure.si)[0] for reducer in (small, large))
    least = sum(part.size for part in moves)
    if abs(lead) < d.SAME_SETTING.si:
        code = "LAD-47"
    elif lead < 0.0:
        code = "LAD-48"
    elif lead < least:
        code = "LAD-46"
    else:
        return
    yield finding(
        code,
        where,
        HEED,
        value=pressure(lead),
        limit=pressure(least),
        low=small.id,
        main=large.id,
        low_set=pressure(small.duty.pressure.si),
        main_set=pressure(large.duty.pressure.si),
        inputs=(*map(from_part, moves),),
        upper=False,
    )


def _starts(main: Way, handed: tuple[Handover, ...], sized: tuple[ReducerSizing, ...]) -> Iterator[Finding]:
    """Yield whether the main reducer starts at a flow it can hold."""
    large = main.basis.worker
    size = next((one for one in sized if one.reducer == large.id), None)
    before: frozenset[str] = frozenset()
    for one in handed:
        starts = large.id in one.carry and large.id not in before and one.flow > 0.0
        before = frozenset(one.carry)
        if starts and size is not None and one.flow < size.lowest_flow_band[0]:
            yield finding(
                "LAD-76",
                main.basis.part_place(large.id),
                HEED,
                value=flow(one.flow),
                limit=flow(size.lowest_flow_band[0]),
                main=large.id,
                inputs=(from_value("share of its most", d.LOWEST_FLOW_LOW.value()),),
                case="typical inlet pressure",
                upper=False,
            )
    peak = main.basis.station.demand.peak
    if not any(large.id in one.carry and one.flow < peak.si for one in handed):
        yield finding(
            "LAD-77",
            main.basis.part_place(large.id),
            HEED,
            value=flow(peak.si),
            main=large.id,
            inputs=(from_value("peak flow", peak),),
            case="typical inlet pressure",
        )


def _reopens(way: Way, serving: list[Way]) -> Iterator[Finding]:
    """Yield where a shut-off that resets by itself reopens onto its failed reducer."""
    shut_off, reset = way.own_shut_off, way.rungs.ladder.inputs.reset
    if shut_off is None or reset is None:
        return
    for other in serving:
        holds = other.rungs.ladder.lowest_normal
        if other is not way and not other.basis.is_low_flow and holds < reset:
            yield finding(
                "LAD-51",
                way.basis.part_place(shut_off.id, "resets"),
                HEED,
                value=pressure(reset),
                limit=pressure(other.basis.worker.duty.pressure.si),
                shut_off=shut_off.id,
                other=other.basis.worker.id,
                reducer=way.basis.worker.id,
            )
            return


def _low_flow_open(way: Way) -> Iterator[Finding]:
    """Yield whether the outlet bears a low-flow reducer stuck open that no shut-off stops."""
    basis, ladder = way.basis, way.rungs.ladder
    worker, weakest = basis.worker, ladder.weakest_fault
    steady = basis.twin.failed_open(worker.id)
    if steady is None or weakest is None or weakest.fault_at_datum is None:
        return
    reaches = steady.taps.get(basis.outlet_tap)
    if reaches is None:
        return
    borne = reaches <= weakest.fault_at_datum
    yield finding(
        "LAD-50" if borne else "LAD-49",
        basis.part_place(worker.id),
        NOTE if borne else STOP,
        value=pressure(reaches),
        limit=pressure(weakest.fault_at_datum),
        low=worker.id,
        flow=flow(max(steady.valves[worker.id].flow, 0.0)),
        component=weakest.component,
        case=basis.stuck_open_case,
        inputs=(from_value("supply.static", basis.supply_at_datum("static")),),
    )


def narrowest(ways: tuple[Way, ...]) -> Way:
    """Return the way whose trip window is narrowest; the first where none is known."""
    known = [
        (stacking.width, index)
        for index, way in enumerate(ways)
        if (stacking := chosen(way.rungs.ladder, way.basis.station.stacking)).width is not None
    ]
    return ways[min(known)[1]] if known else ways[0]

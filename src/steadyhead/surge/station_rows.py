"""The parts of one way through a station as rows and sections of the transient engine."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from math import inf, nan, sqrt

from steadyhead.hydraulics.model import LEAST_RISE, Model
from steadyhead.records.parts import (
    CheckValve,
    Drain,
    ExpansionVessel,
    FlowMeter,
    IsolatingValve,
    LinePart,
    Parallel,
    Reducer,
    Relief,
    ShutOff,
    Strainer,
    Tap,
    flat,
)
from steadyhead.station import defaults as sd
from steadyhead.station.layout import ways_of
from steadyhead.station.mechanics import ShutOffTwin, ValveTwin, check_valve_kv, relief_full, relief_kv
from steadyhead.surge import defaults as d
from steadyhead.surge.needle import TimedStroke, integral_on_test
from steadyhead.surge.plan import (
    CheckRow,
    Curve,
    DirectReducerRow,
    Group,
    LossRow,
    Part,
    ReducerRow,
    ReliefValve,
    Row,
    Section,
    ShutOffRow,
    ValveBody,
    Water,
)

STANDS = (IsolatingValve, Strainer, FlowMeter, CheckValve, Reducer, ShutOff)


@dataclass(frozen=True, slots=True)
class StationRows:
    """What stands in the station, and where what the file names is found in it.

    Parameters
    ----------
    parts
        Rows and sections in walking order.
    section_of
        Section by id of each tap, drain and relief valve; taps at the ends of the station are missing.
    drains
        k of each drain fully open, by id. [m³/(s·√Pa)]
    vessels, vessels_ahead, vessels_between
        Expansion vessels behind the last valve, ahead of the first one, and between valves or within a stream
        ahead of its last valve.
    timed
        Shut-offs that a spring or weight drives: their stroke takes a time, whatever the pressures.
    """

    parts: tuple[Part, ...]
    section_of: Mapping[str, str]
    drains: Mapping[str, float]
    vessels: tuple[ExpansionVessel, ...]
    timed: tuple[str, ...]
    vessels_ahead: tuple[ExpansionVessel, ...] = ()
    vessels_between: tuple[ExpansionVessel, ...] = ()

    @property
    def sections(self) -> tuple[Section, ...]:
        """The sections in walking order, stream after stream."""
        found: list[Section] = []
        for part in self.parts:
            if isinstance(part, Group):
                found += [inner for branch in part.branches for inner in branch if isinstance(inner, Section)]
            elif isinstance(part, Section):
                found.append(part)
        return tuple(found)


@dataclass
class _Gap:
    """What lies between two rows."""

    before: str
    taps: list[str] = field(default_factory=list)
    drains: list[str] = field(default_factory=list)
    reliefs: list[Relief] = field(default_factory=list)

    @property
    def is_needed_at_an_end(self) -> bool:
        return bool(self.drains or self.reliefs)


def station_rows(model: Model, water: Water) -> StationRows:
    """Return rows and sections of a station.

    Manual bypasses are left out, shut; streams side by side are a group. Everything has the values of the
    steady twin: coefficients, lock-up pressures, bands, feeds. A shut-off is driven by line pressure unless a
    spring or a weight closes it.

    Parameters
    ----------
    model
        From `steadyhead.hydraulics.build`.
    water
        The water of the run.
    """
    found = _Rows(model, water)
    parts = found.of(model.station.line, "")
    parts = [_sensing(part, found) for part in parts]
    timed = tuple(s for s in found.shut_offs if found.shut_offs[s].closes_by in ("spring", "weight"))
    return StationRows(
        tuple(parts), found.section_of, found.drains, tuple(found.vessels), timed, tuple(found.ahead),
        tuple(found.between),
    )  # fmt: skip


class _Rows:
    """Rows and sections of a line as they are walked, with what is met on the way."""

    def __init__(self, model: Model, water: Water) -> None:
        self.model, self.water = model, water
        self.section_of: dict[str, str] = {}
        self.drains: dict[str, float] = {}
        self.vessels: list[ExpansionVessel] = []
        self.ahead: list[ExpansionVessel] = []
        self.between: list[ExpansionVessel] = []
        self.valves: dict[str, Reducer | ShutOff] = {}
        self.behind = ""

    @property
    def shut_offs(self) -> dict[str, ShutOff]:
        """The shut-offs met."""
        return {name: valve for name, valve in self.valves.items() if isinstance(valve, ShutOff)}

    def of(self, line: Iterable[LinePart], where: str) -> list[Part]:
        """Return the parts of a line; `where`: the group it is a branch of."""
        stands, gaps, vessels = _walked(flat_way(line))
        valves = [n for n, part in enumerate(stands) if isinstance(part, Reducer | ShutOff | Parallel)]
        for place, vessel in vessels:
            if not valves or place > valves[-1]:
                self.vessels.append(vessel)
            else:
                (self.ahead if place <= valves[0] and not where else self.between).append(vessel)
        felt = {valve.senses for valve in flat(tuple(stands)) if isinstance(valve, Reducer | ShutOff)}
        felt |= {part.senses for part in flat(self.model.station.line) if isinstance(part, Reducer | ShutOff)}
        parts: list[Part] = []
        for place, gap in enumerate(gaps):
            is_end = place in (0, len(gaps) - 1)
            if not is_end or gap.is_needed_at_an_end or felt & set(gap.taps):
                after = stands[place].id if place < len(stands) else f"{where}end"
                before = gap.before if place else f"{where}start"
                parts.append(self._section(gap, before, after, stands, place))
            if place < len(stands):
                parts.append(self._stands(stands[place]))
        return parts

    def _section(self, gap: _Gap, before: str, after: str, stands: list[LinePart], place: int) -> Section:
        name = next((tap for tap in gap.taps), f"{before}–{after}")
        beside = [stands[n] for n in (place - 1, place) if 0 <= n < len(stands)]
        section = Section(name, _volume(beside), relief=_relief(self.model, gap.reliefs))
        self.drains |= {drain: self.model.full[drain] for drain in gap.drains}
        named = [*gap.taps, *gap.drains, *(relief.id for relief in gap.reliefs)]
        self.section_of |= dict.fromkeys(named, name)
        self.behind = name
        return section

    def _stands(self, part: LinePart) -> Part:
        if isinstance(part, Parallel):
            branches = tuple(tuple(self.of(b.line, f"{part.id}/{b.id} ")) for b in ways_of(part))
            return Group(part.id, branches)
        if isinstance(part, Reducer | ShutOff):
            self.valves[part.id] = part
        return _row(self.model, self.water, part, self.behind)


def flat_way(line: Iterable[LinePart]) -> list[LinePart]:
    """Return the parts along a line, groups of one way taken in line, manual bypasses left out."""
    found: list[LinePart] = []
    for part in line:
        if isinstance(part, Parallel) and len(ways_of(part)) < 2:
            found += flat_way(ways_of(part)[0].line)
        else:
            found.append(part)
    return found


def way_through(line: Iterable[LinePart], part_id: str) -> list[LinePart]:
    """Return the parts along the one way through a line on which a part stands."""
    found: list[LinePart] = []
    for part in flat_way(line):
        if isinstance(part, Parallel):
            here = (b for b in ways_of(part) if any(inner.id == part_id for inner in flat(b.line)))
            found += way_through(next(here, ways_of(part)[0]).line, part_id)
        else:
            found.append(part)
    return found


def _walked(line: list[LinePart]) -> tuple[list[LinePart], list[_Gap], list[tuple[int, ExpansionVessel]]]:
    """Return what stands in a line, what lies between, and vessels with how many of these they come after."""
    stands: list[LinePart] = []
    gaps: list[_Gap] = [_Gap("start")]
    vessels: list[tuple[int, ExpansionVessel]] = []
    for part in line:
        if isinstance(part, (*STANDS, Parallel)):
            stands.append(part)
            gaps.append(_Gap(part.id))
        elif isinstance(part, Tap):
            gaps[-1].taps.append(part.id)
        elif isinstance(part, Drain):
            gaps[-1].drains.append(part.id)
        elif isinstance(part, Relief):
            gaps[-1].reliefs.append(part)
        elif isinstance(part, ExpansionVessel):
            vessels.append((len(stands), part))
    return stands, gaps, vessels


def _volume(beside: list[LinePart]) -> float:
    """Return the water of a section from the size of what stands beside it. [m³]"""
    sizes = [part.size.si for part in beside if isinstance(part, STANDS)]
    litres = sd.by_size(sd.NODE_VOLUME_LITRES, max(sizes))
    valves = sum(isinstance(part, Reducer | ShutOff) for part in beside)
    share = (d.PLAIN_SECTION.si, 1.0, d.BETWEEN_VALVES.si)[valves]
    return share * litres * 1e-3


def _sensing(part: Part, found: _Rows) -> Part:
    """Return a valve that senses the section of its tap; the section behind it where its tap is missing."""
    if isinstance(part, Group):
        branches = tuple(tuple(_sensing(inner, found) for inner in branch) for branch in part.branches)
        return replace(part, branches=branches)
    if not isinstance(part, ReducerRow | DirectReducerRow | ShutOffRow):
        return part
    return replace(part, senses=found.section_of.get(found.valves[part.id].senses, part.senses))


def _row(model: Model, water: Water, part: LinePart, behind: str) -> Row:
    if isinstance(part, CheckValve):
        closes = (part.closes_in or d.CHECK_CLOSES).si
        return CheckRow(part.id, model.k(check_valve_kv(part).si), sd.CHECK_FLOOR.si, closes)
    if isinstance(part, Reducer):
        return _reducer(model, part, behind)
    if isinstance(part, ShutOff):
        return shut_off_row(model, water, part, behind)
    return LossRow(part.id, model.full[part.id], power=sd.ISOLATING_EXPONENT.si, floor=d.SEAT_FLOOR.si)


def _body(model: Model, twin: ValveTwin, leak: float = 0.0) -> ValveBody:
    return ValveBody(
        coefficient=model.k(twin.kv.si),
        shape=twin.curve_shape.si,
        stroke=twin.stroke.si,
        recovery=twin.pressure_recovery.si,
        leak=leak,
        floor=min(twin.seat_tightness.si, d.SEAT_FLOOR.si),
        area=twin.diaphragm_area.si,
        seat_ratio=twin.seat_ratio.si,
        flow_force=twin.flow_force.si,
        spring_shut=twin.spring_shut.si,
        spring_rise=twin.spring_rise.si,
        curve=twin.curve or (),
    )


def _reducer(model: Model, part: Reducer, senses: str) -> ReducerRow | DirectReducerRow:
    twin = model.reducer_twin(part.id)
    leak = model.k(twin.seat_leak_kv.si) if twin.seat_leak_kv else 0.0
    body = _body(model, twin, leak)
    closing, band = model.lockup[part.id].si, model.band[part.id].si
    if part.kind == "direct-acting":
        return DirectReducerRow(part.id, body, senses, closing, band, lag=d.DIRECT_LAG.si)
    return ReducerRow(
        part.id,
        body,
        senses,
        feed=model.k(twin.feed_kv.si),
        pilot=model.k(twin.pilot_kv.si),
        band=band,
        closing=closing,
        needle=model.k(twin.opening_needle_kv.si) if twin.opening_needle_kv else inf,
        filter=model.k(twin.filter_kv.si) if twin.filter_kv else inf,
        lag=twin.sense_lag.si,
        pilot_play=twin.pilot_friction.si if twin.pilot_friction else 0.0,
        friction=twin.stem_friction.si if twin.stem_friction else 0.0,
        dead_volume=twin.dead_volume.si,
    )


def shut_off_row(model: Model, water: Water, part: ShutOff, senses: str) -> ShutOffRow:
    """Return a shut-off as the engine moves it; without a stated trip it never trips.

    A stated closing time is turned into the needle it was timed with, see `needle_of`.
    """
    twin = model.shut_off_twin(part.id)
    trip = part.trip.si if part.trip is not None else inf
    band = part.dead_band.si if part.dead_band is not None else d.DEAD_BAND.si
    is_leaving = part.limit_switch is not None and part.limit_switch.kind == "leaves open"
    row = ShutOffRow(
        part.id,
        _body(model, twin),
        senses,
        trip=trip,
        release=trip - band if part.resets == "by itself" else nan,
        is_hydraulic=part.closes_by not in ("spring", "weight"),
        vent=model.k(twin.opening_kv.si),
        lag=twin.sense_lag.si,
        switch_makes=d.LEAVES_OPEN.si if is_leaving else d.REACHES_CLOSED.si,
        switch_breaks=d.LEAVES_OPEN.si if is_leaving else d.LEAVES_CLOSED.si,
    )
    needle = needle_of(model, water, part, row)
    stroke = stroke_on_test(model, part)
    seconds = part.closing.time.si if part.closing else integral_on_test(row, water, stroke) / needle
    return replace(row, close_needle=needle, close_time=seconds, open_time=d.OPENS_OVER_CLOSES.si * seconds)


def needle_of(model: Model, water: Water, part: ShutOff, row: ShutOffRow) -> float:
    """Return k of the closing needle: of its stated closing time, else the one stated or usual by size.

    Notes
    -----
    k = J/t with J of the pressures and the flow the time belongs to (`steadyhead.surge.needle`).
    """
    if part.closing is None:
        twin: ShutOffTwin = model.shut_off_twin(part.id)
        return model.k(twin.closing_needle_kv.si)
    return integral_on_test(row, water, stroke_on_test(model, part)) / part.closing.time.si


def stroke_on_test(model: Model, part: ShutOff) -> TimedStroke:
    """Return the pressures and the flow a closing time belongs to: as stated, else those of a trickle.

    Not stated: the outlet as high as the inlet, a trickle as flow; the inlet is the duty pressure of a
    reducer ahead, else the usual supply.
    """
    line = way_through(model.station.line, part.id)
    ahead = [p for p in line[: line.index(part)] if isinstance(p, Reducer)]
    behind = [p for p in line if isinstance(p, Reducer)]
    inlet = ahead[-1].duty.pressure.si if ahead else _supply_at_datum(model)
    flow = sd.TRICKLE_SHARE.si * behind[-1].duty.flow.si
    stated = part.closing
    if stated is None:
        return TimedStroke(inlet, inlet, flow)
    inlet = stated.inlet_pressure.si if stated.inlet_pressure else inlet
    outlet = stated.outlet_pressure.si if stated.outlet_pressure else inlet
    return TimedStroke(inlet, outlet, stated.flow.si if stated.flow else flow)


def _supply_at_datum(model: Model) -> float:
    station = model.station
    level = station.supply.level.si if station.supply.level else station.station.datum.si
    return station.supply.typical.si + model.density * sd.GRAVITY * (level - station.station.datum.si)


def _relief(model: Model, reliefs: list[Relief]) -> ReliefValve | None:
    """Return the relief valve of a section; several become one whose lift is that of all together."""
    if not reliefs:
        return None
    each = [_one_relief(model, relief) for relief in reliefs]
    if len(each) == 1:
        return each[0]
    full = sum(one.coefficient for one in each)
    slowest = max(one.stroke_time for one in each)
    points = sorted({edge for one in each for edge in (one.crack, one.wide)})
    curve: Curve = tuple((p, sum(one.coefficient * _lift(one, p) for one in each) / full) for p in points)
    reseat = min(one.reseat for one in each)
    return ReliefValve(each[0].id, full, points[0], points[-1], reseat, slowest, curve=curve)


def _lift(relief: ReliefValve, pressure: float) -> float:
    return min(max((pressure - relief.crack) / (relief.wide - relief.crack), 0.0), 1.0)


def _one_relief(model: Model, part: Relief) -> ReliefValve:
    crack = part.crack.si
    full = max(relief_full(part).si, crack * (1.0 + LEAST_RISE))
    reseat = part.reseat.si if part.reseat is not None else crack * (1.0 - sd.RELIEF_BLOWDOWN.si)
    strokes = 0.0 if part.strokes_in is None else part.strokes_in.si
    return ReliefValve(part.id, model.k(relief_kv(part).si), crack, full, reseat, strokes)


def k_for_flow(flow: float, end_pressure: float, exponent: float, reference: float) -> float:
    """Return k of the demand law that draws `flow` at `end_pressure`; 0 where nothing is drawn. [m³/(s·√Pa)]

    Notes
    -----
    Q = k √p_ref (p/p_ref)ⁿ.
    """
    if flow <= 0.0 or end_pressure <= 0.0:
        return 0.0
    return flow / (sqrt(reference) * float((end_pressure / reference) ** exponent))

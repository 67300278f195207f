"""Turn a station into the flat arrays of the steady kernel, keeping track of what stands where."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import inf
from typing import TypedDict

from steadyhead.errors import InputError
from steadyhead.hydraulics.kernel import assembly
from steadyhead.hydraulics.kernel.assembly import Line, Row
from steadyhead.hydraulics.kernel.layout import PIPE, RISE
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.records.parts import (
    Branch,
    Drain,
    FlowMeter,
    IsolatingValve,
    LinePart,
    Parallel,
    Reducer,
    ShutOff,
    Strainer,
    Tap,
    Vent,
)
from steadyhead.records.station import Main, Station
from steadyhead.records.steady import Steady
from steadyhead.records.values import Value
from steadyhead.station import defaults as d
from steadyhead.station.layout import Layout, read_layout
from steadyhead.station.mechanics import (
    ReducerTwin,
    ShutOffTwin,
    ValveTwin,
    drain_kv,
    isolating_kv,
    meter_kv,
    reducer_twin,
    shut_off_twin,
    strainer_kv,
)
from steadyhead.water import WaterProperties, properties
from steadyhead.water.atmosphere import pressure_abs

SHUT_SHARE = 1e-5
"""Flow share of an isolating valve that stands shut; numerical tightness."""


@dataclass(frozen=True)
class Model:
    """A station ready for the steady kernel.

    Parameters
    ----------
    line
        The kernel's arrays, everything as it stands in service: main line open, drains and bypasses shut.
    element
        Row of each part by id (``zone main`` and ``supply main`` for the mains).
    tap_node
        Node of each tap on the main line.
    full
        k of each isolating valve, drain and strainer fully open (clean). [m³/(s·√Pa)]
    twins
        Inside of each valve with provenance.
    lockup, band
        lockup_pressure [Pa at datum] and proportional band [Pa] of each reducer, see
        `steadyhead.hydraulics.settings`.
    """

    station: Station
    layout: Layout
    line: Line
    element: Mapping[str, int]
    tap_node: Mapping[str, int]
    full: Mapping[str, float]
    twins: Mapping[str, ReducerTwin | ShutOffTwin]
    water: WaterProperties
    atmosphere: float
    lockup: Mapping[str, Value] = field(default_factory=dict)
    band: Mapping[str, Value] = field(default_factory=dict)

    @cached_property
    def ids(self) -> frozenset[str]:
        """Ids of all parts of the station."""
        return frozenset(part.id for part in self.station.parts())

    @property
    def density(self) -> float:
        """Water density. [kg/m³]"""
        return self.water.density

    def reducer_twin(self, part_id: str) -> ReducerTwin:
        """Return the inside of a reducer."""
        twin = self.twins[part_id]
        assert isinstance(twin, ReducerTwin)
        return twin

    def shut_off_twin(self, part_id: str) -> ShutOffTwin:
        """Return the inside of a shut-off."""
        twin = self.twins[part_id]
        assert isinstance(twin, ShutOffTwin)
        return twin

    def k(self, kv: float) -> float:
        """Return k of a Kv in this water. [m³/(s·√Pa)]"""
        return k_of_kv(kv, self.density)

    def with_water(self, water: WaterProperties, atmosphere: float) -> Model:
        """Return the model with stated water and atmosphere [Pa abs]; settings stay."""
        groups = frozenset(part.id for part in self.station.parts() if isinstance(part, Parallel))
        same = _assembled(self.station, water, atmosphere, groups & self.element.keys())
        return same.with_settings(self.lockup, self.band)

    def standing_at(self, pressure: float) -> Steady:
        """Return a situation in which all water stands at one pressure [Pa at the datum]."""
        nodes = self.levelled(
            [pressure] * (len(self.line.kinds) + 1), self.element.get("supply main", self.line.end)
        )
        return Steady(
            flow=0.0,
            consumer_flow=0.0,
            drains={},
            taps=dict.fromkeys(self.tap_node, pressure),
            consumer_end=nodes[0],
            valves={},
            residual=0.0,
            nodes=tuple(nodes),
        )

    def levelled(self, nodes: Sequence[float], top: int) -> list[float]:
        """Return node pressures [Pa], those below node `top` as standing water hands its pressure down.

        Only level counts: Δp = ρ g Δz along a main, nothing elsewhere.
        """
        found = [float(pressure) for pressure in nodes]
        for row in reversed(range(top)):
            rise = float(self.line.values[row][RISE]) if self.line.kinds[row] == PIPE else 0.0
            found[row] = found[row + 1] - self.density * d.GRAVITY * rise
        return found

    @property
    def outlet_node(self) -> int:
        """Node where the station ends: before its outlet isolating valve, or else before the zone's main."""
        valve = self.layout.outlet_valve
        row = self.element[valve.id] if valve else self.element.get("zone main", -1)
        return row + 1 if row < self.line.end else 0

    def with_settings(self, lockup: Mapping[str, Value], band: Mapping[str, Value]) -> Model:
        """Return the model with other lock-up pressures and bands."""
        return replace(self, lockup=dict(lockup), band=dict(band))


class _ValveNumbers(TypedDict):
    full: float
    shape: float
    floor: float
    recovery: float
    incipient: float


class _Builder:
    """Collects rows while walking the line upstream."""

    def __init__(self, density: float, open_groups: frozenset[str] = frozenset()) -> None:
        self.density = density
        self.open_groups = open_groups
        self.rows: list[Row] = []
        self.ids: list[str] = []
        self.branch_ids: dict[int, list[list[str]]] = {}
        self.tap_node: dict[str, int] = {}
        self.full: dict[str, float] = {}
        self.twins: dict[str, ReducerTwin | ShutOffTwin] = {}

    def k(self, kv: float) -> float:
        return k_of_kv(kv, self.density)

    def add(self, part_id: str, row: Row) -> None:
        self.ids.append(part_id)
        self.rows.append(row)

    def pipe(self, part_id: str, main: Main | None, rise: float) -> None:
        if main is None and rise == 0.0:
            return
        rough = (
            main.roughness.si
            if main and main.roughness
            else d.ROUGHNESS_MM[main.material if main else "other"] * 1e-3
        )
        self.add(
            part_id,
            assembly.pipe(
                length=main.length.si if main else 0.0,
                diameter=main.bore.si if main else 1.0,
                roughness=rough,
                rise=rise,
            ),
        )

    def walk(self, line: Sequence[LinePart], taps: Mapping[str, int]) -> None:
        for part in reversed(line):
            if isinstance(part, Tap):
                self.tap_node[part.id] = len(self.rows)
            elif isinstance(part, Reducer):
                self.reducer(part, taps)
            else:
                self.other(part)

    def other(self, part: LinePart) -> None:
        if isinstance(part, IsolatingValve):
            self.loss(part.id, isolating_kv(part).si)
        elif isinstance(part, Strainer):
            self.loss(part.id, strainer_kv(part).si)
        elif isinstance(part, FlowMeter):
            self.loss(part.id, meter_kv(part).si)
        elif isinstance(part, Drain):
            self.full[part.id] = self.k(drain_kv(part).si)
            self.add(part.id, assembly.drain(0.0))
        elif isinstance(part, ShutOff):
            twin = shut_off_twin(part)
            self.twins[part.id] = twin
            self.add(part.id, assembly.valve(lift=1.0, curve=twin.curve or (), **self.valve(twin)))
        elif isinstance(part, Parallel):
            ways = [branch for branch in part.branches if branch.role == "main"]
            if len(ways) == 1 and part.id not in self.open_groups:
                self.walk(ways[0].line, self.tap_node)
            else:
                self.group(part)

    def loss(self, part_id: str, kv: float) -> None:
        self.full[part_id] = self.k(kv)
        self.add(part_id, assembly.loss(self.full[part_id]))

    def valve(self, twin: ValveTwin) -> _ValveNumbers:
        return {
            "full": self.k(twin.kv.si),
            "shape": twin.curve_shape.si,
            "floor": twin.seat_tightness.si,
            "recovery": twin.pressure_recovery.si,
            "incipient": twin.incipient_ratio.si,
        }

    def reducer(self, part: Reducer, taps: Mapping[str, int]) -> None:
        twin = reducer_twin(part)
        self.twins[part.id] = twin
        self.add(
            part.id,
            assembly.reducer(
                **self.valve(twin),
                curve=twin.curve or (),
                seat_ratio=twin.seat_ratio.si,
                flow_force=twin.flow_force.si,
                spring_shut=twin.spring_shut.si,
                spring_rise=twin.spring_rise.si,
                feed=self.k(twin.feed_kv.si),
                pilot=self.k(twin.pilot_kv.si),
                needle=self.k(twin.opening_needle_kv.si) if twin.opening_needle_kv else inf,
                filter_coefficient=self.k(twin.filter_kv.si) if twin.filter_kv else inf,
                leak=self.k(twin.seat_leak_kv.si) if twin.seat_leak_kv else 0.0,
                closing=(part.lockup or part.duty.pressure).si,
                band=twin.proportional_band.si if twin.proportional_band else d.LOCKUP_RISE.si,
                tap=taps.get(part.senses, self.tap_node.get(part.senses, len(self.rows) + 1)),
            ),
        )

    def group(self, part: Parallel) -> None:
        if len(part.branches) != 2:
            raise InputError(
                f"line {part.id}: branches",
                f"got {len(part.branches)}; two are covered.",
                "Nest a second parallel group.",
            )
        inner_rows, inner_ids = [], []
        for branch in part.branches:
            inner = _Builder(self.density)
            inner.walk(branch.line, _branch_taps(branch, self.tap_node))
            inner_rows.append(inner.rows)
            inner_ids.append(inner.ids)
            self.full.update(inner.full)
            self.twins.update(inner.twins)
        self.branch_ids[len(self.rows)] = inner_ids
        self.add(part.id, assembly.parallel(inner_rows[0], inner_rows[1]))

    def elements(self) -> dict[str, int]:
        found = {name: index for index, name in enumerate(self.ids)}
        count = len(self.ids)
        for index in range(len(self.ids)):
            for names in self.branch_ids.get(index, []):
                count += 1
                for name in names:
                    found[name] = count
                    count += 1
        return found


def _branch_taps(branch: Branch, outside: Mapping[str, int]) -> dict[str, int]:
    """Return where a reducer on a branch finds its tap: nodes of the main line, or own nodes −1, −2, …"""
    taps = dict(outside)
    rows = 0
    for part in reversed(branch.line):
        if isinstance(part, Tap):
            taps[part.id] = -(rows + 1)
        elif not isinstance(part, Vent | Parallel):
            rows += 1
    return taps


def build(station: Station, open_groups: frozenset[str] = frozenset()) -> Model:
    """Return the model of a station with lock-up pressures and bands worked out from the design.

    A parallel group with one main branch stands in line, its bypass shut; groups named in `open_groups` are
    solved with both branches. Settings are those of the station in service, bypasses shut.

    Raises
    ------
    InputError
        A parallel group that is not covered.
    NotConverged
        When the duty of a reducer cannot be solved at its stated flow.
    """
    from steadyhead.hydraulics.settings import with_design_settings

    in_service = with_design_settings(build_plain(station))
    if not open_groups:
        return in_service
    opened = build_plain(station, open_groups=open_groups)
    return opened.with_settings(in_service.lockup, in_service.band)


def build_plain(
    station: Station, temperature: float | None = None, open_groups: frozenset[str] = frozenset()
) -> Model:
    """Return the model with closing pressures as typed and default bands; see `build`.

    `temperature` [K] replaces the station's water temperature.
    """
    altitude = station.station.altitude or station.station.datum
    atmosphere = pressure_abs(altitude.si)
    kelvin = station.water.temperature.si if temperature is None else temperature
    water = properties(kelvin, atmosphere + station.supply.typical.si)
    return _assembled(station, water, atmosphere, open_groups)


def _assembled(
    station: Station, water: WaterProperties, atmosphere: float, open_groups: frozenset[str] = frozenset()
) -> Model:
    builder = _Builder(water.density, open_groups)
    datum = station.station.datum.si
    zone_level = station.zone.level.si if station.zone.level else datum
    supply_level = station.supply.level.si if station.supply.level else datum
    builder.pipe("zone main", station.zone.main, zone_level - datum)
    builder.walk(station.line, builder.tap_node)
    friction = station.supply.main if station.supply.stated_at == "head of main" else None
    builder.pipe("supply main", friction, datum - supply_level)
    return Model(
        station=station,
        layout=read_layout(station),
        line=assembly.pack(builder.rows),
        element=builder.elements(),
        tap_node=builder.tap_node,
        full=builder.full,
        twins=builder.twins,
        water=water,
        atmosphere=atmosphere,
    )

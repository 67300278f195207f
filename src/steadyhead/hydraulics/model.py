"""Turn a station into the flat arrays of the steady kernel, keeping track of what stands where."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import inf
from typing import TypedDict

from steadyhead.hydraulics.cavitation import KnownLimits, known_limits
from steadyhead.hydraulics.kernel import assembly
from steadyhead.hydraulics.kernel.assembly import Line, Row
from steadyhead.hydraulics.kernel.layout import PIPE, RISE, TAP
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.records.mains import Main
from steadyhead.records.parts import (
    Branch,
    CheckValve,
    Drain,
    FlowMeter,
    IsolatingValve,
    LinePart,
    Parallel,
    Reducer,
    Relief,
    ShutOff,
    Strainer,
    Tap,
)
from steadyhead.records.station import Station
from steadyhead.records.steady import Steady
from steadyhead.records.values import Value
from steadyhead.station import defaults as d
from steadyhead.station.layout import Layout, read_layout
from steadyhead.station.mechanics import (
    ReducerTwin,
    ShutOffTwin,
    ValveTwin,
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
from steadyhead.water import WaterProperties, properties
from steadyhead.water.atmosphere import pressure_abs

SHUT_SHARE = 1e-5
"""Flow share of an isolating valve that stands shut; numerical tightness."""
LEAST_RISE = 1e-3
"""Least rise from crack to wide open of a relief valve, over its crack: the equation has no steps. [1]"""


@dataclass(frozen=True)
class Model:
    """A station ready for the steady kernel.

    Parameters
    ----------
    line
        The kernel's arrays, everything as it stands in service: drains, bypasses, locked branches shut.
    element
        Row of each part by id (``zone main`` and ``supply main`` for the mains).
    tap_node
        Node of each tap.
    full
        k of each isolating valve, drain, relief valve and strainer fully open (clean). [m³/(s·√Pa)]
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

    @cached_property
    def reducers(self) -> tuple[Reducer, ...]:
        """All reducers of the model in walking order, those in branches included."""
        parts = self.station.parts()
        return tuple(part for part in parts if isinstance(part, Reducer) and part.id in self.element)

    @cached_property
    def shut_offs(self) -> tuple[ShutOff, ...]:
        """All shut-offs of the model in walking order, those in branches included."""
        parts = self.station.parts()
        return tuple(part for part in parts if isinstance(part, ShutOff) and part.id in self.element)

    @cached_property
    def cavitation(self) -> Mapping[str, KnownLimits]:
        """What is known of each reducer's cavitation, by id."""
        vapour = self.water.vapour_pressure_abs
        return {r.id: known_limits(r, self.reducer_twin(r.id), vapour_abs=vapour) for r in self.reducers}

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
    """Collects rows while walking one line upstream: the main line, or a branch (then `inside` another)."""

    def __init__(self, density: float, open_groups: frozenset[str], *, stands_shut: bool = False) -> None:
        self.density = density
        self.open_groups = open_groups
        self.stands_shut = stands_shut
        self.rows: list[Row] = []
        self.ids: list[str] = []
        self.senses: dict[int, str] = {}
        self.inside: dict[int, list[_Builder]] = {}
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

    def walk(self, line: Sequence[LinePart]) -> None:
        for part in reversed(line):
            if isinstance(part, Tap):
                self.tap_node[part.id] = len(self.rows)
            elif isinstance(part, Reducer):
                self.reducer(part)
            elif isinstance(part, Parallel):
                ways = [branch for branch in part.branches if branch.role != "manual bypass"]
                if len(ways) == 1 and part.id not in self.open_groups:
                    self.walk(ways[0].line)
                else:
                    self.group(part)
            else:
                self.other(part)

    def other(self, part: LinePart) -> None:
        if isinstance(part, IsolatingValve):
            self.loss(part.id, isolating_kv(part).si, part if self.stands_shut else None)
        elif isinstance(part, Strainer):
            self.loss(part.id, strainer_kv(part).si)
        elif isinstance(part, FlowMeter):
            self.loss(part.id, meter_kv(part).si)
        elif isinstance(part, Drain):
            self.full[part.id] = self.k(drain_kv(part).si)
            self.add(part.id, assembly.drain(0.0))
        elif isinstance(part, Relief):
            self.full[part.id] = self.k(relief_kv(part).si)
            full = max(relief_full(part).si, part.crack.si * (1.0 + LEAST_RISE))
            self.add(part.id, assembly.relief(self.full[part.id], crack=part.crack.si, full=full))
        elif isinstance(part, CheckValve):
            k = self.k(check_valve_kv(part).si)
            self.add(part.id, assembly.check_valve(k, floor=d.CHECK_FLOOR.si))
        elif isinstance(part, ShutOff):
            twin = shut_off_twin(part)
            self.twins[part.id] = twin
            self.add(part.id, assembly.valve(lift=1.0, curve=twin.curve or (), **self.valve(twin)))

    def loss(self, part_id: str, kv: float, shut: IsolatingValve | None = None) -> None:
        self.full[part_id] = self.k(kv)
        if shut is None:
            self.add(part_id, assembly.loss(self.full[part_id]))
        else:
            self.add(part_id, assembly.loss(self.full[part_id] * SHUT_SHARE, is_tight=shut.tight != "no"))

    def valve(self, twin: ValveTwin) -> _ValveNumbers:
        return {
            "full": self.k(twin.kv.si),
            "shape": twin.curve_shape.si,
            "floor": twin.seat_tightness.si,
            "recovery": twin.pressure_recovery.si,
            "incipient": twin.incipient_ratio.si,
        }

    def reducer(self, part: Reducer) -> None:
        twin = reducer_twin(part)
        self.twins[part.id] = twin
        self.senses[len(self.rows)] = part.senses
        closing = (part.lockup or part.duty.pressure).si
        band = twin.proportional_band.si if twin.proportional_band else d.LOCKUP_RISE.si
        leak = self.k(twin.seat_leak_kv.si) if twin.seat_leak_kv else 0.0
        if part.kind == "direct-acting":
            row = assembly.direct_reducer(
                **self.valve(twin), curve=twin.curve or (), leak=leak, closing=closing, band=band, tap=0
            )
        else:
            row = assembly.reducer(
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
                leak=leak,
                closing=closing,
                band=band,
                tap=0,
            )
        self.add(part.id, row)

    def group(self, part: Parallel) -> None:
        inside = [self.branch(branch) for branch in part.branches]
        self.inside[len(self.rows)] = inside
        self.add(part.id, assembly.parallel(*(each.rows for each in inside)))

    def branch(self, branch: Branch) -> _Builder:
        shut = self.stands_shut or branch.locked_shut or branch.role == "manual bypass"
        inner = _Builder(self.density, self.open_groups, stands_shut=shut)
        inner.walk(branch.line)
        self.full.update(inner.full)
        self.twins.update(inner.twins)
        return inner

    def packed(self) -> tuple[Line, dict[str, int], dict[str, int]]:
        """Return the arrays, the row of each part and the node of each tap; reducers sense their taps."""
        line = assembly.pack(self.rows)
        elements: dict[str, int] = {}
        taps: dict[str, int] = {}
        senses: dict[int, str] = {}
        waiting, count = [(self, 0)], len(self.rows)
        for builder, start in waiting:  # grows while it is walked, branch after branch as the kernel packs
            elements |= {name: start + row for row, name in enumerate(builder.ids)}
            taps |= {name: start + node for name, node in builder.tap_node.items()}
            senses |= {start + row: name for row, name in builder.senses.items()}
            for row in sorted(builder.inside):
                for inner in builder.inside[row]:
                    waiting.append((inner, count + 1))
                    count += 1 + len(inner.rows)
        for row, name in senses.items():
            line.links[row][TAP] = taps.get(name, row + 1)
        return line, elements, taps


def build(station: Station, open_groups: frozenset[str] = frozenset()) -> Model:
    """Return the model of a station with lock-up pressures and bands worked out from the design.

    A parallel group with one branch besides manual bypasses stands in line, its bypasses shut; groups named
    in `open_groups` are solved with all branches. Settings are those of the station in
    service, bypasses shut.

    Raises
    ------
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
    builder.walk(station.line)
    friction = station.supply.main if station.supply.stated_at == "head of main" else None
    builder.pipe("supply main", friction, datum - supply_level)
    line, elements, taps = builder.packed()
    return Model(
        station=station,
        layout=read_layout(station),
        line=line,
        element=elements,
        tap_node=taps,
        full=builder.full,
        twins=builder.twins,
        water=water,
        atmosphere=atmosphere,
    )

"""From a plan to the flat arrays of the transient kernel, keeping track of what stands where."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import pi

from steadyhead.errors import InputError
from steadyhead.laws.compiling import (
    Floats,
    FloatTable,
    Integers,
    IntegerTable,
    floats,
    integer_table,
    integers,
    table,
)
from steadyhead.laws.friction_table import POINTS, friction_table
from steadyhead.laws.valves import critical_pressure_factor
from steadyhead.surge import defaults as d
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.plan import Consumers, Pipe, Plan, ReliefValve, Reservoir, Section
from steadyhead.surge.rows import ChainRows, Curves, rows_of, sides_of

STATION = "station"


@dataclass(frozen=True)
class Grid:
    """One pipe cut into reaches: its place among the pipes, their count, wave speed as adjusted [m/s]."""

    pipe: Pipe
    place: int
    reaches: int
    wave_speed: float

    @property
    def adjusted(self) -> float:
        """Change of the wave speed to whole reaches, as share of the stated one."""
        return self.wave_speed / self.pipe.wave_speed - 1.0

    @property
    def area(self) -> float:
        """Bore area. [m²]"""
        return pi * self.pipe.bore**2 / 4.0

    @property
    def reach(self) -> float:
        """Δx. [m]"""
        return self.pipe.length / self.reaches


@dataclass(frozen=True)
class Plant:
    """A plan as arrays, ready to be started; nothing in it changes while time runs.

    Parameters
    ----------
    plan
        What it was made from.
    step
        dt. [s]
    grids
        Every pipe as cut.
    rows, nodes, joints, reliefs
        Place of each row, section, joint and relief valve by name; rows and nodes count **upstream**.
    """

    plan: Plan
    step: float
    grids: tuple[Grid, ...]
    rows: Mapping[str, int]
    nodes: Mapping[str, int]
    joints: Mapping[str, int]
    reliefs: Mapping[str, int]
    pipe_links: IntegerTable
    pipe_values: FloatTable
    factors: Floats
    level: FloatTable
    joint_links: IntegerTable
    ends: IntegerTable
    joint_values: FloatTable
    relief_links: IntegerTable
    relief_values: FloatTable
    kinds: Integers
    row_links: IntegerTable
    row_values: FloatTable
    node_links: IntegerTable
    node_values: FloatTable
    station_links: Integers
    station: Floats
    stems: Integers
    spans: IntegerTable
    xs: Floats
    ys: Floats
    water: Floats

    @property
    def node_count(self) -> int:
        """How many nodes all pipes have."""
        return sum(grid.reaches + 1 for grid in self.grids)

    @property
    def width(self) -> int:
        """How many nodes the longest pipe has."""
        return max(grid.reaches + 1 for grid in self.grids)

    @property
    def inlet_node(self) -> int:
        """Chain node where the supply main arrives."""
        return int(self.station_links[at.LINE_ROWS])

    @property
    def weight(self) -> float:
        """ρ g. [N/m³]"""
        return self.plan.water.density * self.plan.water.gravity

    def grid(self, pipe_id: str) -> Grid:
        """Return a pipe as cut."""
        return next(grid for grid in self.grids if grid.pipe.id == pipe_id)

    def side(self, name: str) -> tuple[Grid, ...]:
        """Return the pipes of one side, ``"supply"`` or ``"consumer"``."""
        return tuple(grid for grid in self.grids if grid.pipe.side == name)

    def mains(self, name: str) -> tuple[Grid, ...]:
        """Return the pipes of one side that are its mains, pipework of the station left out."""
        return tuple(grid for grid in self.side(name) if not grid.pipe.is_station)


def compile_plan(plan: Plan) -> Plant:
    """Return the arrays of a plan.

    Courant number exactly 1 in every pipe: dt = min(L/a)/reaches, each pipe cut into whole reaches and its
    wave speed adjusted, never interpolated.

    Raises
    ------
    InputError
        A joint that is not named, a station without both its pipes, a length or coefficient not above 0.
    """
    _refuse(plan)
    step = min(pipe.length / pipe.wave_speed for pipe in plan.pipes) / plan.numbers.reaches
    step = min(step, plan.numbers.longest_step)
    grids = _cut(plan, step)
    width = max(grid.reaches + 1 for grid in grids)
    gas = _half_gas(plan, grids)
    curves = Curves()
    chain = rows_of(plan, curves)
    reliefs: list[ReliefValve] = []
    links, ends, values = _joints(plan, grids, gas, reliefs)
    node_links = _node_links(chain, reliefs)
    relief_links, relief_values = _reliefs(reliefs, curves)
    pipe_links, pipe_values, level = _pipes(plan, grids, width)
    station_links, station = _station_ends(plan, grids, gas, chain.line_rows)
    return Plant(
        plan=plan,
        step=step,
        grids=grids,
        rows=chain.rows,
        nodes=chain.nodes,
        joints={joint.id: place for place, joint in enumerate(plan.joints)},
        reliefs={relief.id: place for place, relief in enumerate(reliefs)},
        pipe_links=integer_table(pipe_links, at.PIPE_LINKS),
        pipe_values=table(pipe_values, at.PIPE_VALUES),
        factors=_factors(_roughs(plan)),
        level=table(level, width),
        joint_links=integer_table(links, at.JOINT_LINKS),
        ends=integer_table(ends, at.END_LINKS),
        joint_values=table(values, at.JOINT_VALUES),
        relief_links=integer_table(relief_links, at.RELIEF_LINKS),
        relief_values=table(relief_values, at.RELIEF_VALUES),
        kinds=integers(chain.kinds),
        row_links=integer_table(chain.links, at.ROW_LINKS),
        row_values=table(chain.values, at.ROW_VALUES),
        node_links=integer_table(node_links, at.NODE_LINKS),
        node_values=table(chain.node_values, at.NODE_VALUES),
        station_links=integers(station_links),
        station=floats(station),
        stems=integers([r for r, kind in enumerate(chain.kinds) if kind in (at.REDUCER, at.DIRECT)]),
        spans=integer_table(chain.spans, at.SPAN_LINKS),
        xs=floats(curves.xs or [0.0]),
        ys=floats(curves.ys or [0.0]),
        water=floats(_water_row(plan, step)),
    )


def _water_row(plan: Plan, step: float) -> list[float]:
    water = plan.water
    factor = critical_pressure_factor(water.vapour_pressure_abs, water.critical_pressure_abs)
    weight = water.density * water.gravity
    vapour = water.vapour_pressure_abs - water.atmosphere_abs
    row = [0.0] * at.WATER_VALUES
    for column, value in (
        (at.DENSITY, water.density),
        (at.WEIGHT, weight),
        (at.ATMOSPHERE, water.atmosphere_abs),
        (at.VAPOUR, vapour),
        (at.THROAT, factor * water.vapour_pressure_abs),
        (at.REFERENCE, water.reference),
        (at.STEP, step),
        (at.VAPOUR_HEAD, vapour / weight),
        (at.WEIGHTING, plan.numbers.weighting),
        (at.PARTED, d.SEPARATED.si),
        (at.COUPLED, d.COUPLED.si),
    ):
        row[column] = value
    return row


def _node_links(chain: ChainRows, reliefs: list[ReliefValve]) -> list[list[int]]:
    """Return relief valve and side of each chain node, and add relief valves of the station to `reliefs`."""
    links = []
    for section, side in zip(chain.sections, sides_of(chain), strict=True):
        relief = section.relief if section is not None else None
        links.append([-1 if relief is None else len(reliefs), side])
        if relief is not None:
            reliefs.append(relief)
    return links


def _reliefs(reliefs: Sequence[ReliefValve], curves: Curves) -> tuple[list[list[int]], list[list[float]]]:
    links, values = [], []
    for relief in reliefs:
        links.append(list(curves.add(relief.curve)))
        values.append([relief.coefficient, relief.crack, relief.wide, relief.reseat, relief.stroke_time])
    return links, values


def refined(plan: Plan, reaches: int) -> Plan:
    """Return the plan cut more finely, or less, for a look at grid convergence."""
    return replace(plan, numbers=replace(plan.numbers, reaches=reaches))


def _refuse(plan: Plan) -> None:
    if not plan.pipes:
        raise InputError("pipes", "none.", "Give at least one main.")
    names = {joint.id for joint in plan.joints} | {STATION}
    for pipe in plan.pipes:
        for end in (pipe.above, pipe.below):
            if end not in names:
                raise InputError(
                    f"pipe {pipe.id}", f"ends at {end!r}, no joint.", "Name a joint of the plan."
                )
        if not min(pipe.length, pipe.bore, pipe.wave_speed) > 0.0:
            raise InputError(
                f"pipe {pipe.id}", "length, bore or wave speed is not above 0.", "Give all three."
            )
    arriving = [pipe for pipe in plan.pipes if pipe.below == STATION]
    leaving = [pipe for pipe in plan.pipes if pipe.above == STATION]
    wanted = 1 if plan.station else 0
    if len(arriving) != wanted or len(leaving) != wanted:
        raise InputError(
            "pipes",
            f"{len(arriving)} arrive at the station and {len(leaving)} leave it.",
            "One pipe arrives and one leaves; join several at a joint before.",
        )


def _cut(plan: Plan, step: float) -> tuple[Grid, ...]:
    grids = []
    for place, pipe in enumerate(plan.pipes):
        reaches = max(round(pipe.length / (pipe.wave_speed * step)), 2)
        grids.append(Grid(pipe, place, reaches, pipe.length / (reaches * step)))
    return tuple(grids)


def _half_gas(plan: Plan, grids: tuple[Grid, ...]) -> list[float]:
    """Return α₀ V p_a of half a node of each pipe. [Pa·m³]"""
    share = plan.numbers.gas_fraction * plan.water.atmosphere_abs
    return [0.5 * share * grid.area * grid.reach for grid in grids]


def _pipes(
    plan: Plan, grids: tuple[Grid, ...], width: int
) -> tuple[list[list[int]], list[list[float]], list[list[float]]]:
    gravity = plan.water.gravity
    weight = plan.water.density * gravity
    links, values = [], []
    roughs = _roughs(plan)
    level = [[0.0] * width for _ in grids]
    for grid in grids:
        pipe = grid.pipe
        rough = pipe.roughness / pipe.bore
        area = grid.area
        start = roughs.index(rough) * POINTS if pipe.has_friction else -1
        links.append([grid.reaches, start, 0 if pipe.side == "supply" else 1])
        values.append(
            [
                grid.wave_speed / (gravity * area),
                grid.reach / (2.0 * gravity * pipe.bore * area * area),
                pipe.bore / (area * plan.water.viscosity),
                plan.numbers.gas_fraction * area * grid.reach * plan.water.atmosphere_abs / weight,
                pipe.unsteady / (2.0 * gravity * area),
                grid.wave_speed,
                grid.reach,
            ]
        )
        for number in range(grid.reaches + 1):
            rise = (pipe.level_below - pipe.level_above) * number / grid.reaches
            level[grid.place][number] = pipe.level_above + rise
    return links, values, level


def _roughs(plan: Plan) -> tuple[float, ...]:
    return tuple(dict.fromkeys(pipe.roughness / pipe.bore for pipe in plan.pipes if pipe.has_friction))


@lru_cache(maxsize=64)
def _factors(roughs: tuple[float, ...]) -> Floats:
    """Return the friction tables of these roughnesses, end to end; shared by all plans that want them."""
    return floats([factor for rough in roughs for factor in friction_table(rough)] or [0.0])


def _joints(
    plan: Plan, grids: tuple[Grid, ...], gas: list[float], reliefs: list[ReliefValve]
) -> tuple[list[list[int]], list[list[int]], list[list[float]]]:
    links: list[list[int]] = []
    ends: list[list[int]] = []
    values = []
    for joint in plan.joints:
        first, half = len(ends), 0.0
        for place, grid in enumerate(grids):
            for name, is_tail in ((grid.pipe.below, 1), (grid.pipe.above, 0)):
                if name == joint.id:
                    ends.append([place, is_tail])
                    half += gas[place]
        relief = -1
        if isinstance(joint, Consumers) and joint.relief is not None:
            relief = len(reliefs)
            reliefs.append(joint.relief)
        kind = at.HELD if isinstance(joint, Reservoir) else at.FREE
        links.append([kind, first, len(ends) - first, relief])
        values.append(_joint_values(joint, half))
    return links, ends, values


def _joint_values(joint: Reservoir | Consumers, gas: float) -> list[float]:
    row = [0.0] * at.JOINT_VALUES
    row[at.LEVEL] = joint.level
    row[at.JOINT_GAS] = gas
    row[at.DRAWN] = float("nan")
    if isinstance(joint, Reservoir):
        row[at.HELD_PRESSURE] = joint.pressure
        return row
    row[at.DEMAND] = joint.coefficient
    row[at.EXPONENT] = joint.exponent
    row[at.DRAWN] = joint.drawn
    row[at.ELASTICITY] = joint.elasticity
    if joint.entry > 0.0 and joint.elasticity > 0.0:
        row[at.ENTRY], row[at.INERTANCE] = joint.entry, joint.inertance
    row[at.VESSEL_EXPONENT] = joint.vessel.exponent if joint.vessel else 1.0
    return row


def _station_ends(
    plan: Plan, grids: tuple[Grid, ...], gas: list[float], line_rows: int
) -> tuple[list[int], list[float]]:
    if not plan.station:
        return [0] * at.STATION_LINKS, [0.0] * at.STATION_VALUES
    into = next(place for place, grid in enumerate(grids) if grid.pipe.below == STATION)
    out = next(place for place, grid in enumerate(grids) if grid.pipe.above == STATION)
    levels = [grids[into].pipe.level_below, grids[out].pipe.level_above]
    return [1, into, out, line_rows], [gas[into], gas[out], *levels]


def section_of(plan: Plan, name: str) -> Section:
    """Return a section of the station by name."""
    for part in plan.parts:
        if isinstance(part, Section) and part.id == name:
            return part
    raise InputError("section", f"got {name!r}.", "Name a section of the plan.")

"""The station of a plan as rows of the chain, counted upstream from the consumer side."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf, isinf, nan

from steadyhead.errors import InputError
from steadyhead.surge import defaults as d
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.plan import (
    CheckRow,
    DirectReducerRow,
    Group,
    LossRow,
    Part,
    Plan,
    ReducerRow,
    Row,
    Section,
    ShutOffRow,
    ValveBody,
)


@dataclass
class Curves:
    """Lift curves laid end to end."""

    xs: list[float] = field(default_factory=list)
    ys: list[float] = field(default_factory=list)

    def add(self, curve: tuple[tuple[float, float], ...]) -> tuple[int, int]:
        """Keep a curve and return (first point, how many)."""
        start = len(self.xs)
        self.xs += [x for x, _ in curve]
        self.ys += [y for _, y in curve]
        return (start, len(curve)) if curve else (0, 0)


@dataclass
class ChainRows:
    """Rows and nodes of the chain on their way into arrays; ``sections`` has one place per node."""

    kinds: list[int] = field(default_factory=list)
    links: list[list[int]] = field(default_factory=list)
    values: list[list[float]] = field(default_factory=list)
    node_values: list[list[float]] = field(default_factory=list)
    sections: list[Section | None] = field(default_factory=list)
    rows: dict[str, int] = field(default_factory=dict)
    nodes: dict[str, int] = field(default_factory=dict)
    spans: list[list[int]] = field(default_factory=list)
    line_rows: int = 0


def rows_of(plan: Plan, curves: Curves) -> ChainRows:
    """Return the chain of a plan; empty where it has no station.

    A valve at either end of the station is given a plain row without resistance beside it, so that no storage
    or bleed falls on the end of a pipe.

    Raises
    ------
    InputError
        A section named twice, a tap that is no section.
    """
    chain = ChainRows()
    if not plan.station:
        return chain
    chain.sections.append(None)
    parts = _with_ends(list(reversed(plan.station)), "")
    for part in parts:
        _add(chain, part, curves)
    chain.line_rows = len(chain.kinds)
    for group in (part for part in parts if isinstance(part, Group)):
        _add_branches(chain, group, curves)
    for part in plan.parts:
        if isinstance(part, ReducerRow | DirectReducerRow | ShutOffRow):
            if part.senses not in chain.nodes:
                raise InputError(f"{part.id}: senses", f"got {part.senses!r}.", "Name a section of the plan.")
            chain.links[chain.rows[part.id]][at.TAP] = chain.nodes[part.senses]
    pressure = plan.water.atmosphere_abs
    inner = _inner_nodes(chain)
    for node, section in enumerate(chain.sections):
        volume = max(section.volume if section else 0.0, d.LEAST_SECTION.si if node in inner else 0.0)
        gas = plan.section_gas * volume * pressure
        chain.node_values.append([volume / plan.stiffness, section.drain if section else 0.0, gas])
    return chain


def sides_of(chain: ChainRows) -> list[int]:
    """Return of each chain node whether it stands ahead of the shut-off of its way, 0, or behind it, 1.

    Where several stand in one way the last of them parts it; in a way without one all stands ahead, and what
    lies in a branch without one, behind.
    """
    sides = [0] * len(chain.sections)
    line = [row for row in range(chain.line_rows) if chain.kinds[row] in (at.SHUT_OFF, at.GROUP)]
    for node in range(min(line, default=-1) + 1):
        sides[node] = 1
    for start, behind in chain.spans:
        shut = [row for row in range(start, behind) if chain.kinds[row] == at.SHUT_OFF]
        for node in range(start + 1, min(shut, default=behind) + 1):
            sides[node] = 1
    return sides


def _inner_nodes(chain: ChainRows) -> set[int]:
    """Return the nodes between two rows; a pipe's end and a joint's other numbers are none."""
    found = set(range(1, chain.line_rows))
    for start, behind in chain.spans:
        found |= set(range(start + 2, behind))
    return found


def _with_ends(parts: list[Part], where: str) -> list[Part]:
    """Return parts in the order of the march, plain rows without resistance at both ends."""
    if not parts or not isinstance(parts[0], LossRow):
        parts.insert(0, LossRow(f"{where}outlet end", inf))
    if not isinstance(parts[-1], LossRow):
        parts.append(LossRow(f"{where}inlet end", inf))
    return parts


def _add(chain: ChainRows, part: Part, curves: Curves) -> None:
    if isinstance(part, Section):
        if chain.sections[-1] is not None:
            raise InputError(f"section {part.id}", "stands beside another.", "Join the two.")
        chain.sections[-1] = part
        chain.nodes[part.id] = len(chain.kinds)
        return
    chain.rows[part.id] = len(chain.kinds)
    link = [0] * at.ROW_LINKS
    if isinstance(part, Group):
        kind, values = at.GROUP, [0.0] * at.ROW_VALUES
    else:
        kind, values, curve = _row(part)
        link[at.CURVE], link[at.CURVE_POINTS] = curves.add(curve)
    chain.kinds.append(kind)
    chain.values.append(values)
    chain.links.append(link)
    chain.sections.append(None)


def _add_branches(chain: ChainRows, group: Group, curves: Curves) -> None:
    """Add the branches of a group behind the line, each behind a gap."""
    link = chain.links[chain.rows[group.id]]
    link[at.SPAN], link[at.BRANCHES] = len(chain.spans), len(group.branches)
    if len(group.branches) < 2:
        raise InputError(f"group {group.id}", "has fewer than two branches.", "Write its parts in line.")
    for number, branch in enumerate(group.branches, 1):
        if all(isinstance(part, Section) or _is_plain(part) for part in branch):
            raise InputError(f"group {group.id}", f"branch {number} resists nothing.", "Leave it out.")
        parts = _with_ends(list(reversed(branch)), f"{group.id}/{number} ")
        start = len(chain.kinds)
        chain.rows[f"{group.id}/{number}"] = start
        chain.kinds.append(at.GAP)
        chain.values.append([0.0] * at.ROW_VALUES)
        chain.links.append([0] * at.ROW_LINKS)
        chain.sections.append(None)
        for part in parts:
            _add(chain, part, curves)
        chain.spans.append([start, len(chain.kinds)])


def _is_plain(part: Part) -> bool:
    return isinstance(part, LossRow) and isinf(part.coefficient)


def _row(part: Row) -> tuple[int, list[float], tuple[tuple[float, float], ...]]:
    values = [0.0] * at.ROW_VALUES
    values[at.LIFT] = nan
    if isinstance(part, LossRow):
        values[at.FULL], values[at.OPENING] = part.coefficient, part.opening
        values[at.POWER], values[at.FLOOR] = part.power, part.floor
        values[at.CLOGGING] = part.clogging
        return at.LOSS, values, ()
    if isinstance(part, CheckRow):
        values[at.FULL], values[at.FLOOR] = part.coefficient, part.floor
        values[at.CLOSE_TIME] = part.close_time
        return at.CHECK, values, ()
    _body(values, part.body)
    values[at.LAG] = part.lag
    values[at.COCK] = float(part.is_cock_open)
    values[at.LIFT] = part.lift
    if isinstance(part, ShutOffRow):
        _shut_off(values, part)
        return at.SHUT_OFF, values, part.body.curve
    values[at.CLOSING], values[at.BAND] = part.closing, part.band
    values[at.RUNAWAY] = part.runaway
    values[at.SCREW] = nan
    if isinstance(part, DirectReducerRow):
        return at.DIRECT, values, part.body.curve
    _reducer(values, part)
    return at.REDUCER, values, part.body.curve


def _body(values: list[float], body: ValveBody) -> None:
    for column, value in (
        (at.FULL, body.coefficient),
        (at.FLOOR, body.floor),
        (at.SHAPE, body.shape),
        (at.LEAK, body.leak),
        (at.RECOVERY, body.recovery),
        (at.STROKE, body.stroke),
        (at.AREA, body.area),
        (at.SEAT_RATIO, body.seat_ratio),
        (at.FLOW_FORCE, body.flow_force),
        (at.SPRING_SHUT, body.spring_shut),
        (at.SPRING_RISE, body.spring_rise),
        (at.LOWEST, body.lowest),
    ):
        values[column] = value


def _reducer(values: list[float], part: ReducerRow) -> None:
    for column, value in (
        (at.FEED, part.feed),
        (at.FILTER, part.filter),
        (at.PILOT, part.pilot),
        (at.NEEDLE, part.needle),
        (at.TEAR, part.tear),
        (at.SCREW, part.screw),
        (at.PER_TURN, part.per_turn),
        (at.TURNS_FREE, part.turns_free),
        (at.SCREW_PLAY, part.screw_play),
        (at.PILOT_PLAY, part.pilot_play),
        (at.FRICTION, part.friction),
        (at.STUCK, part.stuck_pilot),
        (at.AIR_VOLUME, part.air),
        (at.AIR_EXPONENT, part.air_exponent),
        (at.DAMPING, part.damping),
        (at.DEAD_VOLUME, part.dead_volume),
    ):
        values[column] = value


def _shut_off(values: list[float], part: ShutOffRow) -> None:
    for column, value in (
        (at.HYDRAULIC, float(part.is_hydraulic)),
        (at.CLOSE_TIME, part.close_time),
        (at.OPEN_TIME, part.open_time),
        (at.CLOSE_NEEDLE, part.close_needle),
        (at.VENT, part.vent),
        (at.TRIP, part.trip),
        (at.RELEASE, part.release),
        (at.SWITCH_MAKES, part.switch_makes),
        (at.SWITCH_BREAKS, part.switch_breaks),
        (at.TRIP_AT, part.trip_at),
        (at.RESET_AT, part.reset_at),
    ):
        values[column] = value

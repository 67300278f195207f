"""From named numbers to the flat arrays of the steady engine, and back. Plain Python, no kernels.

Rows are written in the order of the march: from the consumer end **upstream**.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import inf, nan

from steadyhead.hydraulics.kernel import layout
from steadyhead.hydraulics.kernel.steady import solve
from steadyhead.hydraulics.kernel.tree import solve_tree
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
from steadyhead.laws.valves import critical_pressure_factor, series

Curve = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Row:
    """One element on its way into the arrays; `columns` are keyed by the columns of `layout`."""

    kind: int
    columns: dict[int, float] = field(default_factory=dict)
    tap: int = 0
    curve: Curve = ()
    incipient_curve: Curve = ()
    branches: tuple[tuple[Row, ...], ...] = ()


def loss(coefficient: float, *, is_tight: bool = False) -> Row:
    """Return a plain loss: strainer, meter, isolating valve.

    Parameters
    ----------
    coefficient
        k at its present opening, above 0. [m³/(s·√Pa)]
    is_tight
        True when it is shut and holds pressure apart at no flow.
    """
    return Row(layout.LOSS, {layout.FULL: coefficient, layout.TIGHT: float(is_tight)})


def pipe(*, length: float, diameter: float, roughness: float, rise: float) -> Row:
    """Return a main.

    Parameters
    ----------
    length, diameter, roughness
        [m]
    rise
        Level of its outlet end minus that of its inlet end. [m]
    """
    columns = {
        layout.LENGTH: length,
        layout.DIAMETER: diameter,
        layout.ROUGHNESS: roughness,
        layout.RISE: rise,
    }
    return Row(layout.PIPE, columns)


def drain(coefficient: float) -> Row:
    """Return a drain to atmosphere at a joint; k [m³/(s·√Pa)], 0 when shut."""
    return Row(layout.DRAIN, {layout.FULL: coefficient})


def relief(coefficient: float, *, crack: float, full: float, curve: Curve = ()) -> Row:
    """Return a relief valve at a joint.

    Parameters
    ----------
    coefficient
        k wide open. [m³/(s·√Pa)]
    crack, full
        Pressures at which it starts to lift and stands wide open. [Pa]
    curve
        Pressure [Pa] against share of lift, used instead where given.
    """
    columns = {layout.FULL: coefficient, layout.CLOSING: crack, layout.BAND: full - crack}
    return Row(layout.RELIEF, columns, curve=curve)


def check_valve(coefficient: float, *, floor: float) -> Row:
    """Return a check valve: k downstream [m³/(s·√Pa)], and the share of it that passes back [1]."""
    return Row(layout.CHECK, {layout.FULL: coefficient, layout.FLOOR: floor})


def parallel(*branches: Sequence[Row]) -> Row:
    """Return two to six branches between two joints, each written from its outlet upstream.

    A branch may hold anything a line may hold, a group too; all branches of a group rise alike.
    """
    return Row(layout.PARALLEL, branches=tuple(tuple(branch) for branch in branches))


def valve(
    *,
    full: float,
    lift: float,
    shape: float,
    floor: float,
    recovery: float,
    incipient: float,
    leak: float = 0.0,
    is_tight: bool = True,
    curve: Curve = (),
    incipient_curve: Curve = (),
) -> Row:
    """Return a shut-off, or any valve whose lift is given.

    Parameters
    ----------
    full, leak
        k fully open; k of a seat leak. [m³/(s·√Pa)]
    lift
        Share of full lift. [1]
    shape, floor, recovery, incipient
        b, numerical tightness above 0, F_L, x_Fz. [1]
    is_tight
        True when, shut, it holds pressure apart at no flow.
    curve, incipient_curve
        Lift against flow share, lift against x_Fz; used instead of `shape` and `incipient`.
    """
    columns = _valve_columns(full, shape, floor, leak, recovery, incipient)
    columns |= {layout.LIFT: lift, layout.TIGHT: float(is_tight)}
    return Row(layout.VALVE, columns, curve=curve, incipient_curve=incipient_curve)


def reducer(
    *,
    full: float,
    shape: float,
    floor: float,
    recovery: float,
    incipient: float,
    seat_ratio: float,
    flow_force: float,
    spring_shut: float,
    spring_rise: float,
    feed: float,
    pilot: float,
    closing: float,
    band: float,
    tap: int,
    leak: float = 0.0,
    lowest: float = 0.0,
    needle: float = inf,
    filter_coefficient: float = inf,
    tear: float = 0.0,
    given_lift: float = nan,
    stuck_pilot: float = nan,
    trapped: float = nan,
    is_feed_blocked: bool = False,
    curve: Curve = (),
    incipient_curve: Curve = (),
) -> Row:
    """Return a pilot-operated reducer.

    Parameters
    ----------
    full, leak, feed, pilot, needle, filter_coefficient, tear
        k of the valve fully open, of a seat leak, the feed restriction, the pilot wide open, the opening
        needle, the pilot filter, a torn diaphragm. [m³/(s·√Pa)]
    shape, floor, recovery, incipient
        b, numerical tightness above 0, F_L, x_Fz. [1]
    seat_ratio, flow_force
        r₀, r₁. [1]
    spring_shut, spring_rise
        s₀, s₁. [Pa]
    closing, band
        Pressure at the tap at which the pilot is shut; its proportional band. [Pa]
    tap
        Node it senses; at or downstream of its own outlet.
    lowest
        Lift on the seat, above 0 with debris. [1]
    given_lift, stuck_pilot
        Stem or pilot held there; NaN when free. [1]
    trapped
        Pressure trapped in its shut sensing line; NaN when open. [Pa]
    is_feed_blocked
        True when the chamber drains and never refills.
    curve, incipient_curve
        As in `valve`.
    """
    columns = _valve_columns(full, shape, floor, leak, recovery, incipient)
    columns |= {
        layout.LOWEST: lowest,
        layout.LIFT: given_lift,
        layout.SEAT_RATIO: seat_ratio,
        layout.FLOW_FORCE: flow_force,
        layout.SPRING_SHUT: spring_shut,
        layout.SPRING_RISE: spring_rise,
        layout.FEED: series(feed, filter_coefficient),
        layout.PILOT: pilot,
        layout.NEEDLE: needle,
        layout.TEAR: tear,
        layout.CLOSING: closing,
        layout.BAND: band,
        layout.STUCK: stuck_pilot,
        layout.TRAPPED: trapped,
        layout.BLOCKED: float(is_feed_blocked),
    }
    return Row(layout.REDUCER, columns, tap, curve, incipient_curve)


def direct_reducer(
    *,
    full: float,
    shape: float,
    floor: float,
    recovery: float,
    incipient: float,
    closing: float,
    band: float,
    tap: int,
    leak: float = 0.0,
    lowest: float = 0.0,
    given_lift: float = nan,
    curve: Curve = (),
    incipient_curve: Curve = (),
) -> Row:
    """Return a direct-acting reducer; parameters as in `reducer`, `band` for full lift. [Pa]"""
    columns = _valve_columns(full, shape, floor, leak, recovery, incipient)
    columns |= {
        layout.LOWEST: lowest,
        layout.LIFT: given_lift,
        layout.CLOSING: closing,
        layout.BAND: band,
        layout.TRAPPED: nan,
        layout.STUCK: nan,
    }
    return Row(layout.DIRECT, columns, tap, curve, incipient_curve)


def _valve_columns(
    full: float, shape: float, floor: float, leak: float, recovery: float, incipient: float
) -> dict[int, float]:
    return {
        layout.FULL: full,
        layout.SHAPE: shape,
        layout.FLOOR: floor,
        layout.LEAK: leak,
        layout.RECOVERY: recovery,
        layout.INCIPIENT: incipient,
    }


@dataclass(slots=True)
class Line:
    """A line as flat arrays; `values` may be changed between solves (one row per element).

    `is_tree`: it holds a parallel group or a check valve; `work` is what the march asks for besides.
    """

    end: int
    kinds: Integers
    links: IntegerTable
    values: FloatTable
    xs: Floats
    ys: Floats
    work: FloatTable
    is_tree: bool


@dataclass(slots=True)
class Solution:
    """What a solve left behind; NaN where there is no answer.

    Parameters
    ----------
    ending
        Index of `layout.ENDINGS`.
    residual
        Pressure left over at the supply. [Pa]
    evaluations
        Marches made.
    is_flowing
        Whether water runs anywhere.
    boils
        Whether some pressure stands below vapour pressure: the column would part there.
    nodes, flows
        Pressures [Pa] and flows through the elements [m³/s].
    outcomes
        What each valve does; columns of `layout`.
    """

    ending: int
    residual: float
    evaluations: int
    is_flowing: bool
    boils: bool
    nodes: Floats
    flows: Floats
    outcomes: FloatTable


def pack(rows: Sequence[Row]) -> Line:
    """Return a line's arrays; branches of parallel groups are appended behind the main line.

    First the branches of the groups of the main line, then those of the groups in these branches, and so on.
    The tap of a row in a branch counts from the branch's own first node when it is negative: −1 is the
    branch's outlet, −2 the next node upstream, and so on. Otherwise taps are nodes of the main line.
    """
    flat: list[Row] = list(rows)
    taps: list[int] = [row.tap for row in flat]
    spans: dict[int, list[int]] = {}
    index = 0
    while index < len(flat):
        for branch in flat[index].branches:
            flat.append(Row(layout.GAP))
            taps.append(0)
            start = len(flat)
            flat.extend(branch)
            taps.extend(start - 1 - part.tap if part.tap < 0 else part.tap for part in branch)
            spans.setdefault(index, []).extend((start, len(flat)))
        index += 1
    xs: list[float] = [0.0]
    ys: list[float] = [0.0]
    links = [_links(row, taps[index], spans.get(index, []), xs, ys) for index, row in enumerate(flat)]
    values = [[row.columns.get(column, 0.0) for column in range(layout.WIDTH)] for row in flat]
    return Line(
        end=len(rows),
        kinds=integers([row.kind for row in flat]),
        links=integer_table(links, layout.LINK_WIDTH),
        values=table(values, layout.WIDTH),
        xs=floats(xs),
        ys=floats(ys),
        work=table([[0.0] * layout.WORK_WIDTH], layout.WORK_WIDTH),
        is_tree=any(row.kind in (layout.PARALLEL, layout.CHECK) for row in flat),
    )


def _links(row: Row, tap: int, span: list[int], xs: list[float], ys: list[float]) -> list[int]:
    link = [0] * layout.LINK_WIDTH
    link[layout.TAP] = tap
    link[layout.CURVE], link[layout.CURVE_POINTS] = _add_curve(row.curve, xs, ys)
    link[layout.INCIPIENT_CURVE], link[layout.INCIPIENT_POINTS] = _add_curve(row.incipient_curve, xs, ys)
    if len(span) > 2 * layout.MOST_BRANCHES:
        raise ValueError(f"parallel: got {len(span) // 2} branches; at most {layout.MOST_BRANCHES}.")
    link[layout.BRANCHES] = len(span) // 2
    link[layout.SPANS : layout.SPANS + len(span)] = span
    return link


def _add_curve(curve: Curve, xs: list[float], ys: list[float]) -> tuple[int, int]:
    start = len(xs)
    xs.extend(point[0] for point in curve)
    ys.extend(point[1] for point in curve)
    return start, len(curve)


def conditions(
    *,
    density: float,
    viscosity: float,
    gravity: float,
    atmosphere_abs: float,
    vapour_pressure_abs: float,
    critical_pressure_abs: float,
    supply: float,
    reference: float,
    demand: float = 0.0,
    exponent: float = 0.5,
    drawn: float = nan,
) -> Floats:
    """Return the conditions of one solve.

    Parameters
    ----------
    density, viscosity
        [kg/m³], kinematic [m²/s]
    gravity
        [m/s²]
    atmosphere_abs, vapour_pressure_abs, critical_pressure_abs
        [Pa abs]
    supply
        At the supply node. [Pa]
    reference, demand, exponent
        Demand law: p_ref [Pa], k [m³/(s·√Pa)], n [1].
    drawn
        Imposed flow instead of the demand law; NaN for none. [m³/s]
    """
    row = [0.0] * layout.CONDITIONS
    row[layout.DENSITY] = density
    row[layout.VISCOSITY] = viscosity
    row[layout.GRAVITY] = gravity
    row[layout.ATMOSPHERE] = atmosphere_abs
    row[layout.VAPOUR] = vapour_pressure_abs
    row[layout.THROAT] = vapour_pressure_abs * critical_pressure_factor(
        vapour_pressure_abs, critical_pressure_abs
    )
    row[layout.SUPPLY] = supply
    row[layout.REFERENCE] = reference
    row[layout.DEMAND] = demand
    row[layout.EXPONENT] = exponent
    row[layout.DRAWN] = drawn
    return floats(row)


def blank_nodes(line: Line) -> Floats:
    """Return one NaN per node: nothing is known of pressures before."""
    return floats([nan] * (len(line.kinds) + 1))


def blank_solution(line: Line) -> Solution:
    """Return an empty solution of the right size, to be filled again and again."""
    count = len(line.kinds)
    return Solution(
        ending=layout.NOT_CONVERGED,
        residual=nan,
        evaluations=0,
        is_flowing=False,
        boils=False,
        nodes=blank_nodes(line),
        flows=floats([nan] * count),
        outcomes=table([[nan] * layout.OUT_WIDTH] * count, layout.OUT_WIDTH),
    )


def solve_line(line: Line, at: Floats, held: Floats | None = None, into: Solution | None = None) -> Solution:
    """Return the steady state of a line.

    Parameters
    ----------
    line
        From `pack`.
    at
        From `conditions`.
    held
        Pressures before, at every node, NaN where not known; what shut valves trap. [Pa]
    into
        A solution to fill instead of a new one.
    """
    solution = blank_solution(line) if into is None else into
    report = floats([0.0] * layout.REPORT_WIDTH)
    solver = solve_tree if line.is_tree else solve
    solution.ending = solver(
        line.end,
        layout.Elements(line.kinds, line.links, line.values, line.xs, line.ys, line.work),
        at,
        blank_nodes(line) if held is None else floats(held),
        solution.nodes,
        solution.flows,
        solution.outcomes,
        report,
    )
    solution.residual = float(report[layout.REPORT_RESIDUAL])
    solution.evaluations = int(report[layout.REPORT_EVALUATIONS])
    solution.is_flowing = bool(report[layout.REPORT_FLOWING] > 0.0)
    solution.boils = bool(report[layout.REPORT_BOILS] > 0.0)
    return solution

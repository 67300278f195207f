"""Lines to solve: the default station of the physics specification, section 8, in our own words."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf, nan

from steadyhead.hydraulics.kernel import assembly, layout
from steadyhead.hydraulics.kernel.assembly import Line, Row, Solution
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.laws.compiling import Floats

BAR = 1e5
DENSITY = 999.7

END, T4, T3, T3_UP, T2, T1 = 0, 1, 2, 3, 4, 5
"""Nodes: zone end, T4, T3 either side of the drain, T2, T1 (behind the strainer); 8 is the supply."""


@dataclass(frozen=True)
class Station:
    """The default station; Kv in m³/h, pressures in bar."""

    consumers: float = 30.0
    drawn: float = nan
    exponent: float = 0.5
    supply: float = 9.0
    lockup: float = 4.5
    band: float = 0.8
    drain: float = 0.0
    inlet_valve: float = 1.0
    outlet_valve: float = 1.0
    strainer: float = 300.0
    shut_off_downstream: bool = True
    shut_off_lift: float = 1.0
    reducer_tap: int | None = None
    supply_levels: tuple[float, float] = (0.0, 0.0)
    zone_levels: tuple[float, float] = (0.0, 0.0)
    main_lengths: tuple[float, float] = (500.0, 800.0)
    feed: float = 0.06
    needle: float = inf
    filter_kv: float = inf
    tear: float = 0.0
    leak: float = 0.0
    debris: float = 0.0
    given_lift: float = nan
    stuck_pilot: float = nan
    trapped: float = nan
    feed_blocked: bool = False

    @property
    def reducer_row(self) -> int:
        return 4 if self.shut_off_downstream else 3

    @property
    def shut_off_row(self) -> int:
        return 3 if self.shut_off_downstream else 4

    def but(self, **changes: object) -> Station:
        return replace(self, **changes)  # type: ignore[arg-type]

    def reducer(self) -> Row:
        k = k_of_kv
        return assembly.reducer(
            full=k(170.0, DENSITY), shape=1.0, floor=1e-5, recovery=0.85, incipient=0.45, seat_ratio=0.45,
            flow_force=0.15, spring_shut=0.05 * BAR, spring_rise=0.08 * BAR, feed=k(self.feed, DENSITY),
            pilot=k(0.12, DENSITY), closing=self.lockup * BAR, band=self.band * BAR,
            tap=self.reducer_row if self.reducer_tap is None else self.reducer_tap,
            leak=k(self.leak, DENSITY), lowest=self.debris, needle=k(self.needle, DENSITY),
            filter_coefficient=k(self.filter_kv, DENSITY), tear=k(self.tear, DENSITY),
            given_lift=self.given_lift, stuck_pilot=self.stuck_pilot, trapped=self.trapped * BAR,
            is_feed_blocked=self.feed_blocked,
        )  # fmt: skip

    def rows(self) -> list[Row]:
        shut_off = assembly.valve(
            full=k_of_kv(170.0, DENSITY),
            lift=self.shut_off_lift,
            shape=1.0,
            floor=1e-5,
            recovery=0.85,
            incipient=0.45,
        )
        valves = [shut_off, self.reducer()] if self.shut_off_downstream else [self.reducer(), shut_off]
        return [
            main(self.main_lengths[1], self.zone_levels),
            isolating_valve(self.outlet_valve),
            assembly.drain(k_of_kv(self.drain, DENSITY)),
            *valves,
            assembly.loss(k_of_kv(self.strainer, DENSITY)),
            isolating_valve(self.inlet_valve),
            main(self.main_lengths[0], self.supply_levels),
        ]

    def line(self) -> Line:
        return assembly.pack(self.rows())

    def at(self) -> Floats:
        return conditions(
            supply=self.supply, consumers=self.consumers, exponent=self.exponent, drawn=self.drawn
        )

    def solved(self, held: Floats | None = None) -> Solution:
        return assembly.solve_line(self.line(), self.at(), held)


def main(length: float, levels: tuple[float, float]) -> Row:
    return assembly.pipe(length=length, diameter=0.15, roughness=1e-4, rise=levels[1] - levels[0])


def isolating_valve(opening: float) -> Row:
    return assembly.loss(k_of_kv(894.0 * max(opening**1.5, 1e-5), DENSITY), is_tight=opening == 0.0)


def conditions(*, supply: float, consumers: float = 0.0, exponent: float = 0.5, drawn: float = nan) -> Floats:
    return assembly.conditions(
        density=DENSITY, viscosity=1.31e-6, gravity=9.81, atmosphere_abs=101325.0, vapour_pressure_abs=1228.0,
        critical_pressure_abs=221.2e5, supply=supply * BAR, reference=BAR,
        demand=k_of_kv(consumers, DENSITY), exponent=exponent, drawn=drawn,
    )  # fmt: skip


def bar(solution: Solution, node: int) -> float:
    return float(solution.nodes[node]) / BAR


def hourly(solution: Solution, row: int) -> float:
    return float(solution.flows[row]) * 3600.0


def state(solution: Solution, row: int) -> str:
    return layout.STATES[int(solution.outcomes[row][layout.OUT_STATE])]


def outcome(solution: Solution, row: int, column: int) -> float:
    return float(solution.outcomes[row][column])


def ending(solution: Solution) -> str:
    return layout.ENDINGS[solution.ending]

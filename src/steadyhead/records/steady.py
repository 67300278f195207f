"""What is asked of the steady twin, and what it answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

ValveState = Literal[
    "shut",
    "holding",
    "wide open",
    "lock-up",
    "creep",
    "works open",
    "cannot shut",
    "forced",
    "standing open",
    "flows back",
]
"""Own words. *holding*: regulates. *wide open*: cannot hold. *creep*: climbs to the inlet at no flow.
*works open*: feed blocked, opens further at every demand peak. *cannot shut*: pilot shut, still passes.
*standing open*: no flow, inlet below its setting. *forced*: lift given. *flows back*: water runs through it
from outlet to inlet."""


@dataclass(frozen=True, slots=True)
class Conditions:
    """One steady situation of a station.

    Parameters
    ----------
    supply_pressure
        Gauge pressure where the supply pressures of the file are stated. [Pa]
    consumer_kv
        Draw-off at the consumer end as Kv of its demand law. [m³/h at 1 bar]; None: use `consumer_flow`.
    consumer_flow
        Imposed draw-off. [m³/s]; used where `consumer_kv` is None. Both None: consumers isolated.
    demand_exponent
        n of demand ∝ pⁿ.
    openings
        Opening share 0…1 by id, for isolating valves, drains, and relief valves (below 1: behind a throttled
        cock); missing: valves on the way open, drains shut, relief valves free, valves of manual bypasses
        and of branches locked shut are shut.
    isolated
        Ids of branches of parallel groups that are taken out altogether.
    lockup
        lockup_pressure by reducer id [Pa]; missing: as the design sets it.
    forced_lift
        Lift share by id of reducer or shut-off; a shut-off without an entry stands open.
    band, feed_share, strainer_clog, seat_leak_kv
        What-if changes of the inside: proportional band [Pa] by reducer id, share of the feed Kv left,
        multiplier on the strainer's loss, seat leak [Kv] by reducer id.
    pilot_stuck, trapped_sense, torn_kv, debris_lift
        By reducer id: pilot held at this opening 0…1, pressure trapped in a shut sensing line [Pa], Kv of a
        torn diaphragm, least lift share with debris on the seat.
    """

    supply_pressure: float
    consumer_kv: float | None = None
    consumer_flow: float | None = None
    demand_exponent: float = 0.5
    openings: Mapping[str, float] = field(default_factory=dict)
    lockup: Mapping[str, float] = field(default_factory=dict)
    forced_lift: Mapping[str, float] = field(default_factory=dict)
    band: Mapping[str, float] = field(default_factory=dict)
    feed_share: Mapping[str, float] = field(default_factory=dict)
    strainer_clog: float = 1.0
    seat_leak_kv: Mapping[str, float] = field(default_factory=dict)
    pilot_stuck: Mapping[str, float] = field(default_factory=dict)
    trapped_sense: Mapping[str, float] = field(default_factory=dict)
    torn_kv: Mapping[str, float] = field(default_factory=dict)
    debris_lift: Mapping[str, float] = field(default_factory=dict)
    isolated: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class ValveReading:
    """The inside of one valve in a steady situation.

    lift and pilot_opening 0…1; pressures gauge at the station datum [Pa]; flow [m³/s], below 0 back;
    pressure_ratio x_F = Δp/(p1 − pv); sigma_1 = (p1 − pv)/Δp, sigma_2 = sigma_1 − 1 (absolute pressures).
    """

    lift: float
    state: ValveState
    inlet_pressure: float
    outlet_pressure: float
    flow: float
    pilot_opening: float = 0.0
    chamber_pressure: float = 0.0
    pressure_ratio: float = 0.0
    sigma_1: float = float("inf")
    sigma_2: float = float("inf")
    choked: bool = False
    incipient: bool = False


@dataclass(frozen=True, slots=True)
class Steady:
    """A steady answer of the twin.

    Parameters
    ----------
    flow
        Flow into the station. [m³/s]
    consumer_flow
        Flow through the outlet to the consumers. [m³/s]
    drains
        Flow out of each drain and relief valve by id. [m³/s]
    taps
        Gauge pressure at each tap at the station datum. [Pa]
    consumer_end
        Gauge pressure at the consumer end at its own level. [Pa]
    valves
        Reading of each reducer and shut-off by id.
    residual
        What the solver left over. [Pa]
    nodes
        Every node pressure, for the memory of the next situation. [Pa]
    """

    flow: float
    consumer_flow: float
    drains: Mapping[str, float]
    taps: Mapping[str, float]
    consumer_end: float
    valves: Mapping[str, ValveReading]
    residual: float
    nodes: tuple[float, ...] = ()

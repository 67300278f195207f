"""One drawn station in every state of a visit, sound or with something wrong in it.

States are the situations of `steadyhead.visits.questions`; `lockup` and its like stand for the reading after
a section has been shut a while, with `.early` for the one taken at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite, nan, sqrt
from typing import Any

from steadyhead.hydraulics import Model
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.visits import spans
from steadyhead.visits.drains import outlet_drain
from steadyhead.visits.signatures import defaults as d
from steadyhead.visits.signatures.base import DESIGN, Base
from steadyhead.visits.signatures.twin import SOUND, Change, Changed
from steadyhead.visits.trial import WaterTable

EARLY = ".early"
STILL = ("lockup", "lockup_set", "lowest", "monitor_lockup", "monitor_lockup_set")
RUNNING = ("trickle", "trickle_set", "at_trip", "monitor", "monitor_set", "first_open")
"""At trickle, the inlet valve at its V2 opening."""
DRAINED = ("v2_drain", "v2_drain_lowest")
OPEN = ("duty", "flow", "served")
"""With the inlet valve open."""
QUIET = ("static", "v2")
TWIN = (*RUNNING, *OPEN, *DRAINED, *QUIET, *STILL, *(f"{name}{EARLY}" for name in STILL), "after_trip")
"""States the twin is asked for."""
_SHARES = {"trickle": (0.3, 0.6, 1.0, 1.8, 3.0), "duty": (0.4, 0.7, 1.0, 1.4)}
"""Flows of the tables over the one that is asked for."""
_HALVINGS = 24
_NOTHING = 0.05
"""A place this near the starved outlet is starved as well, as a share of the supply. [1]"""


@dataclass(frozen=True)
class Site:
    """What a visit does at a line, the same for every drawn station.

    share: V2 opening of the inlet valve; trickle [m³/s]; points: of the flow test [m³/s]; storage: water a
    shut outlet takes in per pressure [m³/Pa].
    """

    model: Model
    share: float
    trickle: float
    points: tuple[float, ...]
    storage: float
    base: Base = DESIGN
    """Values as left that are found, at the datum."""

    def flows(self, state: str) -> tuple[float, ...]:
        """Return the flows a state is worked out at; empty where no flow counts. [m³/s]"""
        if state in RUNNING:
            return tuple(share * self.trickle for share in _SHARES["trickle"])
        if state == "duty":
            duty = spans.worker(self.model.layout).duty.flow.si
            flows = sorted({r.duty.flow.si for r in spans.judged(self.model.layout)} | {duty})
            return tuple(sorted({share * flow for flow in flows for share in _SHARES["duty"]}))
        if state == "flow":
            return tuple(sorted({0.3 * self.trickle, *self.points}))
        if state == "served":
            demand = self.model.station.demand
            return tuple(sorted({demand.night.si, demand.average.si, demand.peak.si} - {0.0}))
        return ()


class Drawn:
    """One drawn station, set as a visit finds it and leaves it."""

    def __init__(self, site: Site, draws: Mapping[str, float], water: WaterTable) -> None:
        self.site, self.draws = site, draws
        self.model, self.layout = site.model, site.model.layout
        self.trial = Changed(site.model, draws, water)
        self.worker, self.watching = spans.worker(self.layout), spans.monitor(self.layout)
        inlet, drain = self.layout.inlet_valve, outlet_drain(self.layout)
        self.v2 = {inlet.id: site.share} if inlet is not None else {}
        self.drain = drain.id if drain is not None else ""
        self.lockups: dict[str, dict[str, float]] = {}
        self._settle()

    def _draw(self, name: str) -> float:
        return self.draws.get(name, 0.0)

    def _settle(self) -> None:
        reducers = self.layout.reducers
        usual = {r.id: self.model.lockup[r.id].si - r.duty.pressure.si for r in reducers}
        duty = {r.id: self.draws.get(f"{r.id}.duty", r.duty.pressure.si) for r in reducers}
        rise = {r.id: self.draws.get(f"{r.id}.lockup_rise", usual[r.id]) for r in reducers}
        self.trial.settle_bands(duty, rise, {r.id: r.duty.flow.si for r in reducers})
        found = {name: at + self._draw(f"{name}.drift") for name, at in self._as_left().items()}
        self.lockups["found"] = found
        self.lockups["set"] = self._as_set(found)
        self.lockups["lowest"] = {**found, **{r.id: self._lowest(r.id, rise[r.id]) for r in self._judged()}}
        self.lockups["trip"] = self._at_trip(found)
        if self.watching is not None:
            self._monitored(found)

    def _as_left(self) -> dict[str, float]:
        """Return where the pilots were left: as read then, else as the design has them."""
        base, stands = self.site.base, dict(self.trial.lockup)
        supply = self.model.station.supply.typical.si
        for reducer in self.layout.reducers:
            name = reducer.id
            if name in base.duties and reducer in self._judged():
                wanted, noted = base.duties[name]
                flow = max(reducer.duty.flow.si if noted is None else noted, 1e-6)
                role = spans.role_of(self.layout, name)
                stands[name], _ = self.trial.setting(
                    name, role, wanted, lockup=stands, flow=flow, supply=supply
                )
            elif name in base.lockups:
                stands[name] = base.lockups[name]
        return stands

    def _judged(self) -> tuple[Any, ...]:
        return spans.judged(self.layout)

    def _lowest(self, name: str, rise: float) -> float:
        reducer = next(r for r in self.layout.reducers if r.id == name)
        return reducer.pilot.spring_low.si * self.draws.get(f"{name}.lowest", 1.0) + rise

    def _as_set(self, found: Mapping[str, float]) -> dict[str, float]:
        stands = dict(found)
        for reducer in self._judged():
            role = spans.role_of(self.layout, reducer.id)
            flow = max(reducer.duty.flow.si * self.draws.get("flow", 1.0), 1e-6)
            wanted = reducer.duty.pressure.si
            stands[reducer.id], _ = self.trial.setting(reducer.id, role, wanted, lockup=stands, flow=flow)
            stands[reducer.id] += self._draw(f"{reducer.id}.nut")
        return stands

    def _at_trip(self, found: Mapping[str, float]) -> dict[str, float]:
        shut_off = self.layout.shut_off
        if shut_off is None or shut_off.trip is None:
            return dict(found)
        stands, wanted = dict(found), self.site.base.trips.get(shut_off.id, shut_off.trip.si)
        if self.watching is not None:
            stands[self.watching.id] = wanted + self.trial.band[self.watching.id]
        stands[self.worker.id], _ = self.trial.setting(
            self.worker.id, "T3", wanted, lockup=stands, flow=self.site.trickle, openings=self.v2
        )
        return stands

    def _monitored(self, found: Mapping[str, float]) -> None:
        watching = self.watching
        assert watching is not None
        wanted, flow = watching.duty.pressure.si, max(watching.duty.flow.si, 1e-6)
        high = (
            max(found[watching.id], wanted) + self.trial.band[watching.id] + self.trial.band[self.worker.id]
        )
        stood = {**found, self.worker.id: high}
        by_hand, _ = self.trial.setting(watching.id, "T3", wanted, lockup=stood, flow=flow)
        self.lockups["monitor"] = stood
        self.lockups["monitor_set"] = {**stood, watching.id: by_hand}

    # What is read.

    def most(self, state: str, change: Change) -> float | None:
        """Return the largest flow that can pass, where it is less than the table's largest. [m³/s]"""
        flows = self.site.flows(state)
        if not flows or self._passes(state, change, flows[-1]):
            return None
        low, high = 0.0, flows[-1]
        for flow in reversed(flows[:-1]):
            if self._passes(state, change, flow):
                low = flow
                break
            high = flow
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self._passes(state, change, middle) else (low, middle)
        return low

    def starved(self, state: str, change: Change, most: float) -> frozenset[str]:
        """Return the places at which next to nothing is left when all runs that can pass."""
        taps = self._running(state, change, most)
        end = (
            taps["T3"] + _NOTHING * self.trial.supply
        )  # where water chokes the outlet falls to nothing at once
        return frozenset(role for role, p in taps.items() if p <= end)

    def _passes(self, state: str, change: Change, flow: float) -> bool:
        taps = self._running(state, change, flow)
        return isfinite(taps.get("T3", nan)) and taps["T3"] >= 0.0

    def read(self, state: str, change: Change, flow: float = 0.0) -> dict[str, float]:
        """Return pressures by place in a state [Pa at datum]; NaN where the twin has no answer.

        flow: as noted, where the state has one; it must be able to pass. [m³/s]
        """
        if state.removesuffix(EARLY) in STILL:
            return self._still(state, change)
        if state in DRAINED:
            return self._drained(state, change)
        if state in QUIET:
            lockup = self.lockups["found"]
            seen = self.trial.seen(change, lockup=lockup, openings=self.v2 if state == "v2" else None)
            places = ("T0", "T1", *self._upstream())  # what a shut valve cuts off was vented before
            return {r: p if isfinite(p) else 0.0 for r, p in seen.taps.items() if r in places}
        if state == "after_trip":
            return self._tripped(change)
        factor = self.draws.get("trickle" if state in RUNNING else "flow", 1.0)
        taps = self._running(state, change, max(flow, 1e-9) * factor)
        return {role: max(p, 0.0) if isfinite(p) else nan for role, p in taps.items()}

    def _upstream(self) -> tuple[str, ...]:
        """Return the roles between the valves at which the inlet stands when no water runs."""
        return tuple(r for r in spans.between_roles(self.layout) if r not in spans.reduced(self.layout))

    def _running(self, state: str, change: Change, flow: float) -> Mapping[str, float]:
        stands = {
            "trickle": "found", "first_open": "found", "at_trip": "trip", "served": "found",
            "monitor": "monitor", "monitor_set": "monitor_set",
        }.get(state, "set")  # fmt: skip
        lift = {self.layout.reducers[0].id: 1.0} if state == "first_open" else None
        seen = self.trial.seen(
            change,
            lockup=self._anew(state, self.lockups[stands]),
            flow=flow,
            openings=self.v2 if state in RUNNING else None,
            lift=lift,
        )
        return seen.taps if seen.solved else dict.fromkeys(seen.taps, nan)

    def _anew(self, state: str, lockup: Mapping[str, float]) -> dict[str, float]:
        """Return where the pilots stand this time: each comes back a little off."""
        when = "trickle" if state in ("first_open", "at_trip") else state
        return {name: at + self._draw(f"{name}.repeat.{when}") for name, at in lockup.items()}

    def _drained(self, state: str, change: Change) -> dict[str, float]:
        lockup = self._anew(state, self.lockups["lowest" if state == "v2_drain_lowest" else "found"])
        sound = self.trial.seen(SOUND, lockup=lockup, openings=self.v2, drains={self.drain: 1.0})
        through = self.trial.full(self.drain) * sqrt(max(sound.taps["T3"], 0.0)) if sound.solved else 0.0
        seen = self.trial.seen(
            change, lockup=lockup, openings=self.v2, drains={self.drain: 1.0}, passing=through
        )
        if not seen.solved:
            return dict.fromkeys(seen.taps, nan)
        return {role: max(p, 0.0) for role, p in seen.taps.items()}

    def _tripped(self, change: Change) -> dict[str, float]:
        shut_off = self.layout.shut_off
        assert shut_off is not None
        assert shut_off.trip is not None
        share = self.site.trickle / (self.trial.full(self.drain) * sqrt(max(shut_off.trip.si, 1.0)))
        seen = self.trial.seen(
            change,
            lockup=self.lockups["trip"],
            openings=self.v2,
            drains={self.drain: min(share, 1.0)},
            lift={shut_off.id: 0.0},
        )
        return {role: max(p, 0.0) if isfinite(p) else nan for role, p in seen.taps.items()}

    def _still(self, state: str, change: Change) -> dict[str, float]:
        """Return where shut sections stand after a while, a leaking one on its way up to the inlet."""
        name = state.removesuffix(EARLY)
        stands = {
            "lockup": "found", "lockup_set": "set", "lowest": "lowest",
            "monitor_lockup": "monitor", "monitor_lockup_set": "monitor_set",
        }[name]  # fmt: skip
        lockup = self._anew(name, self.lockups[stands])
        places = {spans.role_of(self.layout, r.id) for r in self._judged()}
        sound = self.trial.seen(SOUND, lockup=lockup, openings=self.v2).taps
        end = self.trial.seen(change, lockup=lockup, openings=self.v2).taps
        watch = d.WATCH["early" if state.endswith(EARLY) else "late"]
        found = {}
        for place in places:
            rests, ends = sound[place], end[place]
            if not isfinite(ends):  # shut on what was trapped: it stays
                ends = rests
            if change.leak > 0.0 and ends > rests:
                leak = k_of_kv(change.leak, self.trial.density)
                ends = risen(rests, ends, leak, watch, self.site.storage)
            found[place] = ends
        return found


def risen(start: float, inlet: float, leak: float, seconds: float, storage: float) -> float:
    """Return what a shut section stands at after a while of leaking in. [Pa]

    Parameters
    ----------
    start, inlet
        Pressure at the beginning, and of the water that leaks in. [Pa]
    leak
        k of the leak. [m³/(s·√Pa)]
    seconds
        [s]
    storage
        Water the section takes in per pressure. [m³/Pa]

    Notes
    -----
    From q = k √(inlet − p) and dp/dt = q / storage: √(inlet − p) falls evenly in time.
    """
    if storage <= 0.0:
        return inlet
    root = sqrt(max(inlet - start, 0.0)) - 0.5 * leak * seconds / storage
    return inlet - max(root, 0.0) ** 2

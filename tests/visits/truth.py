"""A true station hidden inside the stated tolerances, and what its gauges show: the other side of the bands.

Shares no code with the drawing of bands: tolerances are drawn here by hand, the true values are written
into the station file, and the visit is done with the steady twin's own door: drains really opened, the
outlet valve really shut, screws turned until the gauge reads what the plan asks for.
"""

from __future__ import annotations

import copy
from itertools import pairwise
from math import log, sqrt
from typing import Any

import numpy as np

from steadyhead.design import defaults as dd
from steadyhead.hydraulics import Model, build, build_plain, solve
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.station import Station
from steadyhead.records.steady import Conditions, Steady
from steadyhead.records.values import Origin, Value
from steadyhead.station import mechanics
from steadyhead.station.defaults import LOCKUP_RISE
from steadyhead.station.layout import read_layout
from steadyhead.visits import defaults as d

Random = np.random.Generator
DENSITY_GRAVITY = 9.81 * 999.6
CLOSE_FLOW = 1e-3


def even(rng: Random, half: float) -> float:
    """Return an error of which nothing but its bound is known."""
    return float(rng.uniform(-half, half))


def bell(rng: Random, two_sigma: float) -> float:
    return float(rng.normal(0.0, two_sigma / 2.0))


class Truth:
    """One true station and its visit; `shown` holds what the gauges show, by the key of the question."""

    def __init__(self, data: dict[str, Any], plan: PlanNumbers, rng: Random) -> None:
        self.rng, self.plan = rng, plan
        self.stated = Station.model_validate(data)
        self.layout = read_layout(self.stated)
        self.model = self._hide(data)
        self.reducers = self.layout.reducers
        self.watching, self.last = self._pair()
        self.judged = tuple(r for r in self.reducers if r is not self.watching)
        self.inner = tuple(p.id for p in self.stated.line if p.part == "tap" and p.id.startswith("T2"))
        self.down = self.layout.shut_off_place == "downstream"
        self.shut_off = self.layout.shut_off
        self.day = self._day()
        self.gauges = self._instruments()
        self.shown: dict[str, float] = {}
        self.flow_error = even(
            rng, d.METERED_FLOW_SPREAD.si if self._is_metered() else d.JUDGED_FLOW_SPREAD.si
        )
        self.trickle = plan.trickle_flow * (1.0 + even(rng, d.JUDGED_FLOW_SPREAD.si))
        self.drift = {
            r.id: even(rng, r.drift.si if r.drift else 0.03 * r.duty.pressure.si) for r in self.reducers
        }
        self.pilot = {
            r.id: (rng.uniform(0, 0.9), rng.uniform(0, 0.3e5), rng.uniform(0, 0.04)) for r in self.reducers
        }
        opening = plan.inlet_opening.values()
        self.share = min((o.share for o in opening), default=1.0)

    def _pair(self) -> tuple[Reducer | None, Reducer]:
        """Return the monitor, the higher set of two at one tap, and the reducer that holds the outlet."""
        reducers = self.layout.reducers
        if len(reducers) < 2 or reducers[0].senses != reducers[1].senses:
            return None, reducers[-1]
        low, high = sorted(reducers, key=lambda r: r.duty.pressure.si)
        return high, low

    # Hiding true values in the file.

    def _hide(self, data: dict[str, Any]) -> Model:
        true = copy.deepcopy(data)
        rng = self.rng
        water = self.stated.water
        low = water.lowest.si if water.lowest else water.temperature.si - 3.0
        high = water.highest.si if water.highest else water.temperature.si + 3.0
        true["water"] = {"temperature": f"{rng.uniform(low, high) - 273.15:.6f} °C"}
        if "main" in true["supply"]:
            rough = build_plain(self.stated).line.values[-1][23] if "stated_at" in true["supply"] else 1e-4
            factor = 2.0 ** float(rng.normal(0.0, 1.0 / 1.959964))
            true["supply"]["main"]["roughness"] = f"{max(float(rough), 1e-6) * factor * 1e3:.9f} mm"
        for part, stated in zip(true["line"], self.stated.line, strict=True):
            self._hide_part(part, stated)
        return build(Station.model_validate(true))

    def _hide_part(self, part: dict[str, Any], stated: Any) -> None:
        kind = part["part"]
        if kind in ("reducer", "shut_off"):
            self._hide_valve(part, stated)
        if kind == "isolating_valve":
            part["kv"] = self._kv(mechanics.isolating_kv(stated))
        elif kind == "strainer":
            part["kv_clean"] = self._kv(mechanics.strainer_kv(stated))
        elif kind == "flow_meter":
            part["kv"] = self._kv(mechanics.meter_kv(stated))
        elif kind == "drain":
            part["kv"] = self._kv(mechanics.drain_kv(stated))

    def _kv(self, value: Value) -> str:
        spread = value.spread if value.spread is not None else 0.10 * value.si
        return f"Kv {value.si + even(self.rng, min(spread, 0.9 * value.si)):.9g}"

    def _hide_valve(self, part: dict[str, Any], stated: Reducer | ShutOff) -> None:
        twin = (
            mechanics.reducer_twin(stated) if isinstance(stated, Reducer) else mechanics.shut_off_twin(stated)
        )
        part["kv"] = self._kv(twin.kv)
        inside = dict(part.get("mechanics") or {})
        for name, half, unit in (
            ("curve_shape", 0.5, ""), ("seat_ratio", 0.1, ""), ("flow_force", 0.4, ""),
            ("spring_shut", 0.5, " Pa"), ("spring_rise", 0.5, " Pa"),
        ):  # fmt: skip
            value = getattr(twin, name)
            if value.origin is Origin.DEFAULT:
                inside[name] = f"{value.si * (1.0 + even(self.rng, half)):.9g}{unit}"
        part["mechanics"] = inside
        if isinstance(stated, Reducer):
            part["lockup"] = f"{stated.duty.pressure.si + self._rise(stated):.6f} Pa"

    def _rise(self, stated: Reducer) -> float:
        if stated.lockup is None and stated.kind == "direct-acting":
            return float(self.rng.uniform(0.3e5, 1e5))
        if stated.lockup is None:
            return LOCKUP_RISE.si + even(self.rng, 0.1e5)
        rise = stated.lockup.si - stated.duty.pressure.si
        half = stated.lockup.spread if stated.lockup.spread is not None else 0.05e5
        return rise + even(self.rng, min(half, rise - 0.02e5))

    def _day(self) -> float:
        """Return the supply pressure of the day: half below typical, nine tenths below night."""
        supply = self.stated.supply
        steps = [(0.0, supply.min.si), (0.5, supply.typical.si)]
        steps += [(0.9, supply.night.si)] if supply.night else []
        steps.append((1.0, supply.static.si))
        chance = self.rng.random()
        for (x0, y0), (x1, y1) in pairwise(steps):
            if chance <= x1:
                return y0 + (y1 - y0) * (chance - x0) / (x1 - x0)
        return steps[-1][1]

    def _is_metered(self) -> bool:
        return any(p.part == "flow_meter" or (p.part == "drain" and p.metered) for p in self.stated.line)

    # Gauges.

    def _instruments(self) -> dict[str, tuple[float, float, float]]:
        """Return by tap: error of its gauge, error of reading, height; one error for each gauge."""
        errors: dict[str, float] = {}
        found = {}
        heights = {p.id: p.height.si if p.height else 0.0 for p in self.stated.line if p.part == "tap"}
        for tap in heights:
            name, span, accuracy = self._gauge_at(tap)
            if name not in errors:
                errors[name] = even(self.rng, accuracy * span)
            found[tap] = (errors[name], 0.0025 * span, heights[tap])
        return found

    def _gauge_at(self, tap: str) -> tuple[str, float, float]:
        """Return the gauge read at a tap: the setting gauge behind a reducer, a wide one before it."""
        order = [part.id for part in self.stated.line]
        holds = min(order.index(r.id) for r in self.judged)
        behind = tap in ("T3", "T4") or (tap.startswith("T2") and order.index(tap) > holds)
        top = self.stated.supply.static.si
        if behind:
            tops = [r.duty.pressure.si for r in self.layout.reducers]
            tops += [s.trip.si for s in self.layout.shut_offs if s.trip]
            top = max(tops)
        able = [g for g in self.stated.gauges if g.span.si >= top]
        wanted = [g for g in able if g.for_setting == behind] or able
        if wanted:
            best = min(wanted, key=lambda g: g.accuracy.si * g.span.si)
            return best.id, best.span.si, best.accuracy.si
        span = next(s * 1e5 for s in (1, 1.6, 2.5, 4, 6, 10, 16, 25, 40, 60, 100) if top <= 0.75 * s * 1e5)
        return f"assumed {span}", span, d.GAUGE_ACCURACY.si

    def gauge(self, tap: str, pressure: float, *, wet: bool = True) -> float:
        error, reading, height = self.gauges[tap]
        column = DENSITY_GRAVITY * height if wet else 0.0
        return pressure - column + error + even(self.rng, reading)

    def show(self, situation: str, steady: Steady | dict[str, float], *taps: str) -> None:
        found = steady.taps if isinstance(steady, Steady) else steady
        for tap in taps:
            if tap in found:
                self.shown[f"{situation}.{tap}"] = self.gauge(tap, found[tap])

    # The station.

    def real(self, reducer: Reducer, flow: float) -> float:
        """Return how far a real pilot stands above the twin's, straight from no flow to duty to peak."""
        slope, droop, inlet = self.pilot[reducer.id]
        slope = 0.0 if reducer.kind == "direct-acting" else slope
        typical, peak, duty = self.stated.supply.typical.si, self.stated.demand.peak.si, reducer.duty.flow.si
        rise = self.model.lockup[reducer.id].si - reducer.duty.pressure.si
        at = [0.0, duty, peak, 9 * peak - 8 * duty]
        along = float(np.interp(flow, at, [slope * rise, 0.0, -droop, -9 * droop])) if flow > 0 else 0.0
        return inlet * (self.day - typical) + along

    def state(
        self,
        lockup: dict[str, float],
        drain: float,
        inlet: float,
        flow: float,
        lift: dict[str, float] | None = None,
    ) -> Steady:
        openings = {"IV1": inlet, "IV2": 0.0, "TD": drain}
        openings |= {part.id: 0.0 for part in self.layout.reliefs}
        stands = {r.id: lockup[r.id] + self.real(r, flow) for r in self.reducers}
        conditions = Conditions(self.day, openings=openings, lockup=stands, forced_lift=lift or {})
        return solve(self.model, conditions)

    def running(
        self, lockup: dict[str, float], flow: float, inlet: float, lift: dict[str, float] | None = None
    ) -> Steady | None:
        """Return the state with the drain opened until `flow` runs; None where it cannot."""
        low, high = 0.0, 1.0
        best = self.state(lockup, high, inlet, flow, lift)
        if best.drains["TD"] < flow * (1.0 - CLOSE_FLOW):
            return None
        share = min(flow / best.drains["TD"], 1.0)
        for _ in range(60):
            best = self.state(lockup, share, inlet, flow, lift)
            if abs(best.drains["TD"] - flow) <= 1e-5 * flow:
                break
            low, high = (share, high) if best.drains["TD"] < flow else (low, share)
            guess = share * flow / max(best.drains["TD"], 1e-9)
            share = guess if low < guess < high else 0.5 * (low + high)
        return best

    def repeat(self, reducer: Reducer) -> float:
        stated = reducer.repeatability
        return bell(self.rng, stated.si if stated else max(0.1e5, 0.02 * reducer.duty.pressure.si))

    def still(self, reducer: Reducer, lockup: dict[str, float]) -> float:
        return lockup[reducer.id] + self.repeat(reducer) + self.real(reducer, 0.0)

    def moved(self, lockup: dict[str, float]) -> dict[str, float]:
        return {r.id: lockup[r.id] + self.repeat(r) for r in self.reducers}

    def tap_of(self, reducer: Reducer) -> str:
        if reducer is not self.reducers[0] or len(self.judged) == 1:
            return "T3"
        return self.stage

    @property
    def stage(self) -> str:
        """Return the tap between two reducers in series, each holding a section of its own."""
        return self.inner[-1] if self.shut_off is None or not self.down else self.inner[0]

    @property
    def sides(self) -> tuple[str, str]:
        """Return the taps at the two sides of the shut-off."""
        if not self.inner:
            return ("T1", "T2")
        return (self.inner[-1], "T3") if self.down else ("T1", self.inner[0])

    def turn_until(
        self,
        reducer: Reducer,
        tap: str,
        wanted: float,
        lockup: dict[str, float],
        flow: float,
        inlet: float,
        lift: dict[str, float] | None = None,
    ) -> Any:
        """Turn a screw by halving until the pressure at a tap is as wanted; return lock-ups and state."""
        low, high = 0.2 * wanted, wanted + 2e5
        steady = None
        for _ in range(28):
            middle = 0.5 * (low + high)
            steady = self.running({**lockup, reducer.id: middle}, flow, inlet, lift)
            if steady is None or steady.taps[tap] < wanted:
                low = middle
            else:
                high = middle
        return {**lockup, reducer.id: 0.5 * (low + high)}, steady

    # The visit.

    def go(self) -> dict[str, float]:
        design = {r.id: self.model.lockup[r.id].si for r in self.reducers}
        found = {name: design[name] + self.drift[name] for name in design}
        still = solve(self.model, Conditions(self.day))
        for tap in ("T1", *self.inner, "T3"):
            if tap in self.gauges:
                self.shown[f"vented.{tap}"] = self.gauge(tap, 0.0, wet=False)
        self.show("static", still, "T0", "T1")
        self.show("v2", still, "T1")
        self.shown["v2.loss"] = self._loss(still, "T0", "T1")
        self._full_drain("v2_drain", self.moved(found), "T1", "T3")
        lockup = self.moved(found)
        trickle = self.running(lockup, self.trickle, self.share)
        if trickle is not None:
            self.show("trickle", trickle, "T1", *self.inner, "T3")
        for reducer in self.judged:
            self.show("lockup", {self.tap_of(reducer): self.still(reducer, found)}, self.tap_of(reducer))
        self._lowest(found)
        if self.shut_off is not None and self.shut_off.trip is not None:
            self._trip(self.shut_off, found, lockup)
        self._watched(found)
        self._relieved()
        if len(self.judged) > 1:
            alone = self.running(self.moved(found), self.trickle, self.share, {self.reducers[0].id: 1.0})
            if alone is not None:
                self.show("first_open", alone, self.stage, "T3")
        if self.stated.alarm:
            error = self.stated.alarm.error.si if self.stated.alarm.error else dd.ALARM_ERROR.si
            self.show("alarm", {"T3": self.stated.alarm.pressure.si + even(self.rng, error)}, "T3")
        self._set_and_flow(found)
        return self.shown

    def _watched(self, found: dict[str, float]) -> None:
        """Open the worker: the monitor holds, as found, then as set by the gauge at its own duty flow."""
        monitor = self.watching
        if monitor is None:
            return
        error = self.gauges["T3"][0]
        wanted = monitor.duty.pressure.si - error  # the plan names the duty as the gauge would read it
        open_wide = {self.last.id: 1.0}
        flow = monitor.duty.flow.si * (1.0 + self.flow_error)
        tap = "T3"
        by_hand, _ = self.turn_until(monitor, tap, wanted, dict(found), flow, 1.0, open_wide)
        for end, stands in (("", found[monitor.id]), ("_set", by_hand[monitor.id])):
            lockup = {**found, monitor.id: stands + self.repeat(monitor)}
            steady = self.running(lockup, self.trickle, self.share, open_wide)
            if steady is not None:
                self.show(f"monitor{end}", steady, *self.inner, "T3")
            still = self.still(monitor, {monitor.id: stands})
            self.show(f"monitor_lockup{end}", {"T3": still}, "T3")

    def _relieved(self) -> None:
        """Let a relief valve lift and shut: about its crack, with a step of 0.1 bar and its own fall."""
        for relief in self.layout.reliefs:
            crack = relief.crack.si
            error = relief.error.si if relief.error else max(0.1e5, 0.03 * crack)
            off = even(self.rng, error)
            fall = crack - relief.reseat.si if relief.reseat else 0.1 * crack
            for name, at in (
                ("relief_crack", crack + off + self.rng.uniform(0.0, 0.1e5)),
                ("relief_reseat", crack + off - fall * (1.0 + even(self.rng, 0.5))),
            ):
                self.shown[f"{name}.{relief.id}"] = self.gauge("T3", at)

    def _lowest(self, found: dict[str, float]) -> None:
        """Turn each reducer to its lowest setting: its spring may go slack, or stop above its plate."""
        for reducer in self.judged:
            rise = self.model.lockup[reducer.id].si - reducer.duty.pressure.si
            bottom = reducer.pilot.spring_low.si * self.rng.uniform(0.5, 1.1) + rise
            low = {**found, reducer.id: bottom}
            tap = self.tap_of(reducer)
            self.show("lowest", {tap: self.still(reducer, low)}, tap)
            if tap == "T3":
                self._full_drain("v2_drain_lowest", self.moved(low), "T3")

    def _full_drain(self, situation: str, lockup: dict[str, float], *taps: str) -> None:
        """Open the drain fully: by halving, the flow that a real pilot's droop leaves the pressure for."""
        low, high = 0.0, self.state(lockup, 1.0, self.share, 0.0).drains["TD"]
        for _ in range(25):
            flow = 0.5 * (low + high)
            steady = self.state(lockup, 1.0, self.share, flow)
            low, high = (flow, high) if steady.drains["TD"] > flow else (low, flow)
        self.show(situation, steady, *taps)

    def _trip(self, shut_off: ShutOff, found: dict[str, float], at_trickle: dict[str, float]) -> None:
        assert shut_off.trip is not None
        rng, trip = self.rng, shut_off.trip.si
        tolerance = shut_off.repeatability.si if shut_off.repeatability else max(0.15e5, 0.025 * trip)
        drift = shut_off.drift.si if shut_off.drift else 0.02 * trip
        target = self.plan.target_reading["trip.T3"]
        error, _, height = self.gauges["T3"]
        wanted = target + DENSITY_GRAVITY * height - error
        away = {self.watching.id: 1.0} if self.watching is not None else None
        lockup, steady = self.turn_until(
            self.last, "T3", wanted, self.moved(found), self.trickle, self.share, away
        )
        acts = trip + even(rng, drift) + bell(rng, tolerance)
        for situation, at in (("trip", acts), ("trip_set", wanted + bell(rng, tolerance))):
            seen = at + rng.uniform(0.0, tolerance / 2)
            self.show(situation, {"T3": seen}, "T3")
            self.show(f"{situation}_mid", {"T3": seen - tolerance / 4}, "T3")
        self.show("trip_held", {"T3": wanted + even(rng, 0.05e5)}, "T3")
        if shut_off.dead_band is not None:
            self.show("reset", {"T3": acts - shut_off.dead_band.si * (1.0 + even(rng, 0.2))}, "T3")
        if steady is None:
            return
        wander = even(rng, 0.05e5)
        down, near = self.down, self.sides
        held = {
            tap: p + (wander if tap == "T3" or (down and tap in near) else 0.0)
            for tap, p in steady.taps.items()
        }
        self.show("at_trip", held, "T1", *self.inner, "T3")
        self.show("after_trip", solve(self.model, Conditions(self.day)), "T1")
        for tap in ("T3",) if down else (*self.inner, "T3"):
            if tap in self.gauges:
                self.shown[f"after_trip.{tap}"] = self.gauge(tap, 0.0, wet=False)
        if down:
            self.show("after_trip", {near[0]: self.still(self.last, lockup)}, near[0])
        if down and len(self.judged) > 1:
            self.show("after_trip", {self.stage: self.still(self.reducers[0], found)}, self.stage)
        elif down and self.watching is not None:
            inlet = solve(self.model, Conditions(self.day)).taps["T1"]
            inside = inlet if self.watching is self.reducers[0] else self.still(self.last, lockup)
            self.show("after_trip", {self.inner[0]: inside}, self.inner[0])
        rate = mechanics.pressure_per_turn(self.last.pilot)
        half = rate.spread / rate.si if rate.spread is not None else 0.1
        raised = lockup[self.last.id] - at_trickle[self.last.id]
        self.shown[f"turns.{self.last.id}"] = raised / (rate.si * (1.0 + even(rng, half)))
        self._stroke(shut_off, steady, down)

    def _stroke(self, shut_off: ShutOff, steady: Steady, down: bool) -> None:
        before, after = self.sides
        if before not in steady.taps or after not in steady.taps:
            return
        stated = build_plain(self.stated)
        now = stroke(stated, shut_off, steady.taps[before], steady.taps[after], self.trickle)
        if shut_off.closing is None:
            needle = stated.k(mechanics.shut_off_twin(shut_off).closing_needle_kv.si)
            time = now / needle * (1.0 + even(self.rng, 0.3))
        else:
            flow = shut_off.closing.flow.si if shut_off.closing.flow else self.plan.trickle_flow
            then = stroke(stated, shut_off, steady.taps[before], steady.taps[after], flow)
            time = shut_off.closing.time.si * now / then * (1.0 + even(self.rng, 0.2))
        self.shown["closing.time"] = time

    def _set_and_flow(self, found: dict[str, float]) -> None:
        lockup = dict(found)
        for reducer in self.judged:
            tap = self.tap_of(reducer)
            error, _, height = self.gauges[tap]
            wanted = self.plan.target_reading[f"duty.{tap}"] + DENSITY_GRAVITY * height - error
            flow = reducer.duty.flow.si * (1.0 + self.flow_error)
            lockup, steady = self.turn_until(reducer, tap, wanted, lockup, flow, 1.0)
            if steady is None:
                return
            self.show("duty", steady, *(("T1",) if tap == "T3" else ()))
            self.show("duty", {tap: steady.taps[tap] + even(self.rng, 0.02e5)}, tap)
        again = self.running(self.moved(lockup), self.trickle, self.share)
        if again is not None:
            self.show("trickle_set", again, *self.inner, "T3")
        for reducer in self.judged:
            self.show("lockup_set", {self.tap_of(reducer): self.still(reducer, lockup)}, self.tap_of(reducer))
        steady = None
        moved = self.moved(lockup)
        for number, flow in enumerate(self.plan.flow_points, start=1):
            true = self.trickle if number == 1 else flow * (1.0 + self.flow_error)
            steady = self.running(moved, true, 1.0)
            if steady is None:
                return
            self.show(f"flow.{number}", steady, "T0", "T1", *self.inner, "T3")
        if steady is not None:
            self.shown["strainer.loss"] = self._loss(steady, "T0", "T1")
            sides = self.sides
            if self.shut_off is not None:
                self.shown["shut_off.loss"] = self._loss(steady, *sides)

    def _loss(self, steady: Steady, before: str, after: str) -> float:
        """Return what one gauge, moved from tap to tap, shows as a difference."""
        _, reading, _ = self.gauges["T1"]
        column = DENSITY_GRAVITY * (self.gauges[before][2] - self.gauges[after][2])
        return (
            steady.taps[before]
            - steady.taps[after]
            - column
            + even(self.rng, reading)
            - even(self.rng, reading)
        )


def stroke(model: Model, shut_off: ShutOff, before: float, after: float, flow: float) -> float:
    """Return the integral of the closing stroke, by the midpoint rule on a fine grid in log of the lift."""
    twin = mechanics.shut_off_twin(shut_off)
    full, shape = model.k(twin.kv.si), twin.curve_shape.si
    draw = flow / sqrt(after)
    edges = np.exp(np.linspace(log(1e-9), 0.0, 4001))
    lift = 0.5 * (edges[1:] + edges[:-1])
    share = lift * np.sqrt((1 + shape**2) / (1 + shape**2 * lift**2))
    k = full * np.maximum(share, twin.seat_tightness.si)
    difference = before / (1.0 + (k / draw) ** 2)
    ratio = twin.seat_ratio.si - twin.flow_force.si * lift
    drive = (1.0 - ratio) * difference + twin.spring_shut.si + twin.spring_rise.si * lift
    return float(twin.diaphragm_area.si * twin.stroke.si * np.sum(np.diff(edges) / np.sqrt(drive)))

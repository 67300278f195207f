"""Lock-up rise and droop of a reducer, out of what its outlet read at known flows after the last touch."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot, inf, sqrt

from steadyhead.hydraulics import Model
from steadyhead.hydraulics.solving import CRITICAL_PRESSURE_ABS
from steadyhead.laws.valves import choked_differential, critical_pressure_factor, series
from steadyhead.records.baseline import Fitted, LeftOut, Reason, Undetermined
from steadyhead.records.parts import Reducer, Tap
from steadyhead.records.values import Value
from steadyhead.station.mechanics import ReducerTwin
from steadyhead.visits import defaults as vd
from steadyhead.visits import spans
from steadyhead.visits.fitting import defaults as d
from steadyhead.visits.fitting.adjusting import NORMAL_95, Adjusted, Sight, Unknown, Values, adjust_and_sift
from steadyhead.visits.fitting.losses import points_of
from steadyhead.visits.fitting.outcome import Outcome, correlated, relative
from steadyhead.visits.fitting.taken import Readings, Taken
from steadyhead.visits.questions import tap_of_role

LOCKUPS = {"H2": "last", "Y7L": "last", "Y3": "lockup"}
"""Input that is the lock-up at measured zero flow, by step."""
AT_TRICKLE = {
    "EF1": "reading",
    "ES1": "reading",
    "ES2": "reading",
    "H1F": "trickle",
    "Y3": "trickle",
    "Y7L": "trickle",
}
"""Input read at the plan's trickle where no flow is noted, by step."""
AT_DUTY = {"H1": ("duty", "trickle"), "Y7": ("duty", "trickle")}
"""Inputs read at a noted flow after the nut, by step."""
LEAST_DIFFERENCE = 1e3
"""Least difference across a reducer the law is asked at. [Pa]"""
LEAST_SHARE = 1e-3
"""Least share of the difference in the chamber: there the pilot is wide open anyhow. [1]"""
_WHOLE = 1.2
"""Highest flow of a test over the duty flow from which a droop is told."""


@dataclass(frozen=True, slots=True)
class Point:
    """An outlet reading with the flow and the inlet pressure of the reducer it belongs to. [m³/s], [Pa]"""

    taken: Taken
    flow: float
    flow_sigma: float
    inlet: float


class Pilot:
    """The law of a pilot-operated reducer in closed form: how far its pilot stands open.

    Sound circuit, water running forwards; direct-acting reducers by their lift alone.
    """

    def __init__(self, model: Model, reducer: Reducer) -> None:
        twin: ReducerTwin = model.reducer_twin(reducer.id)
        self.twin, self.is_direct = twin, reducer.kind == "direct-acting"
        self.full = model.k(twin.kv.si)
        self.floor = self.full * twin.seat_tightness.si
        whole = model.k(twin.feed_kv.si)
        self.feed = series(whole, model.k(twin.filter_kv.si)) if twin.filter_kv else whole
        self.pilot = model.k(twin.pilot_kv.si)
        self.needle = model.k(twin.opening_needle_kv.si) if twin.opening_needle_kv else inf
        vapour = model.water.vapour_pressure_abs
        self.throat = critical_pressure_factor(vapour, CRITICAL_PRESSURE_ABS) * vapour
        self.atmosphere = model.atmosphere

    def opening(self, flow: float, inlet: float, outlet: float, force: float) -> float:
        """Return the pilot's opening at a flow [m³/s] between two pressures [Pa], flow force as given. [1]

        Notes
        -----
        ρ = r₀ − r₁ξ − (s₀ + s₁ξ)/D, k_d = k_f √(1/ρ − 1), y = k_d/k_p (laws of `steadyhead.laws.pilot`);
        below the flow of the pilot itself the seat is shut and k_d follows from that flow.
        """
        drop = max(inlet - outlet, LEAST_DIFFERENCE)
        if flow <= 0.0:
            return 0.0
        if self.is_direct:
            return self._lift(flow, inlet, drop)
        drain = self._drain(0.0, drop, force)
        own = max(flow / sqrt(drop) - self.floor, 0.0)
        if own < series(self.feed, drain):
            return self._stands(own / sqrt(1.0 - (own / self.feed) ** 2))
        for _ in range(2):
            bleed = series(self.feed, drain) * sqrt(drop)
            drain = self._drain(self._lift(flow - bleed, inlet, drop), drop, force)
        return self._stands(drain)

    def _drain(self, lift: float, drop: float, force: float) -> float:
        twin = self.twin
        spring = twin.spring_shut.si + twin.spring_rise.si * lift
        share = max(twin.seat_ratio.si - force * lift - spring / drop, LEAST_SHARE)
        return self.feed * sqrt(max(1.0 / share - 1.0, 0.0))

    def _stands(self, drain: float) -> float:
        if self.needle < inf:
            drain = drain / sqrt(max(1.0 - (drain / self.needle) ** 2, LEAST_SHARE))
        return drain / self.pilot

    def _lift(self, flow: float, inlet: float, drop: float) -> float:
        limit = choked_differential(inlet, self.twin.pressure_recovery.si, self.atmosphere, self.throat)
        share = min(max(flow, 0.0) / sqrt(min(drop, max(limit, LEAST_DIFFERENCE))) / self.full, 1.0)
        return self._lift_of(share)

    def _lift_of(self, share: float) -> float:
        curve = self.twin.curve
        if not curve:
            square = self.twin.curve_shape.si**2
            return share / sqrt(1.0 + square - square * share * share) if share < 1.0 else 1.0
        for (x0, y0), (x1, y1) in pairwise(curve):
            if share <= y1:
                return x0 + (x1 - x0) * (share - y0) / (y1 - y0) if y1 > y0 else x1
        return 1.0

    @property
    def most_force(self) -> float:
        """Flow force beyond which the pilot wide open could not open the valve fully at any inlet."""
        least = 1.0 / (1.0 + (self.pilot / self.feed) ** 2)
        return self.twin.seat_ratio.si - least


class _Holding:
    """One reducer: its readings, and what the law makes of them."""

    def __init__(self, readings: Readings, model: Model, reducer: Reducer) -> None:
        self.readings, self.model, self.reducer = readings, model, reducer
        self.law = Pilot(model, reducer)
        self.role = spans.role_of(readings.view.layout, reducer.id)
        self.above = _role_above(readings, reducer)
        self.points = tuple(self._points())
        self.duty = reducer.duty.pressure.si
        self.inlet_at_duty = self._usual_inlet()
        self.former_rise = model.lockup[reducer.id].si - self.duty
        self.former_force = self.law.twin.flow_force.si

    def _points(self) -> list[Point]:
        after = self.readings.last_touch(self.reducer.id)
        found = []
        for one in self.readings.all:
            if one.role != self.role or one.at <= after or not self._is_own(one):
                continue
            flow, sigma = self._flow(one)
            if flow is not None:
                found.append(Point(one, flow, sigma, self._inlet(one, flow)))
        return found

    def _is_own(self, one: Taken) -> bool:
        """Whether a step speaks of this reducer: of no part by name, or of this one."""
        part = one.node.partition("@")[0].partition(".")[2]
        valves = {reducer.id for reducer in self.readings.view.layout.reducers}
        return part not in valves or part == self.reducer.id

    def _flow(self, one: Taken) -> tuple[float | None, float]:
        """Return the flow of a reading and its standard deviation; None: it tells nothing of this."""
        name = one.input.partition(".")[0]
        if LOCKUPS.get(one.base) == one.input:
            return (None, 0.0) if one.flow else (0.0, 0.0)
        known = one.flow is not None and one.flow > 0.0
        if one.base == "H4" and name == one.role and one.number:
            return (one.flow, self._flow_sigma(one)) if known else (None, 0.0)
        if one.input in AT_DUTY.get(one.base, ()):
            return (one.flow, self._flow_sigma(one)) if known else (None, 0.0)
        if AT_TRICKLE.get(one.base) == one.input:
            usual = self.readings.trickle / d.TRICKLE_FACTOR
            return (one.flow, self._flow_sigma(one)) if known else (usual, 0.5 * usual)
        return None, 0.0

    def _flow_sigma(self, one: Taken) -> float:
        error = self.readings.error(one.flow_meter, "flow", one.flow or 0.0)
        return hypot(error.common, error.reading)

    def _inlet(self, one: Taken, flow: float) -> float:
        """Return the inlet pressure at a reading: of its point, else of the nearest flow, else as usual."""
        beside = [
            other
            for other in self.readings.all
            if other.node == one.node and other.role == self.above and other.input.startswith(self.above)
        ]
        same = [other for other in beside if other.number == one.number]
        if same:
            return same[-1].value
        points = [taps[self.above] for taps in points_of(self.readings).values() if self.above in taps]
        near = min(points, key=lambda other: abs((other.flow or 0.0) - flow), default=None)
        return near.value if near is not None else self._usual_inlet()

    def _usual_inlet(self) -> float:
        layout = self.readings.view.layout
        before = [r for r in layout.reducers if layout.position(r.id) < layout.position(self.reducer.id)]
        if before and spans.staged(layout):
            return before[-1].duty.pressure.si
        station = self.readings.station
        level = station.supply.level.si if station.supply.level else station.station.datum.si
        lift = (level - station.station.datum.si) * self.model.density * 9.81
        return station.supply.typical.si + lift

    def opening_at_duty(self, force: float) -> float:
        """Return the pilot's opening at the duty the file states, inlet as usual. [1]"""
        return self.law.opening(self.reducer.duty.flow.si, self.inlet_at_duty, self.duty, force)

    def below(self, values: Values, point: Point, flow: float) -> float:
        """Return how far the outlet stands below the lock-up at a flow. [Pa]"""
        force = values["force"]
        band = values["rise"] / max(self.opening_at_duty(force), 1e-6)
        return band * self.law.opening(flow, point.inlet, point.taken.value, force)

    def sights(self) -> list[Sight]:
        """Return the readings for the adjustment."""
        return [self._sight(point) for point in self.points]

    def _sight(self, point: Point) -> Sight:
        start = {"rise": max(self.former_rise, 1e4), "force": self.former_force}
        wide = 0.0
        if point.flow_sigma > 0.0:
            more, less = point.flow + point.flow_sigma, max(point.flow - point.flow_sigma, 0.0)
            wide = abs(self.below(start, point, more) - self.below(start, point, less)) / 2.0
        zero = f"zero {point.taken.gauge}"

        def predict(values: Values) -> float:
            return values["lockup"] + values.get(zero, 0.0) - self.below(values, point, point.flow)

        return Sight(point.taken.entry, point.taken.value, hypot(point.taken.sigma, wide), predict)

    def unknowns(self, priors: Mapping[str, float]) -> list[Unknown]:
        """Return lock-up, rise, flow force, and the zeros of the gauges where there are several."""
        top = max(point.taken.value for point in self.points)
        rise, force = max(self.former_rise, 1e4), self.former_force
        found = [
            Unknown("lockup", top, 1e4),
            Unknown("rise", rise, 1e4, 0.0, inf, priors.get("rise")),
        ]
        if self.law.is_direct:
            found.append(Unknown("force", 0.0, 1.0, sigma=1e-9))
        else:
            most = max(self.law.most_force, force)
            found.append(Unknown("force", force, 0.1, 0.0, most, priors.get("force")))
        gauges = {point.taken.gauge: point.taken.common for point in self.points}
        if len(gauges) > 1:
            found += [
                Unknown(f"zero {name}", 0.0, common, sigma=common) for name, common in sorted(gauges.items())
            ]
        return found

    @property
    def has_lockup(self) -> bool:
        """Whether the outlet was read at no flow."""
        return any(point.flow == 0.0 for point in self.points)

    @property
    def reaches_far(self) -> bool:
        """Whether it was read well above the duty flow: only there the valve stands open further."""
        return bool(self.flows) and self.flows[-1] > _WHOLE * self.reducer.duty.flow.si

    @property
    def flows(self) -> tuple[float, ...]:
        """Flows it was read at, rising; without no flow. [m³/s]"""
        return tuple(sorted({point.flow for point in self.points if point.flow > 0.0}))


def fit_holding(readings: Readings, model: Model, reducer: Reducer) -> Outcome:
    """Return lock-up rise, flow force and droop of a reducer after the last touch of it.

    The twin's law of droop: p = p_lock-up − b y(Q, D). Rise and force together; what the readings leave open
    keeps its former value with its former spread. Friction of the pilot shows as scatter between up and down.

    Parameters
    ----------
    readings
        Of one way through the station.
    model
        Its twin.
    reducer
        One that holds a section in normal running.
    """
    one = _Holding(readings, model, reducer)
    if not one.points:
        return Outcome(undetermined=tuple(_nothing(one, name, needs) for name, needs in _NEEDS.items()))
    priors = {} if one.has_lockup and one.flows else {"rise": _spread(one, "rise")}
    priors |= {} if one.reaches_far else {"force": _spread(one, "force")}
    found = adjust_and_sift(one.unknowns(priors), one.sights())
    for name in ("force", "rise"):
        if name not in priors and not _is_told(one, found, name, priors):
            priors[name] = _spread(one, name)
            found = adjust_and_sift(one.unknowns(priors), one.sights())
    outcome = Outcome(left_out=tuple(_dropped(found, one)))
    outcome += _rise(one, found, priors)
    outcome += _force(one, found, priors)
    keys = {"rise": f"{reducer.id}.lockup_rise", "force": f"{reducer.id}.flow_force"}
    outcome += Outcome(correlations=correlated(found, keys, outcome.fitted))
    return outcome + _droop(one, {label for label, _ in found.left_out})


_NEEDS = {"lockup_rise": "holding.lockup", "flow_force": "holding.flow_test", "droop": "holding.flow_test"}
_FIELD = {"rise": "lockup_rise", "force": "flow_force"}


def _spread(one: _Holding, name: str) -> float:
    """Return the standard deviation of what was known before."""
    if name == "rise":
        stated: Value = one.model.lockup[one.reducer.id]
        return max(stated.spread or vd.LOCKUP_RISE_SPREAD.si, 1e3) / NORMAL_95
    return max(vd.INSIDE_SPREAD["flow_force"].si * one.former_force, 1e-3) / NORMAL_95


def _is_told(one: _Holding, found: Adjusted, name: str, priors: Mapping[str, float]) -> bool:
    if name in priors or (name == "force" and one.law.is_direct):
        return name not in priors
    share = relative(found.within(name), found.values[name])
    return share <= d.MOST_RELATIVE.si and name not in found.at_edge


def _rise(one: _Holding, found: Adjusted, priors: Mapping[str, float]) -> Outcome:
    former, value, within = one.former_rise, found.values["rise"], found.within("rise")
    source = one.model.lockup[one.reducer.id].provenance
    if "rise" in priors or not _is_told(one, found, "rise", priors) or found.misfit > d.MISFIT:
        return _no_rise(one, found, priors, former, source)
    return Outcome(fitted=(_fitted(one, found, "lockup_rise", "pressure", value, within, former, source),))


def _no_rise(
    one: _Holding, found: Adjusted, priors: Mapping[str, float], former: float, source: str
) -> Outcome:
    """Return why there is no rise: no lock-up, no flow beside it, readings too coarse or at odds."""
    if not one.has_lockup or not one.flows:
        reason = one.readings.lacking(*LOCKUPS) if not one.has_lockup else "no readings"
        needs = "holding.lockup" if not one.has_lockup else "holding.duty"
        return _lacks(one, "lockup_rise", "pressure", reason, needs, (None, None), former, source)
    first = adjust_and_sift(one.unknowns({k: v for k, v in priors.items() if k != "rise"}), one.sights())
    why: Reason = "does not fit" if found.misfit > d.MISFIT else "too wide"
    shown = (first.values["rise"], first.within("rise"))
    return _lacks(one, "lockup_rise", "pressure", why, "holding.again", shown, former, source)


def _force(one: _Holding, found: Adjusted, priors: Mapping[str, float]) -> Outcome:
    if one.law.is_direct:
        return Outcome()
    former, source = one.former_force, one.law.twin.flow_force.provenance
    value, within = found.values["force"], found.within("force")
    if "force" not in priors and _is_told(one, found, "force", priors) and found.misfit <= d.MISFIT:
        return Outcome(fitted=(_fitted(one, found, "flow_force", "ratio", value, within, former, source),))
    first = adjust_and_sift(one.unknowns({k: v for k, v in priors.items() if k != "force"}), one.sights())
    value, within = first.values["force"], first.within("force")
    reason: Reason = "too wide"
    if not one.reaches_far:
        reason = "too few"
    elif "force" in first.at_edge and value > 0.0:
        reason = "at its edge"
    elif first.misfit > d.MISFIT:
        reason = "does not fit"
    needs = "holding.law" if reason in ("at its edge", "does not fit") else "holding.flow_test"
    shown = (None, None) if reason == "too few" else (value, within)
    return _lacks(one, "flow_force", "ratio", reason, needs, shown, former, source)


def _droop(one: _Holding, gone: set[str]) -> Outcome:
    """Return the fall from the duty flow to the highest flow of the test as read: no law in it."""
    groups = _by_flow([point for point in one.points if point.taken.entry not in gone and point.flow > 0.0])
    flows = sorted(groups)
    duty = one.reducer.duty.flow.si
    if len(flows) < 2 or flows[-1] <= _WHOLE * duty or flows[0] > _WHOLE * duty:
        return _lacks(one, "droop", "pressure", "too few", "holding.flow_test", (None, None), None, "")
    start, sigma = _between(groups, flows, duty)
    end, end_sigma = groups[flows[-1]]
    value, within = start - end, NORMAL_95 * hypot(sigma, end_sigma)
    if relative(within, value) > d.MOST_RELATIVE.si or value < 0.0:
        shown = (value, within)
        return _lacks(one, "droop", "pressure", "too wide", "holding.again", shown, None, "")
    used = [point for point in one.points if point.flow in (flows[-1],) or point.flow <= _WHOLE * duty]
    entries = tuple(point.taken.entry for point in used if point.flow > 0.0)
    steps = tuple(dict.fromkeys(point.taken.node for point in used if point.flow > 0.0))
    state = {"from_flow": max(duty, flows[0]), "to_flow": flows[-1]}
    droop = Fitted(
        one.reducer.id, "droop", "pressure", value, within, None, "", steps, one.readings.proofs(steps),
        entries, len(entries), state,
    )  # fmt: skip
    return Outcome(fitted=(droop,))


def _by_flow(points: Sequence[Point]) -> dict[float, tuple[float, float]]:
    """Return mean reading and its standard deviation by flow; readings that differ widen it."""
    found: dict[float, list[Point]] = {}
    for point in points:
        near = next((flow for flow in found if abs(flow - point.flow) <= 0.05 * flow), point.flow)
        found.setdefault(near, []).append(point)
    groups = {}
    for flow, same in found.items():
        values = [point.taken.value for point in same]
        own = sqrt(sum(point.taken.sigma**2 for point in same)) / len(same)
        groups[flow] = (sum(values) / len(values), max(own, (max(values) - min(values)) / sqrt(12.0)))
    return groups


def _between(
    groups: Mapping[float, tuple[float, float]], flows: Sequence[float], at: float
) -> tuple[float, float]:
    """Return reading and standard deviation at a flow, straight between those read."""
    low = max((flow for flow in flows if flow <= at), default=flows[0])
    high = min((flow for flow in flows if flow >= at), default=flows[-1])
    if low >= high:
        return groups[low]
    share = (at - low) / (high - low)
    (first, s), (last, t) = groups[low], groups[high]
    return first + share * (last - first), hypot((1.0 - share) * s, share * t)


def _fitted(
    one: _Holding,
    found: Adjusted,
    name: str,
    kind: str,
    value: float,
    within: float,
    former: float,
    source: str,
) -> Fitted:
    gone = {label for label, _ in found.left_out}
    used = [point.taken for point in one.points if point.taken.entry not in gone]
    steps = tuple(dict.fromkeys(taken.node for taken in used))
    state = {"duty_flow": one.reducer.duty.flow.si}
    if one.flows:
        state |= {"lowest_flow": one.flows[0], "highest_flow": one.flows[-1]}
    return Fitted(
        one.reducer.id, name, kind, value, within, former, source, steps, one.readings.proofs(steps),
        tuple(taken.entry for taken in used), len(used), state,
    )  # fmt: skip


def _lacks(
    one: _Holding,
    name: str,
    kind: str,
    reason: Reason,
    needs: str,
    shown: tuple[float | None, float | None],
    kept: float | None,
    source: str,
) -> Outcome:
    lacking = Undetermined(one.reducer.id, name, kind, reason, needs, *shown, kept, source)
    return Outcome(undetermined=(lacking,))


def _nothing(one: _Holding, name: str, needs: str) -> Undetermined:
    steps = LOCKUPS if name == "lockup_rise" else ("H4",)
    kept = {"lockup_rise": one.former_rise, "flow_force": one.former_force}.get(name)
    source = {
        "lockup_rise": one.model.lockup[one.reducer.id].provenance,
        "flow_force": one.law.twin.flow_force.provenance,
    }.get(name, "")
    kind = "ratio" if name == "flow_force" else "pressure"
    reason = one.readings.lacking(*steps)
    return Undetermined(one.reducer.id, name, kind, reason, needs, None, None, kept, source)


def _dropped(found: Adjusted, one: _Holding) -> list[LeftOut]:
    by_entry = {point.taken.entry: point.taken for point in one.points}
    rows = [(by_entry[label], off) for label, off in found.left_out]
    return [LeftOut(t.entry, t.node, t.input, t.value, "pressure", "outlier", off) for t, off in rows]


def _role_above(readings: Readings, reducer: Reducer) -> str:
    """Return the role of the nearest tap ahead of a reducer."""
    roles = {tap: role for role, tap in tap_of_role(readings.view.layout).items()}
    main = readings.view.layout.main
    ahead = main[: readings.view.layout.position(reducer.id)]
    return next((roles[p.id] for p in reversed(ahead) if isinstance(p, Tap) and p.id in roles), "T1")

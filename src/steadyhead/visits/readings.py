"""What one drawn station would show at every question: the visit, gone through once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from math import nan, sqrt

from steadyhead.hydraulics import Model
from steadyhead.records.parts import Reducer
from steadyhead.visits import defaults as d
from steadyhead.visits import spans
from steadyhead.visits.drains import outlet_drain
from steadyhead.visits.facts import trip_repeatability
from steadyhead.visits.gauging import Tap
from steadyhead.visits.questions import Question, sides_of_shut_off
from steadyhead.visits.reliefs import relief_reseat
from steadyhead.visits.stroke import Before, closing_time, needle
from steadyhead.visits.trial import State, Trial, WaterTable

_DRAIN_LOOKS = 6
_DRAIN_CLOSE = 2e-3
"""The flow of a fully open drain is found when it differs by this share."""

Draws = Mapping[str, float]


@dataclass(frozen=True)
class Work:
    """What the plan will do at the station, the same for every drawn one.

    Parameters
    ----------
    model
        Of the stated station.
    taps
        By role, with gauges.
    asked
        The readings wanted.
    inlet_share
        V2 opening of the inlet valve. [1]
    trickle
        [m³/s]
    flow_points
        Of the flow test, trickle first. [m³/s]
    targets
        What the gauges shall read when set: ``duty.T3``, ``trip.T3``, … [Pa at the tap]
    """

    model: Model
    taps: Mapping[str, Tap]
    asked: tuple[Question, ...]
    inlet_share: float
    trickle: float
    flow_points: tuple[float, ...]
    targets: Mapping[str, float] = field(default_factory=dict)

    def role_of(self, reducer: Reducer) -> str:
        """Return the tap at which a reducer's setting is read: T3, or the one behind the first of two."""
        return spans.role_of(self.model.layout, reducer.id)


def readings(work: Work, draws: Draws, water: WaterTable) -> dict[str, float]:
    """Return what every question of a plan would read at one drawn station.

    Parameters
    ----------
    work
        What is done.
    draws
        Value of each parameter; missing ones as stated, errors zero.
    water
        Over the temperatures drawn.

    Returns
    -------
    dict
        By question key, as the gauge at that tap reads [Pa], or [s], [turn]. NaN: the twin has no answer.
    """
    visit = _Visit(work, draws, water)
    visit.go()
    return {question.key: visit.read(question) for question in work.asked}


class _Visit:
    """One drawn station and what has been found at it so far."""

    def __init__(self, work: Work, draws: Draws, water: WaterTable) -> None:
        self.work, self.draws = work, draws
        self.layout = work.model.layout
        self.trial = Trial(work.model, draws, water)
        self.found: dict[str, float] = {}
        self.empty: set[str] = set()
        inlet = self.layout.inlet_valve
        self.v2 = {inlet.id: work.inlet_share} if inlet is not None else {}
        self.trickle = work.trickle * draws.get("trickle", 1.0)
        self.inner = spans.between_roles(self.layout)
        self.as_found: dict[str, float] = {}
        self.as_set: dict[str, float] = {}

    # What the visit does, in its order.

    def go(self) -> None:
        self._settle()
        self._still_water()
        self._as_found()
        if self.layout.shut_off is not None and "trip.T3" in self.work.targets:
            self._trip()
        if spans.staged(self.layout):
            self._first_open()
        if spans.monitored(self.layout):
            self._monitor()
        self._reliefs()
        self._set()
        self._flows()

    def _settle(self) -> None:
        reducers = self.layout.reducers
        duty = {r.id: self.draws.get(f"{r.id}.duty", r.duty.pressure.si) for r in reducers}
        usual = {r.id: self.work.model.lockup[r.id].si - r.duty.pressure.si for r in reducers}
        rise = {r.id: self.draws.get(f"{r.id}.lockup_rise", usual[r.id]) for r in reducers}
        self.trial.settle_bands(duty, rise, {r.id: r.duty.flow.si for r in reducers})
        self.as_found = {
            r.id: self.trial.lockup[r.id] + self.draws.get(f"{r.id}.drift", 0.0) for r in reducers
        }

    def _still_water(self) -> None:
        state = self.trial.at()
        self._note("static", state, "T0", "T1")
        self._note("v2", state, "T1")
        self._loss("v2", state, "T0", "T1")
        for role in ("T1", *self.inner, "T3"):
            self._empty(f"vented.{role}")

    def _as_found(self) -> None:
        state = self._run("trickle", self.as_found, self.trickle)
        self._note("trickle", state, "T1", *self.inner, "T3")
        self._note("v2_drain", self._full_drain("v2_drain", self.as_found), "T1", "T3")
        self._lowest()
        for reducer in spans.judged(self.layout):
            self.found[f"lockup.{self.work.role_of(reducer)}"] = self._still(reducer, self.as_found, "lockup")

    def _lowest(self) -> None:
        """Each reducer at the bottom of its spring: what it holds at no flow, and with TD fully open."""
        for reducer in spans.judged(self.layout):
            low = reducer.pilot.spring_low.si * self.draws.get(f"{reducer.id}.lowest", 1.0)
            usual = self.work.model.lockup[reducer.id].si - reducer.duty.pressure.si
            rise = self.draws.get(f"{reducer.id}.lockup_rise", usual)
            stands = {**self.as_found, reducer.id: low + rise}
            role = self.work.role_of(reducer)
            self.found[f"lowest.{role}"] = self._still(reducer, stands, "lowest")
            if role == "T3":
                self._note("v2_drain_lowest", self._full_drain("v2_drain_lowest", stands), "T3")

    def _full_drain(self, when: str, stands: Mapping[str, float]) -> State:
        """Return the state with TD fully open: its flow droops to just the pressure that drives it."""
        drain = outlet_drain(self.layout)
        drains = {drain.id: 1.0} if drain is not None else {}
        lockup = self._with_repeat(when, stands)
        state = self.trial.at(drains=drains, openings=self.v2, lockup=lockup)
        if drain is None or not state.taps["T3"] > 0.0:
            return state
        full = self.trial.full(drain.id)
        below, above = 0.0, full * sqrt(state.taps["T3"])  # no droop: too much would run
        more, less, side = above, 0.0, 0
        for _ in range(_DRAIN_LOOKS):
            flow = above if not side else below + (above - below) * more / (more + less)
            state = self.trial.at(drains=drains, openings=self.v2, lockup=lockup, passing=flow)
            over = full * sqrt(max(state.taps["T3"], 0.0)) - flow
            if abs(over) <= _DRAIN_CLOSE * flow:
                break
            if over > 0.0:
                below, more, less, side = flow, over, less * (0.5 if side > 0 else 1.0), 1
            else:
                above, less, more, side = flow, -over, more * (0.5 if side < 0 else 1.0), -1
        open_to_air = max(state.taps["T3"], 0.0)  # no droop pulls an open drain below air
        return replace(state, taps={**state.taps, "T3": open_to_air})

    def _trip(self) -> None:
        shut_off, last = self.layout.shut_off, spans.worker(self.layout)
        assert shut_off is not None
        assert shut_off.trip is not None
        error = self._error("T3")
        wanted = self._from_tap("T3", self.work.targets["trip.T3"]) - error
        lockup, state = self._raise_to(last.id, wanted)
        self._note("at_trip", state, "T1", *self.inner, "T3")
        near = sides_of_shut_off(self.layout)
        for role in near if self.layout.shut_off_place == "downstream" else ("T3",):
            if role in state.taps:
                self.found[f"at_trip.{role}"] = state.taps[role] + self.draws.get("hold", 0.0)
        name = shut_off.id
        acts = (
            shut_off.trip.si
            + self.draws.get(f"{name}.drift", 0.0)
            + self.draws.get(f"{name}.repeat.trip", 0.0)
        )
        half_step = 0.5 * d.PILOT_STEP_SHARE.si * trip_repeatability(shut_off)
        acts_when_set = wanted + self.draws.get(f"{name}.repeat.trip_set", 0.0)
        for when, at in (("trip", acts), ("trip_set", acts_when_set)):
            self.found[f"{when}.T3"] = at + self.draws.get(f"{name}.step.{when}", 0.0)
            self.found[f"{when}_mid.T3"] = self.found[f"{when}.T3"] - half_step
        self.found["trip_held.T3"] = wanted + self.draws.get("hold", 0.0)
        if shut_off.dead_band is not None:
            self.found["reset.T3"] = acts - shut_off.dead_band.si * self.draws.get(f"{name}.dead_band", 1.0)
        self._after(lockup, state)
        rate = self.work.model.twins[last.id].per_turn.si * self.draws.get(f"{last.id}.per_turn", 1.0)
        start = self.as_found[last.id] + self._again(last, "trickle")
        self.found[f"turns.{last.id}"] = (lockup - start) / rate
        self._stroke("closing", state, self.trickle)
        if any(question.situation == "closing_service" for question in self.work.asked):
            flow = self.draws.get("service", self.work.model.station.demand.night.si)
            in_service = self.trial.at(flow=flow, lockup=self._with_repeat("service", self.as_found))
            self._stroke("closing_service", in_service, flow)

    def _raise_to(self, reducer: str, wanted: float) -> tuple[float, State]:
        others = self._with_repeat("trip", self.as_found)
        watching = spans.monitor(self.layout)
        if watching is not None:  # raised out of the way for the trip
            others[watching.id] = self._raised(watching, wanted)
        return self.trial.setting(reducer, "T3", wanted, lockup=others, flow=self.trickle, openings=self.v2)

    def _raised(self, reducer: Reducer, over: float) -> float:
        """Return a lock-up at which the pilot of a reducer stands wide open at an outlet. [Pa]

        A raised pilot opens its valve no further than the water's own loss lifts it: at a trickle that loss
        stays on its two sides.
        """
        return over + self.trial.band[reducer.id]

    def _after(self, lockup: float, state: State) -> None:
        """Shut-off shut, TD still running: what stands behind it drains, what stands before it rests."""
        if "v2.T1" in self.found:  # a station without that tap has no such reading
            self.found["after_trip.T1"] = self.found["v2.T1"]
        self._empty("after_trip.T3")
        near, first = spans.beside(self.layout), spans.stage(self.layout)
        down = self.layout.shut_off_place == "downstream"
        for role in self.inner:
            if down and near is not None and role == near.role:
                last = spans.worker(self.layout)
                self.found[f"after_trip.{role}"] = self._still(last, {last.id: lockup}, "lockup")
            elif down and first is not None and role == first.role:
                behind = self.layout.reducers[0]
                self.found[f"after_trip.{role}"] = self._still(behind, self.as_found, "lockup")
            elif down and self.layout.reducers[0] == spans.monitor(self.layout):
                self.found[f"after_trip.{role}"] = self.found.get("v2.T1", nan)
            elif down:  # between reducer and monitor, which stands open
                last = spans.worker(self.layout)
                self.found[f"after_trip.{role}"] = self._still(last, {last.id: lockup}, "lockup")
            else:
                self._empty(f"after_trip.{role}")

    def _stroke(self, when: str, state: State, flow: float) -> None:
        shut_off = self.layout.shut_off
        assert shut_off is not None
        before_role, after_role = sides_of_shut_off(self.layout)
        if before_role not in state.taps or after_role not in state.taps:
            return
        model = self.work.model
        medium = 0.0
        if shut_off.closing_medium == "station inlet":
            medium = max(state.taps.get("T1", state.taps[before_role]) - state.taps[before_role], 0.0)
        now = Before(state.taps[before_role], state.taps[after_role], flow, medium)
        usual = Before(now.inlet, now.outlet, self.work.trickle, medium)
        k = needle(model, shut_off, usual)
        self.found[f"{when}.time"] = closing_time(model, shut_off, k, now) * self.draws.get(
            f"{shut_off.id}.closing", 1.0
        )

    def _first_open(self) -> None:
        first = self.layout.reducers[0].id
        lockup = self._with_repeat("trickle", self.as_found)
        state = self.trial.at(flow=self.trickle, openings=self.v2, lockup=lockup, lift={first: 1.0})
        self._note("first_open", state, self.work.role_of(self.layout.reducers[0]), "T3")

    def _monitor(self) -> None:
        """Worker raised out of the way: the monitor holds at trickle, then at no flow; found, then set."""
        watching, worker = spans.monitor(self.layout), spans.worker(self.layout)
        assert watching is not None
        drift = self.as_found[watching.id]
        wanted = self._from_tap("T3", self.work.targets["monitor.T3"]) - self._error("T3")
        flow = max(watching.duty.flow.si * self.draws.get("flow", 1.0), 1e-6)
        away = self._raised(worker, max(drift, wanted) + self.trial.band[watching.id])
        stood = {**self.as_found, worker.id: away}
        by_hand, _ = self.trial.setting(watching.id, "T3", wanted, lockup=stood, flow=flow)
        for end, stands in (("", drift), ("_set", by_hand)):
            lockup = {**stood, watching.id: stands + self._again(watching, f"monitor{end}")}
            state = self.trial.at(flow=self.trickle, openings=self.v2, lockup=lockup)
            self._note(f"monitor{end}", state, *self.inner, "T3")
            still = self._still(watching, {watching.id: stands}, f"monitor_lockup{end}")
            self.found[f"monitor_lockup{end}.T3"] = still

    def _reliefs(self) -> None:
        for relief in spans.reliefs(self.layout):
            off = self.draws.get(f"{relief.id}.crack", 0.0)
            step = self.draws.get(f"{relief.id}.step", 0.0)
            self.found[f"relief_crack.{relief.id}"] = relief.crack.si + off + step
            down = self.draws.get(f"{relief.id}.reseat", relief.crack.si - relief_reseat(relief))
            self.found[f"relief_reseat.{relief.id}"] = relief.crack.si + off - down

    def _set(self) -> None:
        """Set every reducer at its stated flow with its gauge, the first one first."""
        self.as_set = dict(self.as_found)
        for reducer in spans.judged(self.layout):
            role = self.work.role_of(reducer)
            wanted = self._from_tap(role, self.work.targets[f"duty.{role}"]) - self._error(role)
            flow = reducer.duty.flow.si * self.draws.get("flow", 1.0)
            self.as_set[reducer.id], state = self.trial.setting(
                reducer.id, role, wanted, lockup=self.as_set, flow=max(flow, 1e-6)
            )
            self._note("duty", state, *(("T1", "T3") if role == "T3" else (role,)))
            self.found[f"duty.{role}"] = state.taps[role] + self.draws.get(f"{reducer.id}.nut", 0.0)
        self._note("trickle_set", self._run("trickle_set", self.as_set, self.trickle), *self.inner, "T3")
        for reducer in spans.judged(self.layout):
            at = f"lockup_set.{self.work.role_of(reducer)}"
            self.found[at] = self._still(reducer, self.as_set, "lockup_set")

    def _flows(self) -> None:
        lockup = self._with_repeat("flow", self.as_set)
        state = None
        for number, flow in enumerate(self.work.flow_points, start=1):
            factor = self.draws.get("trickle" if number == 1 else "flow", 1.0)
            state = self.trial.at(flow=flow * factor, lockup=lockup)
            self._note(f"flow.{number}", state, "T0", "T1", *self.inner, "T3")
            for role in (*self.inner, "T3"):  # no water runs off by a drain below atmospheric pressure
                key = f"flow.{number}.{role}"
                if key in self.found:
                    self.found[key] = max(self.found[key], 0.0)
        if state is None:
            return
        self._loss("strainer", state, "T0", "T1")
        self._loss("shut_off", state, *sides_of_shut_off(self.layout))

    def _loss(self, name: str, state: State, before: str, after: str) -> None:
        if before in state.taps and after in state.taps:
            self.found[f"{name}.loss"] = state.taps[before] - state.taps[after]

    # Helpers.

    def _empty(self, key: str) -> None:
        """Note a section without pressure: the gauge hangs in the air, its height does not count."""
        self.found[key] = 0.0
        self.empty.add(key)

    def _run(self, when: str, lockup: Mapping[str, float], flow: float) -> State:
        return self.trial.at(flow=flow, openings=self.v2, lockup=self._with_repeat(when, lockup))

    def _with_repeat(self, when: str, lockup: Mapping[str, float]) -> dict[str, float]:
        return {r.id: lockup[r.id] + self._again(r, when) for r in self.layout.reducers}

    def _still(self, reducer: Reducer, lockup: Mapping[str, float], when: str) -> float:
        """Return the outlet of a reducer at no flow. [Pa at datum]"""
        return lockup[reducer.id] + self._again(reducer, when) + self.trial.still_shift(reducer.id)

    def _again(self, reducer: Reducer, when: str) -> float:
        return self.draws.get(f"{reducer.id}.repeat.{when}", 0.0)

    def _note(self, situation: str, state: State, *roles: str) -> None:
        for role in roles:
            if role in state.taps:
                self.found[f"{situation}.{role}"] = state.taps[role] if state.solved else nan

    def _error(self, role: str) -> float:
        tap = self.work.taps.get(role)
        return 0.0 if tap is None else self.draws.get(f"gauge.{tap.gauge.id}", 0.0)

    def _from_tap(self, role: str, reading: float) -> float:
        tap = self.work.taps[role]
        return reading - tap.at_tap(0.0, self.trial.density)

    def read(self, question: Question) -> float:
        """Return what the instrument shows for one question."""
        at = self.found.get(question.key, nan)
        slip = self.draws.get(f"reading.{question.key}", 0.0)
        if question.place == "loss":
            slip -= self.draws.get(f"reading after.{question.key}", 0.0)
            return at + self._height_of_loss(question) + slip * self.work.taps["T1"].gauge.reading
        if question.unit != "pressure":
            return at
        if question.situation == "alarm":
            at = self.draws.get("alarm", self.work.targets.get("alarm", nan))
        at_relief = question.situation in ("relief_crack", "relief_reseat")
        role = "T3" if at_relief else question.place
        tap = self.work.taps[role]
        height = 0.0 if question.key in self.empty else tap.at_tap(0.0, self.trial.density)
        return at + height + self._error(role) + slip * tap.gauge.reading

    def _height_of_loss(self, question: Question) -> float:
        pair = sides_of_shut_off(self.layout) if question.situation == "shut_off" else ("T0", "T1")
        taps = self.work.taps
        return taps[pair[0]].at_tap(0.0, self.trial.density) - taps[pair[1]].at_tap(0.0, self.trial.density)

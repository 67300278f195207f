"""True stations with one thing wrong in them, and what their gauges show: the other side of the signatures.

Shares no code with them: tolerances are drawn and hidden by `tests.visits.truth`, faults are put in through
the steady twin's own door, drains are really opened, a leaking section fills step by step in time.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import isfinite
from typing import Any

import numpy as np

from steadyhead.errors import InputError, NotConverged
from steadyhead.hydraulics import solve
from steadyhead.records.signature import Signature
from steadyhead.records.steady import Conditions, Steady
from tests.visits.truth import Random, Truth, even

Make = Callable[["Faulty", Random], dict[str, Any]]
STATES = ("v2", "v2_drain", "trickle", "trickle_set", "at_trip", "flow", "duty", "lockup", "lockup_set")
"""States a visit can be simulated in."""
CLASSES = {
    "drives open": (1, 2, 4, 5, 9, 10, 61, 62, 63), "drives shut": (3, 6, 8), "passes": (7, 11, 12),
    "stands elsewhere": (23, 24, 25, 40), "strainer, inlet valve": (28, 29, 58), "shut-off": (31, 66, 48),
    "supply": (32,), "gauge": (26, 27),
}  # fmt: skip
"""Rows that ask for the same look first."""


def spread(rng: Random, low: float, high: float) -> float:
    """Return a size anywhere between two, evenly in its logarithm."""
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


@dataclass(frozen=True)
class Wrong:
    """One thing wrong: the row, what it does to the twin, or to the gauge."""

    row: int
    id: str
    make: Make
    gauge: str = ""


def _reducer(name: str, value: Callable[[Faulty, Random], float]) -> Make:
    return lambda truth, rng: {name: {truth.last.id: value(truth, rng)}}


def _kv(truth: Faulty) -> float:
    return float(truth.model.reducer_twin(truth.last.id).kv.si)


def _either(rng: Random, size: float) -> float:
    return size if rng.random() < 0.5 else -size


def _shift(low: float, high: float) -> Make:
    return lambda truth, rng: {"shift": _either(rng, spread(rng, low, high))}


def _shut_off(low: float, high: float) -> Make:
    def make(truth: Faulty, rng: Random) -> dict[str, Any]:
        assert truth.shut_off is not None
        return {"forced_lift": {truth.shut_off.id: spread(rng, low, high) if high > 0 else 0.0}}

    return make


GAUGE = ("kept", "factor", "offset", "other", "at", "from", "old")
"""What is wrong with the reading alone."""
WRONGS: tuple[Wrong, ...] = (
    Wrong(1, "1", _reducer("feed_share", lambda t, r: spread(r, 0.01, 0.3) if r.random() < 0.5 else 0.0)),
    Wrong(2, "2", _reducer("feed_share", lambda t, r: 0.0)),
    Wrong(3, "3", _reducer("pilot_stuck", lambda t, r: 0.0)),
    Wrong(4, "4", _reducer("forced_lift", lambda t, r: spread(r, 0.003, 1.0))),
    Wrong(5, "5", _reducer("trapped_sense", lambda t, r: 0.0)),
    Wrong(6, "6", _reducer("trapped_sense", lambda t, r: t.lockup_now() + r.uniform(0.5e5, 2e5))),
    Wrong(9, "9", _reducer("pilot_stuck", lambda t, r: 1.0)),
    Wrong(10, "10", _reducer("torn_kv", lambda t, r: spread(r, 0.0005, 0.006) * _kv(t))),
    Wrong(11, "11", _reducer("seat_leak_kv", lambda t, r: spread(r, 3e-8, 3e-3) * _kv(t))),
    Wrong(11, "11", _reducer("debris_lift", lambda t, r: spread(r, 0.003, 0.03))),
    Wrong(24, "24", lambda t, r: {"shift": t.trip_now() - t.lockup_now()}),
    Wrong(25, "25", _shift(0.1e5, 2e5)),
    Wrong(40, "40", lambda t, r: {"shift": r.uniform(0.05e5, 0.3e5)}),
    Wrong(28, "28", lambda t, r: {"strainer_clog": spread(r, 2.0, 500.0)}),
    Wrong(29, "29", lambda t, r: {"inlet": spread(r, 0.02, 0.4)}),
    Wrong(29, "29.more", lambda t, r: {"inlet": spread(r, 1.5, 100.0)}),
    Wrong(58, "58", lambda t, r: {"inlet": 0.0}),
    Wrong(31, "31", _shut_off(0.01, 0.5)),
    Wrong(48, "48", _shut_off(0.0, 0.0)),
    Wrong(32, "32", lambda t, r: {"supply": r.uniform(0.1, 0.7)}),
    Wrong(26, "26", lambda t, r: {"kept": True}, "any"),
    Wrong(27, "27.psi", lambda t, r: {"factor": 14.5037738 ** (1 if r.random() < 0.5 else -1)}, "any"),
    Wrong(27, "27.kpa", lambda t, r: {"factor": 100.0 ** (1 if r.random() < 0.5 else -1)}, "any"),
    Wrong(27, "27.height", lambda t, r: {"offset": _either(r, 9.81e3 * r.uniform(0.4, 3.0))}, "any"),
    Wrong(27, "27.zero", lambda t, r: {"offset": _either(r, spread(r, 0.05e5, 0.5e5))}, "any"),
    Wrong(27, "27.tap", lambda t, r: {"other": True}, "any"),
)


class Faulty(Truth):
    """A true station in which something can be put wrong for a while."""

    def __init__(self, *arguments: Any) -> None:
        super().__init__(*arguments)
        self.wrong: dict[str, Any] = {}
        design = {r.id: self.model.lockup[r.id].si for r in self.reducers}
        self.found = {name: design[name] + self.drift[name] for name in design}
        self.stood = {"found": self.moved(self.found)}

    def lockup_now(self) -> float:
        return self.found[self.last.id]

    def trip_now(self) -> float:
        trip = self.shut_off.trip if self.shut_off is not None else None
        return trip.si if trip is not None else self.lockup_now() + 1e5

    def settle(self) -> None:
        """Set the reducers as a sound visit would: at duty, and raised to the trip."""
        lockup = dict(self.found)
        for reducer in self.judged:
            error, _, _ = self.gauges[self.tap_of(reducer)]
            flow = reducer.duty.flow.si * (1.0 + self.flow_error)
            wanted = reducer.duty.pressure.si - error
            lockup, _ = self.turn_until(reducer, self.tap_of(reducer), wanted, lockup, flow, 1.0)
        self.stood["set"] = self.moved(lockup)
        if self.shut_off is not None and self.shut_off.trip is not None:
            wanted = self.shut_off.trip.si - self.gauges["T3"][0]
            raised, _ = self.turn_until(
                self.last, "T3", wanted, dict(self.stood["found"]), self.trickle, self.share
            )
            self.stood["trip"] = raised

    def state(
        self,
        lockup: dict[str, float],
        drain: float,
        inlet: float,
        flow: float,
        lift: dict[str, float] | None = None,
    ) -> Steady:
        wrong = dict(self.wrong)
        share = min(inlet * wrong.pop("inlet", 1.0), 1.0)
        supply = self.day * (1.0 - wrong.pop("supply", 0.0))
        shift = wrong.pop("shift", 0.0)
        openings = {"IV1": share, "IV2": 0.0, "TD": drain}
        stands = {r.id: lockup[r.id] + self.real(r, flow) for r in self.reducers}
        stands[self.last.id] += shift
        held = {**(lift or {}), **wrong.pop("forced_lift", {})}
        kept = {name: value for name, value in wrong.items() if name not in GAUGE}
        return solve(
            self.model, Conditions(supply, openings=openings, lockup=stands, forced_lift=held, **kept)
        )

    # What is read.

    def taps_in(self, state: str, flow: float = 0.0) -> tuple[dict[str, float], float]:
        """Return pressures at the taps and the flow that runs; the drain opens fully where less can pass."""
        lockup = self.stood[
            {"trickle_set": "set", "flow": "set", "duty": "set", "lockup_set": "set", "at_trip": "trip"}
            .get(state, "found")
        ]  # fmt: skip
        inlet = 1.0 if state in ("flow", "duty") else self.share
        if state == "v2":
            steady = self.state(lockup, 0.0, inlet, 0.0)
            return {"T0": steady.taps["T0"], "T1": steady.taps["T1"]}, 0.0
        if state == "v2_drain":
            steady = self.state(lockup, 1.0, inlet, 0.0)
            return dict(steady.taps), 0.0
        steady = self.running(lockup, flow, inlet) or self.state(lockup, 1.0, inlet, flow)
        return dict(steady.taps), steady.drains["TD"]

    def stands_still(self, state: str, seconds: float) -> dict[str, float]:
        """Return the shut outlet after a while, a leak filling it second by second."""
        lockup = self.stood["set" if state == "lockup_set" else "found"]
        start = lockup[self.last.id] + self.real(self.last, 0.0) + self.wrong.get("shift", 0.0)
        start = min(start, self.day * (1.0 - self.wrong.get("supply", 0.0)))
        steady = self.state(lockup, 0.0, self.share, 0.0)
        end = steady.taps["T3"]
        if not isfinite(end) or end <= start + 1e3:
            return {"T3": start}
        leak = self.wrong.get("seat_leak_kv", {}).get(self.last.id)
        if leak is None:
            return {"T3": end}
        k, pressure, step = self.model.k(leak), start, seconds / 400.0
        for _ in range(400):
            pressure = min(
                pressure + k * max(end - pressure, 0.0) ** 0.5 * step / self.plan.outlet_storage, end
            )
        return {"T3": pressure}

    def tolerance(self, tap: str) -> float:
        _, span, accuracy = self._gauge_at(tap)
        return (accuracy + 0.0025) * span

    def read(
        self, signature: Signature, chosen: Mapping[str, str]
    ) -> tuple[dict[str, tuple[float, float]], dict[str, float]]:
        """Return the readings of a step with their tolerances, and the flows noted with them."""
        readings: dict[str, tuple[float, float]] = {}
        flows: dict[str, float] = {}
        seen: dict[tuple[str, str], tuple[dict[str, float], float]] = {}
        early, late = self.rng.uniform(0.0, 8.0), self.rng.uniform(180.0, 700.0)
        for one in signature.reads:
            if one.choice is not None and chosen.get(one.choice[0], one.choice[1]) != one.choice[1]:
                continue
            state, is_early = one.state.removesuffix(".early"), one.state.endswith(".early")
            if state not in STATES or one.input in readings:
                continue
            name = (one.state, one.flow)
            if name not in seen:
                try:
                    if state.startswith("lockup"):
                        seen[name] = self.stands_still(state, early if is_early else late), 0.0
                    else:
                        seen[name] = self.taps_in(state, one.usual * (1.0 + self.flow_error))
                except (InputError, NotConverged):
                    continue
            taps, flow = seen[name]
            if state == "v2":  # what a shut valve cuts off was vented before
                taps = {tap: p if isfinite(p) else 0.0 for tap, p in taps.items()}
            if one.place in taps and isfinite(taps[one.place]):
                pressure = max(taps[one.place], 0.0)
                readings[one.input] = self._shown(one.place, pressure, taps), self.tolerance(one.place)
                if state in ("trickle", "trickle_set", "at_trip", "flow", "duty"):
                    flows[one.flow or one.input] = flow / (1.0 + self.flow_error)
        return readings, flows

    def _shown(self, place: str, pressure: float, taps: Mapping[str, float]) -> float:
        wrong = self.wrong
        if wrong.get("at") != place:
            return self.gauge(place, pressure)
        if "kept" in wrong:
            return float(wrong["old"])
        if "other" in wrong:
            return self.gauge(place, taps.get(wrong["from"], pressure))
        factor, offset = float(wrong.get("factor", 1.0)), float(wrong.get("offset", 0.0))
        return factor * self.gauge(place, pressure) + offset

    def put(self, wrong: Wrong, signature: Signature) -> bool:
        """Put something wrong; return whether it can be so at this station and step."""
        if "forced_lift" in (made := wrong.make(self, self.rng) if self._can(wrong) else {}):
            made["forced_lift"] = dict(made["forced_lift"])
        if not made:
            return False
        if wrong.gauge:
            places = sorted({r.place for r in signature.reads if r.place in self.gauges})
            if not places:
                return False
            made["at"] = str(self.rng.choice(places))
            others = [p for p in places if p != made["at"]]
            if "other" in made:
                if not others:
                    return False
                made["from"] = str(self.rng.choice(others))
            if "kept" in made:
                old = (0.0, self._stood_at(str(made["at"])))
                made["old"] = max(float(self.rng.choice(old)) + even(self.rng, 0.15e5), 0.0)
        self.wrong = made
        return True

    def _stood_at(self, place: str) -> float:
        """Return what a place stands at in a quiet hour: a lock-up, or the inlet."""
        order = [part.id for part in self.stated.line]
        ahead = [r for r in self.judged if order.index(r.id) < order.index(place)]
        return self.found[ahead[-1].id] if ahead else self.day

    def _can(self, wrong: Wrong) -> bool:
        if wrong.row in (31, 48):
            return self.shut_off is not None
        if wrong.row == 28:
            return any(part.part == "strainer" for part in self.stated.line)
        if wrong.row == 24:
            return self.shut_off is not None
        return True

    def heal(self) -> None:
        self.wrong = {}


__all__ = ["CLASSES", "STATES", "WRONGS", "Faulty", "Wrong"]

"""Runs at stations that exist only here: the steady twin with true values, read with gauges that err.

Everything random comes from one generator; gauges, meter and stopwatch err as their stated classes allow.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from steadyhead.hydraulics import Model, build, solve
from steadyhead.laws.pilot import play
from steadyhead.procedure.ledger import gathered
from steadyhead.records.baseline import Baseline, Fitted
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Procedure
from steadyhead.records.run import Judgement, StepState
from steadyhead.records.station import Station
from steadyhead.records.steady import Conditions
from steadyhead.station.measured import with_baseline
from steadyhead.visits.fitting.baseline import fit_baseline
from steadyhead.visits.stroke import Before, stroke_integral
from tests.procedure.walking import Device
from tests.visits.plan_stations import UP, made, station

FLOWS = (0.4e-3, 2e-3, 5e-3, 12e-3, 20e-3)
SPAN, FINE = 10e5, 16e5
CLASS, DIVISION = 0.006, 0.02e5
FINE_CLASS, FINE_DIVISION = 0.001, 0.005e5
GAUGE = {"name": "TG-1", "low": 0.0, "high": SPAN, "class": CLASS, "division": DIVISION, "due": "2027-09-30"}
LOGGER = {"low": 0.0, "high": FINE, "class": FINE_CLASS, "division": FINE_DIVISION, "due": "2027-09-30"}
METER = {"name": "MT", "quantity": "flow", "low": 0.0, "high": 0.03, "class": 0.01, "division": 1e-5}
TRICKLE = 0.4e-3


@cache
def plan(name: str = UP) -> Procedure:
    """Return a whole plan of an example, with figures made by hand."""
    return made(name)


@cache
def plain(name: str = UP) -> Station:
    return station(name)


def all_done(procedure: Procedure, *, refused: Iterable[str] = ()) -> Judgement:
    """Return a judgement under which every step counts but some."""
    gone = set(refused)
    steps = tuple(
        StepState(node.id, "refused" if node.id in gone else "done", ready=True) for node in procedure.nodes
    )
    return Judgement("run-1", None, {}, steps, (), (), (), (), (), ())


def value(part: str, name: str, kind: str, si: float, **state: float) -> Fitted:
    """Return a true value, as a baseline would hold it."""
    return Fitted(part, name, kind, si, 0.0, None, "", (), (), (), 0, state)


def true_station(truth: Mapping[str, float], name: str = UP) -> Station:
    """Return an example with true values by `part.name`: rises, coefficients, flow force."""
    kinds = {"lockup_rise": "pressure", "flow_force": "ratio", "kv": "flow_coefficient"}
    kinds |= {"kv_clean": "flow_coefficient"}
    values = []
    for key, si in truth.items():
        part, _, field_name = key.partition(".")
        if field_name in kinds:
            values.append(value(part, field_name, kinds[field_name], si))
    of = plain(name)
    return with_baseline(of, Baseline("true", of.station.id, "", "", "", "", "", tuple(values)))


@dataclass
class Site:
    """One station with its errors: what a crew notes there."""

    truth: Mapping[str, float]
    seed: int
    name: str = UP
    outlet_gauge: str = "TG-1"
    still: float = 0.03e5
    model: Model = field(init=False)
    device: Device = field(init=False)
    entries: list[Entry] = field(init=False)

    def __post_init__(self) -> None:
        self.model = model_of(tuple(sorted(self.truth.items())), self.name)
        self.draw = random.Random(self.seed)
        self.device = Device()
        self.entries = [self.device.make("run", {"plan": "", "kind": "first"})]
        self.errors = {"TG-1": self.error(CLASS * SPAN), "MT": self.error(0.01 * 0.03 / FLOWS[-1])}
        for tool in (GAUGE, METER, *({**LOGGER, "name": f"LG{n}"} for n in range(4))):
            self.entries.append(self.device.make("instrument", tool))
        for number in range(4):
            self.errors[f"LG{number}"] = self.error(FINE_CLASS * FINE)

    def error(self, half: float) -> float:
        """An error somewhere between both edges."""
        return self.draw.uniform(-half, half)

    def note(self, node: str, name: str, quantity: str, value: float, **more: Any) -> None:
        payload = {"input": name, "quantity": quantity, "value": value, **more}
        self.entries.append(self.device.make("reading", payload, node))

    def act(self, node: str, do: str, thing: str, **more: Any) -> None:
        self.entries.append(self.device.make("action", {"do": do, "thing": thing, **more}, node))

    def read(
        self,
        node: str,
        name: str,
        tap: str,
        true: float,
        gauge: str = "TG-1",
        *,
        still: float = 0.03e5,
        **more: Any,
    ) -> None:
        """Note a pressure as this gauge shows it: its own error, the needle's unrest, the dial's division."""
        division = DIVISION if gauge == "TG-1" else FINE_DIVISION
        shown = true + self.errors[gauge] + self.draw.gauss(0.0, still / 3.0)
        shown = round(shown / division) * division
        self.note(
            node,
            name,
            "pressure",
            shown,
            tap=tap,
            instrument=gauge,
            steady_for=60.0,
            steady_within=still,
            **more,
        )

    def taps(
        self, flow: float, lockup: float | None = None, supply: float | None = None
    ) -> Mapping[str, float]:
        """What stands at the taps at a flow."""
        supply = self.model.station.supply.typical.si if supply is None else supply
        changed = {} if lockup is None else {"RV": lockup}
        conditions = Conditions(supply_pressure=supply, consumer_flow=flow, lockup=changed)
        return solve(self.model, conditions).taps

    def metered(self, flow: float) -> float:
        """A flow as the meter shows it."""
        return flow * (1.0 + self.errors["MT"]) * (1.0 + self.draw.gauss(0.0, 0.003))

    def outlet(self, node: str, name: str, true: float, **more: Any) -> None:
        """Note what stands at T3."""
        self.read(node, name, "T3", true, self.outlet_gauge, still=self.still, **more)

    def lock_up(self) -> None:
        """H2: no flow."""
        self.outlet("H2.RV", "last", self.taps(0.0)["T3"])

    def flow_test(self, flows: Sequence[float] = FLOWS, *, sag: float = 0.3e5) -> None:
        """H4: rising at all taps, falling at the outlet; the supply sags."""
        top = max(flows)
        usual = self.model.station.supply.typical.si
        for number, flow in enumerate(flows, 1):
            taps = self.taps(flow, supply=usual - sag * (flow / top) ** 2)
            self.note("H4", f"flow.{number}", "flow", self.metered(flow), instrument="MT")
            for tap in ("T0", "T1", "T2"):
                self.read("H4", f"{tap}.{number}", tap, taps[tap], f"LG{tap[1]}")
            self.outlet("H4", f"T3.{number}", taps["T3"])
        for step, flow in enumerate(reversed(flows), len(flows) + 1):
            taps = self.taps(flow, supply=usual - sag * (flow / top) ** 2)
            self.note("H4", f"flow.{step}", "flow", self.metered(flow), instrument="MT")
            self.outlet("H4", f"T3.{step}", taps["T3"])

    def turns(self, moves: Sequence[float]) -> None:
        """ES1: the reducer is raised and lowered turn by turn, read after each at trickle."""
        rate, half = self.truth["RV.per_turn"], self.truth.get("RV.play", 0.1) / 2.0
        screw, spring = 0.0, self.draw.uniform(-half, half)
        first, start = spring, self.model.lockup["RV"].si - 1.2e5
        self.outlet("ES1.RV", "first", self.taps(TRICKLE, start)["T3"], flow=TRICKLE)
        for turn in moves:
            screw += turn + self.error(5.0 / 360.0)
            spring = play(spring, screw, half)
            self.act("ES1.RV", "raise" if turn > 0 else "lower", "RV.setting", amount=abs(turn), unit="turn")
            taps = self.taps(TRICKLE, start + rate * (spring - first))
            self.outlet("ES1.RV", "reading", taps["T3"], flow=TRICKLE)

    def strokes(self, count: int = 3) -> None:
        """F1 to F3: the shut-off acts at a trickle and is timed."""
        of = self.model.shut_offs[0]
        inlet = self.model.station.supply.typical.si
        integral = stroke_integral(self.model, of, Before(inlet, inlet, TRICKLE))
        seconds = integral / self.model.k(self.truth["SO.closing_needle_kv"])
        self.read("F1.SO", "T1", "T1", inlet, "LG1")
        self.note("F1.SO", "flow", "flow", self.metered(TRICKLE), instrument="MT")
        for number in range(1, count + 1):
            node, name = ("F2.SO", "closing") if number == 1 else ("F3.SO", f"closing.{number}")
            self.note(node, name, "time", round(seconds + self.error(0.3), 1), instrument="stopwatch")

    def fit(self, *, refused: Iterable[str] = (), of: Station | None = None) -> Baseline:
        """Return what a fit makes of it, with the example's own file or another."""
        procedure = plan(self.name)
        return fit_baseline(
            of or plain(self.name),
            procedure,
            all_done(procedure, refused=refused),
            gathered(self.entries).standing,
            station_sha256="0" * 64,
            plan_sha256="1" * 64,
            engine_version="0",
        )


@cache
def model_of(truth: tuple[tuple[str, float], ...], name: str) -> Model:
    return build(true_station(dict(truth), name))


def shut_in_time(model: Model, flow: float, until: float = 60.0) -> float:
    """Return how long the shut-off takes by the transient twin, tripped by hand while a trickle runs. [s]"""
    from steadyhead.hydraulics.cases import Case
    from steadyhead.surge import Schedule, compile_plan, run, start
    from steadyhead.surge.from_station import draft
    from steadyhead.surge.schedule import Held

    supply = model.station.supply.typical.si
    drafted = draft(model, Case("typical", "night", Conditions(supply, consumer_flow=flow)), 10)
    plant = compile_plan(drafted.plan)
    usual = model.shut_offs[0].trip
    assert usual is not None
    schedule = Schedule((Held("SO", "trip pressure", ((0.0, usual.si), (1.0, 0.0))),))
    trace = run(plant, start(plant, schedule), schedule, until)
    lifts = trace.lift("SO")
    shut = next(at for at, lift in enumerate(lifts) if trace.time[at] > 1.0 and lift <= 1e-3 * max(lifts))
    return trace.time[shut] - 1.0

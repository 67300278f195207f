"""Whatever is entered, at whichever step and by whichever verb: no advised turn can pass the limit.

A screw with its play, friction and hand is worked at random, every act of it entered one way or another; the
small model here knows nothing of the adviser.
"""

from __future__ import annotations

import random
from copy import copy
from dataclasses import dataclass
from functools import cache
from typing import Any

import pytest

from steadyhead.procedure.advice import advise
from steadyhead.records.advice import Screw
from steadyhead.records.procedure import Procedure
from steadyhead.services.planning import make_plan
from steadyhead.station import examples
from steadyhead.visits.advising.history import events
from tests.conftest import SEED
from tests.procedure.walking import Device

STEPS = ("ES3.SO", "", "ES1.RV", "D4.SO", "H1.RV", "C5.main", "S2.low")
UNITS = {"turns": 1.0, "": 1.0, "Turn": 1.0, "°": 360.0, "deg": 360.0, " quarter": 4.0, "eighths": 8.0}
UNITS["rad"] = 6.283185307179586
NAMES = ("RV.setting", "RV", "rv.Setting ", "RV.screw", "RV.setting@main")
HAND, PLAY, FRICTION = 5 / 360, 0.3, 0.05e5


@cache
def plan() -> Procedure:
    made = make_plan(examples.read("quernhollow-lane"), "first").procedure
    assert made is not None
    return made


@dataclass
class Pilot:
    """A screw as it is: rate [Pa/turn], play [turn], friction [Pa]; sleeve, nut, outlet."""

    chance: random.Random
    screw: Screw
    rate: float
    play: float
    friction: float
    base: float
    sleeve: float = 0.0
    nut: float = 0.0
    outlet: float = 0.0

    def turn(self, by: float) -> None:
        self.sleeve += by + self.chance.uniform(-HAND, HAND)
        self.settle()

    def settle(self) -> None:
        self.nut = min(max(self.nut, self.sleeve - self.play / 2), self.sleeve + self.play / 2)
        setting = max(self.base + self.rate * self.nut, 0.0)
        self.outlet = min(max(self.outlet, setting - self.friction), setting + self.friction)

    def read(self) -> float:
        return self.outlet + self.chance.uniform(-1.0, 1.0) * self.screw.reading_most


class Hand:
    """Works a pilot and enters what was done, well or badly."""

    def __init__(self, number: int) -> None:
        self.chance = random.Random(number)
        self.advising = plan().advice
        self.aim = next(one for one in self.advising.aims if one.step == "ES3.SO" and one.valve == "RV")
        self.screw = self.advising.screw(self.aim, is_loaded=True)
        rate = self.chance.uniform(0.3, 1.0 if number % 2 else 4.0) * self.screw.plate
        play, friction = self.chance.uniform(0.0, PLAY), self.chance.uniform(0.0, FRICTION)
        start = self.chance.uniform(1.5e5, 4.5e5)
        self.pilot = Pilot(self.chance, self.screw, rate, play, friction, start)
        self.pilot.nut = self.chance.uniform(-0.5, 0.5) * play
        self.pilot.base -= rate * self.pilot.nut
        self.pilot.outlet = start
        self.pilot.settle()
        self.device, self.made = Device(), list[Any]()

    def enter(self, kind: str, node: str, **payload: Any) -> None:
        self.made.append(self.device.make(kind, payload, node))

    def read(self) -> None:
        value = self.pilot.read()
        way = self.chance.random()
        if way < 0.8:
            self.reading("ES3.SO", "T3", value)
        elif way < 0.9:
            self.reading("F1.SO", "hold", value)
        elif way < 0.95:
            self.reading("", "T3", value)
        else:
            self.reading("ES5.SO", "T3", value)

    def reading(self, node: str, name: str, value: float) -> None:
        self.enter("reading", node, input=name, quantity="pressure", tap="T3", value=value)

    def turn(self, by: float) -> None:
        """Turn it, and enter that: so that it can be followed, or so that it cannot."""
        self.pilot.turn(by)
        node, name = self.chance.choice(STEPS), self.chance.choice(NAMES)
        do, unit = "raise" if by > 0.0 else "lower", self.chance.choice(list(UNITS))
        amount = abs(by) * UNITS[unit]
        way = self.chance.randrange(12)
        if way == 0:
            self.enter("action", node, do="turn", thing=name, amount=amount, unit=unit)
        elif way == 1:
            self.enter("action", node, do=do, thing=name)
        elif way == 2:
            self.enter("action", node, do=do, thing=name, amount=amount, unit="notches")
        elif way == 3:
            self.enter("action", node, do=self.chance.choice(("adjust", "set", "tweak")), thing=name)
        elif way == 4:
            self.enter("action", node, do=do, thing="pilot screw", amount=amount)
        elif way == 5:
            self.enter("action", node, do=do, thing="RV.knob", amount=amount)
        elif way == 6 and by > 0.0:
            step = self.chance.choice(("ES1.RV", "ES3.SO", "F1.SO"))
            self.enter("reading", step, input="turns", quantity="turns", value=by)
        else:
            self.enter("action", node, do=do, thing=name, amount=amount, unit=unit)

    def work_otherwise(self) -> None:
        """Another spring, or the nut: the setting is another one after it."""
        if self.chance.random() < 0.5:
            self.pilot.rate = self.chance.uniform(0.3, 4.0) * self.screw.plate
            self.pilot.base = self.pilot.outlet - self.pilot.rate * self.pilot.nut - 1e4
            do, thing = self.chance.choice(
                (("replace", "RV.spring"), ("repair", "RV"), ("replace", "rv.pilot"))
            )
        else:
            self.pilot.base += self.chance.uniform(-0.3e5, 0.1e5)
            do, thing = self.chance.choice((("tighten nut", "RV"), ("slacken nut", "RV.nut")))
        self.pilot.settle()
        self.enter("action", self.chance.choice(STEPS), do=do, thing=thing)

    def advised(self) -> tuple[str, float]:
        happened = events(self.advising, self.aim, self.screw, self.made, plan())
        told = advise(self.screw, happened)
        if told.turn > 0.0:
            self.hold(told.turn)
        return told.status, told.turn

    def hold(self, turn: float) -> None:
        """No advised turn passes the limit, at the worst of the hand."""
        after = copy(self.pilot)
        after.sleeve += turn + HAND
        after.settle()
        assert after.outlet <= self.screw.limit, (turn, after.outlet, self.made)


@pytest.mark.source(kind="independent", ref="a model with springs to four times the plate; handbook V3")
@pytest.mark.parametrize("lot", random.Random(SEED).sample(range(8), 3))
def test_whatever_was_entered_anywhere_no_advised_turn_passes_the_limit(lot: int):
    raised = 0
    for number in range(12):
        hand = Hand(100 * lot + number)
        hand.read()
        for _ in range(14):
            status, turn = hand.advised()
            raised += turn > 0.0
            way = hand.chance.random()
            room = hand.screw.limit - hand.pilot.outlet
            if way < 0.55 and turn != 0.0:
                hand.turn(turn)
            elif way < 0.7:
                hand.turn(-hand.chance.choice((1 / 24, 0.125, 0.25, 0.5)))
            elif way < 0.8 and room > 0.3e5:
                hand.turn(hand.chance.uniform(0.1, 0.9) * room / hand.pilot.rate)
            elif way < 0.85:
                hand.work_otherwise()
            if hand.pilot.outlet > hand.screw.limit:
                break
            if hand.chance.random() < 0.85 or status == "read first":
                hand.read()
    assert raised > 40

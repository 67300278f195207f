"""A reducer whose spring, play and friction are drawn is turned as advised, and not: the limit holds."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace

import pytest

from steadyhead.procedure.advice import decide
from steadyhead.procedure.advice_state import begin, happened
from steadyhead.records.advice import Event, Screw
from steadyhead.visits.advising.screws import seen_screw
from tests.conftest import SEED
from tests.independent.turning import BAR

JOBS, TURNS = 110, 14
DEGREES = 5.0 / 360.0
"""Error of a turn by hand, either way. [turn]"""


@dataclass
class Pilot:
    """A pilot screw as it is: pressures in bar, turns in turns."""

    rate: float
    play: float
    slack: float
    base: float
    gap: float
    worked: float = 0.0
    is_up: bool = True

    @property
    def setting(self) -> float:
        """What it holds, friction aside. [bar]"""
        return (
            self.base + self.rate * max(self.worked - self.slack, 0.0)
            if self.slack
            else (self.base + self.rate * self.worked)
        )

    def turn(self, amount: float) -> None:
        """Turn the screw; what is lost in its play moves nothing."""
        gap = self.gap + amount
        moved = gap - self.play if gap > self.play else min(gap, 0.0)
        self.gap = min(max(gap, 0.0), self.play)
        self.worked = max(self.worked + moved, 0.0) if self.slack else self.worked + moved
        self.is_up = amount > 0.0


def _drawn(draw: random.Random) -> tuple[Screw, Pilot, float]:
    plate, limit = draw.uniform(0.4, 2.0), draw.uniform(4.5, 6.0)
    error = draw.choice([0.01, 0.025, 0.05])
    screw = seen_screw(
        "RV", plate=plate * BAR, target=(limit - draw.uniform(0.0, 1.2)) * BAR, limit=limit * BAR,
        reading=error * BAR, from_lowest=draw.random() < 0.5, spread=0.4, window=0.2 * BAR,
    )  # fmt: skip
    if draw.random() < 0.4:  # a run: raised until the shut-off acts, its aim perhaps past the limit
        screw = replace(screw, step=0.1 * BAR, target=(limit + draw.uniform(-0.2, 0.1)) * BAR)
    play = draw.choice([0.0, 0.15, 0.3])
    slack = draw.choice([0.0, 0.5]) if screw.slack else 0.0
    rate = plate * draw.choice([1.0, 1.4, 2.0, 3.0, 3.9])
    return screw, Pilot(rate, play, slack, draw.uniform(0.5, 2.5), draw.choice([0.0, play])), error


def _highest(draw: random.Random) -> tuple[float, int]:
    """Return how far above its limit a job came by turns that were advised [bar], and how many they were."""
    screw, pilot, error = _drawn(draw)
    state, over, advised = begin(screw), -1.0, 0

    def read() -> Event:
        friction = draw.choice([0.0, 0.05]) * (1.0 if pilot.is_up else -1.0)
        return Event("read", (pilot.setting - friction + draw.choice([-error, 0.0, error])) * BAR)

    happened(screw, state, read())
    for _ in range(TURNS):
        status, turn = decide(screw, state)
        if status != "turn":
            break
        if draw.random() < 0.1:
            turn = -draw.choice([0.125, 0.5])  # against the advice, and entered
        pilot.turn(turn + draw.choice([-1.0, 0.0, 1.0]) * DEGREES)
        if turn > 0.0:
            advised, over = advised + 1, max(over, pilot.setting - screw.limit / BAR)
        happened(screw, state, Event("turn", turn))
        if draw.random() >= 0.9:
            break
        happened(screw, state, read())
    return over, advised


@pytest.mark.source(
    kind="independent", ref="drawn pilots: springs up to 3.9 times the plate, play, slack, friction"
)
def test_no_advised_turn_of_drawn_jobs_passes_the_limit() -> None:
    draw = random.Random(f"limit {SEED}")
    found = [_highest(draw) for _ in range(JOBS)]
    assert sum(count for _, count in found) > 2 * JOBS
    assert max(over for over, _ in found) <= 1e-9

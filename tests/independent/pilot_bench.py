"""A small station made of springs, threads and dials, to try advice on; it knows nothing of the adviser.

Written from the design handbook (2.5, 3.2 ES, 3.6a) alone. A screw pushes a spring through a thread with
play; friction in the pilot holds the pressure back; the shut-off acts where the outlet passes its spring, a
little differently at each approach; the dial has an error that stays and one that comes anew with each
reading. All in bar and turns.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

RIGHT, WRONG, WRONG_SHARE = 0.4, (0.4, 4.0), 0.10


@dataclass
class Thread:
    """Screw, play and spring: what a hand turns, and what arrives as pressure.

    base: pressure where the spring just bears; rate: at that point, per turn; curve: share by which the rate
    grows per turn; play: turns lost at a reversal; slack: turns before it bears.
    """

    base: float
    rate: float
    curve: float
    play: float
    slack: float
    sleeve: float = 0.0
    nut: float = 0.0

    def turn(self, by: float) -> None:
        self.sleeve += by
        if self.sleeve - self.nut > self.play / 2:
            self.nut = self.sleeve - self.play / 2
        if self.nut - self.sleeve > self.play / 2:
            self.nut = self.sleeve + self.play / 2

    @property
    def pressure(self) -> float:
        x = self.nut - self.slack
        if x <= 0.0 and self.slack > 0.0:
            return self.base
        return max(self.base + self.rate * x * (1.0 + self.curve * x / 2.0), 0.0)


@dataclass
class Draw:
    """What one random station is: nominal figures anybody may know, and the truth nobody does."""

    reducer_rate: float
    reducer_low: float
    shut_off_rate: float
    shut_off_top: float
    duty: float
    trip: float
    limit: float
    repeat: float
    span: float
    gauge_class: float
    tell: float
    dead_band: float
    slack_start: bool
    reducer: Thread
    shut_off: Thread
    friction: float
    droop: float
    zero: float
    slope: float
    shy: float
    seed: int

    @property
    def gauge_error(self) -> float:
        return self.gauge_class * self.span


class Bench:
    """The station while it is worked on; counts what happens."""

    def __init__(self, drawn: Draw) -> None:
        self.drawn = drawn
        self.chance = Random(drawn.seed)
        self.reducer, self.shut_off = _copy(drawn.reducer), _copy(drawn.shut_off)
        self.outlet = max(self._held() - drawn.friction, 0.0)
        self.is_shut = False
        self.draw_trip = 0.0
        self.new_approach()
        self.moves = self.turned = self.minutes = 0.0
        self.closures: list[str] = []
        self.above_limit = 0
        self.highest = self.outlet

    def new_approach(self) -> None:
        self.draw_trip = self.chance.uniform(-1.0, 1.0) * self.drawn.repeat

    def acts_at(self) -> float:
        return self.shut_off.pressure + self.draw_trip

    def read(self) -> float:
        drawn = self.drawn
        wrong = drawn.zero + drawn.slope * self.outlet
        return float(self.outlet + wrong + self.chance.uniform(-1.0, 1.0) * 0.0025 * drawn.span)

    def _held(self) -> float:
        """What the reducer holds in the trickle: the drain runs more as pressure rises, and it droops."""
        setting = self.reducer.pressure
        return float(setting - self.drawn.droop * (setting / self.drawn.duty) ** 0.5)

    def _settle(self) -> None:
        setting, drawn = self._held(), self.drawn
        self.outlet = min(max(self.outlet, setting - drawn.friction), setting + drawn.friction)
        self.highest = max(self.highest, self.outlet)
        if self.outlet > drawn.limit:
            self.above_limit += 1

    def turn_reducer(self, by: float) -> bool:
        """Turn the reducer, water running, and wait; True where the shut-off acted in this turn."""
        self._count(by, 2.0)
        self.reducer.turn(by + self._hand(by))
        self._settle()
        if self.outlet < self.acts_at() or self.is_shut:
            return False
        self.is_shut = True
        self.closures.append("reducer raised")
        return True

    def reset(self) -> None:
        """Water drawn, the shut-off reset and seen open; one more approach."""
        self.minutes += 8.0
        self.is_shut = False
        self.new_approach()

    def hold(self, pressure: float) -> None:
        """Bring the sensing line to a pressure with a pump: the gauge shows it, whatever the reducer does."""
        self.outlet = pressure - self.drawn.zero - self.drawn.slope * pressure

    def turn_shut_off(self, by: float) -> str:
        """Turn the shut-off and wait; what is seen: open, sign, shut."""
        self._count(by, 1.0)
        self.shut_off.turn(by + self._hand(by))
        left = self.acts_at() - self.outlet
        if left <= 0.0 and not self.is_shut:
            self.is_shut = True
            told = self.drawn.tell > 0.0
            soon = told or left < -self.drawn.repeat
            self.closures.append("before its time" if soon else "as meant")
        if self.is_shut:
            return "shut"
        return "sign" if self.drawn.tell > 0.0 and left <= self.drawn.tell * self.drawn.shy else "open"

    def recover(self, by: float) -> None:
        """Raise the shut-off, draw water, reset, wait until it stands open, refill: one more approach."""
        self.turn_shut_off(by)
        self.reset()

    def error(self) -> float:
        """How far the trip stands from where the gauge should show it, the gauge's own error left out."""
        drawn = self.drawn
        shown = self.shut_off.pressure + drawn.zero + drawn.slope * self.shut_off.pressure
        return shown - drawn.trip

    def _hand(self, by: float) -> float:
        return 0.0 if by == 0.0 else self.chance.uniform(-1.0, 1.0) * 3.0 / 360.0

    def _count(self, by: float, minutes: float) -> None:
        self.moves += 1
        self.turned += abs(by)
        self.minutes += minutes


def _copy(thread: Thread) -> Thread:
    return Thread(
        thread.base, thread.rate, thread.curve, thread.play, thread.slack, thread.sleeve, thread.nut
    )


def _factor(chance: Random, wrong_share: float, off: float) -> tuple[float, bool]:
    if chance.random() < wrong_share:
        low, high = WRONG
        return low * (high / low) ** chance.random(), True
    return chance.uniform(1.0 - off, 1.0 + off), False


def draw(seed: int, *, wrong_share: float = WRONG_SHARE, off: float = RIGHT) -> Draw:
    """Return one random station: 0.4 to 2 bar per turn, ± 40 %, a wrong spring in ten, play 0 to 0.3 turn."""
    chance = Random(seed)
    rate = 0.4 * 5.0 ** chance.random()
    low, top = 2.0 * rate, 10.0 * rate
    trip = low + chance.uniform(0.3, 0.8) * (top - low)
    duty = max(trip - chance.uniform(0.7, 1.5), 0.6 * trip)
    rate_r = min(max(0.1 * trip * chance.uniform(1.2, 2.2), 0.4), 2.0)
    repeat = max(chance.uniform(0.10, 0.15), 0.02 * trip)
    span = next(s for s in (4.0, 6.0, 10.0, 16.0, 25.0, 40.0) if s >= 1.3 * trip)
    gauge_class = chance.choice((0.001, 0.0025, 0.004, 0.006))
    drift = 0.02 * trip
    tolerance = repeat + drift + gauge_class * span
    if chance.random() < 0.5:
        tolerance = (repeat**2 + drift**2 + (gauge_class * span) ** 2) ** 0.5
    factor_r, is_wrong_r = _factor(chance, wrong_share, off)
    factor_s, is_wrong_s = _factor(chance, wrong_share, off)
    slack = chance.uniform(0.0, 0.5) if chance.random() < 0.3 else 0.0
    base = 2.0 * rate_r * (factor_r if is_wrong_r else chance.uniform(0.9, 1.1))
    start = top * (factor_s if is_wrong_s else chance.uniform(0.9, 1.1))
    play_r, play_s = chance.uniform(0.0, 0.3), chance.uniform(0.0, 0.3)
    reducer = Thread(base, rate_r * factor_r, chance.uniform(-0.02, 0.02), play_r, slack)
    shut_off = Thread(start, rate * factor_s, chance.uniform(-0.02, 0.02), play_s, 0.0)
    reducer.nut = chance.uniform(-0.5, 0.5) * play_r
    reducer.base += 0.0 if slack else -reducer.rate * reducer.nut
    shut_off.nut = -0.5 * play_s
    shut_off.base += shut_off.rate * 0.5 * play_s
    return Draw(
        reducer_rate=rate_r, reducer_low=2.0 * rate_r, shut_off_rate=rate, shut_off_top=top, duty=duty,
        trip=trip, limit=trip + tolerance, repeat=repeat, span=span, gauge_class=gauge_class,
        tell=0.1 if chance.random() < 0.5 else 0.0, dead_band=chance.uniform(0.3, 0.8),
        slack_start=slack > 0.0, reducer=reducer, shut_off=shut_off, friction=chance.uniform(0.0, 0.05),
        droop=chance.uniform(0.0, 0.1),
        zero=chance.uniform(-0.8, 0.8) * gauge_class * span, slope=chance.uniform(-0.2, 0.2) * gauge_class,
        shy=chance.uniform(0.7, 1.3), seed=chance.randrange(2**31),
    )  # fmt: skip

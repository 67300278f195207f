"""What the turns of a screw have told so far: springs, each with its play, weighed by every reading.

Each spring's setting is a normal law cut off at what has been seen (`Node`): a reading moves its middle, a
shut-off that stood open cuts it off below, one that acted cuts it off above. All of it is closed form.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import erfc, exp, log, pi, sqrt

from steadyhead.procedure.advice_bound import Bound, follow
from steadyhead.records.advice import Event, Screw

TAIL = 0.025
"""Share outside a band, on either side."""
MISFIT = 1e-6
"""Chance of a reading so far out below which no spring of the table explains it; own estimate."""
FOUND_BY = 1e-4
"""Chance of standing open still below which a shut-off should have acted; own estimate."""
FAR = 1e30
"""Stands for no bound. [Pa]"""
SMALLEST = 1e-200
"""Smallest share between two cuts that counts."""
DEAD = -600.0
"""Logarithm of a weight that counts for nothing."""
LEAST = 1e-11
"""Share below which a spring is passed over."""
BISECTIONS = 45


@dataclass(slots=True)
class Node:
    """One spring with one play.

    rate [Pa/turn]; play [turn]; gap: how much of it is taken up towards raising [turn]; middle, variance: of
    the setting [Pa, Pa²]; low, high: where it is cut off [Pa]; weight: logarithm; share: weight among all;
    spread, cut, span: standard deviation [Pa], the lower cut in these, what of the law lies between the
    cuts.
    """

    rate: float
    play: float
    gap: float
    middle: float
    variance: float
    low: float
    high: float
    weight: float
    share: float = 0.0
    spread: float = 1.0
    cut: float = -FAR
    span: float = 1.0

    def moved(self, turn: float) -> float:
        """Return what of a turn reaches the spring. [turn]"""
        gap = self.gap + turn
        return gap - min(max(gap, min(self.gap, 0.0)), self.play)

    def turn(self, turn: float, screw: Screw) -> None:
        """Move the setting by what of a turn reaches the spring."""
        moved = self.moved(turn)
        self.gap = min(max(self.gap + turn, min(self.gap, 0.0)), self.play)
        by = self.rate * moved
        self.middle += by
        self.low += by
        self.high += by
        if moved == 0.0:
            return
        blur = (screw.bend * by) ** 2 + (0.5 * screw.hand * self.rate) ** 2
        if abs(moved - turn) > 1e-12:
            blur += (0.5 * screw.grain * self.rate) ** 2
        self.variance += blur

    def measure(self) -> float:
        """Work out what of its law is not cut off, and return its weight with that. [logarithm]"""
        self.spread = sqrt(self.variance)
        self.cut = (self.low - self.middle) / self.spread
        self.span = between(self.cut, (self.high - self.middle) / self.spread)
        return self.weight + log(self.span) if self.span > SMALLEST else 4.0 * DEAD

    def below(self, setting: float, noise: float = 0.0) -> float:
        """Return the chance that the setting lies below a pressure; noise only where nothing is cut off."""
        if setting <= self.low or self.span <= SMALLEST:
            return 0.0
        if setting >= self.high:
            return 1.0
        spread = self.spread if noise == 0.0 else sqrt(self.variance + noise * noise)
        return between(self.cut, (setting - self.middle) / spread) / self.span


@dataclass(slots=True)
class State:
    """Everything the turns so far have told of one screw.

    reading: last one [Pa], None before the first; turned: since the start, raising positive [turn]; last: the
    last turn; open_at: where the screw stood when the shut-off stood open last; cap: most of a turn beyond
    that after it acted; spent: chances added up; others: those of other screws of the job; ends: what ended
    the approach; stands: chance with which it would stand open still; high: highest reading since it was
    lowered or read [Pa]; is_read: nothing was turned since the last reading; is_shut: it acted and was not
    seen open since; is_lost: it was worked, and nobody knows how far.
    """

    nodes: list[Node]
    bound: Bound
    reading: float | None = None
    turned: float = 0.0
    last: float = 0.0
    open_at: float = 0.0
    cap: float = FAR
    spent: float = 0.0
    ends: str = ""
    was_soon: bool = False
    stands: float = 1.0
    fits: bool = True
    others: float = 0.0
    high: float = -FAR
    is_read: bool = False
    is_shut: bool = False
    is_lost: bool = False

    @property
    def unlikely(self) -> bool:
        """It should have acted long since."""
        return self.stands < FOUND_BY

    def below(self, turn: float, setting: float, noise: float = 0.0) -> float:
        """Return the chance that the setting lies below a pressure once the screw is turned."""
        found = 0.0
        for node in self.nodes:
            if node.share > LEAST:
                found += node.share * node.below(setting - node.rate * node.moved(turn), noise)
        return found

    def above(self, turn: float, setting: float, noise: float) -> float:
        """Return the chance that the setting lies above a pressure, exact where small; nothing is cut off."""
        found = 0.0
        for node in self.nodes:
            if node.share > LEAST:
                off = node.middle + node.rate * node.moved(turn) - setting
                found += node.share * normal(off / sqrt(node.variance + noise * noise))
        return found

    def quantile(self, turn: float, part: float, noise: float = 0.0) -> float:
        """Return the pressure below which the setting lies with a chance, once the screw is turned. [Pa]"""
        low, high = FAR, -FAR
        for node in self.nodes:
            if node.share > LEAST:
                reach = 8.0 * sqrt(node.variance + noise * noise)
                middle = node.middle + node.rate * node.moved(turn)
                low, high = min(low, middle - reach), max(high, middle + reach)
        for _ in range(BISECTIONS):
            middle = 0.5 * (low + high)
            if self.below(turn, middle, noise) < part:
                low = middle
            else:
                high = middle
        return 0.5 * (low + high)

    def moves_by(self, turn: float, rise: float) -> float:
        """Return the chance that a turn moves the setting by a rise or more."""
        return sum(node.share for node in self.nodes if node.rate * node.moved(turn) >= rise)

    def rate(self, part: float) -> float:
        """Return the pressure per turn below which the true one lies with a chance. [Pa/turn]"""
        return _quantile([(node.rate, node.share) for node in self.nodes], part)

    def play(self, part: float) -> float:
        """Return the play below which the true one lies with a chance. [turn]"""
        return _quantile([(node.play, node.share) for node in self.nodes], part)


def normal(x: float) -> float:
    """Return the normal law's share below x."""
    return 0.5 * erfc(-x / sqrt(2.0))


def between(low: float, high: float) -> float:
    """Return the normal law's share between two places, exact in either tail."""
    return normal(-low) - normal(-high) if low > 0.0 else normal(high) - normal(low)


def _quantile(pairs: list[tuple[float, float]], part: float) -> float:
    total = 0.0
    ordered = sorted(pairs)
    for value, share in ordered:
        total += share
        if total >= part:
            return value
    return ordered[-1][0]


def begin(screw: Screw, others: float = 0.0) -> State:
    """Return what is known of a screw before it is turned; others: chances spent by other screws."""
    state = State(_nodes(screw), follow(screw), others=others)
    _weigh(state)
    if screw.sees == "act":
        state.spent = state.below(0.0, screw.target)
    return state


def _nodes(screw: Screw) -> list[Node]:
    nodes = []
    for rate, start, spread, weight in screw.springs:
        part = log(weight / len(screw.gaps))
        nodes += [
            Node(rate, play, play - lost, start, spread**2, -FAR, FAR, part) for play, lost in screw.gaps
        ]
    return nodes


def chance(screw: Screw, state: State, turn: float) -> float:
    """Return the chance that a turn makes a shut-off act before its time.

    Of a shut-off being lowered: it acts, and then stands further below the reading than its window; with a
    tell-tale any action is before its time. Of a reducer being raised: the reading passes the trip.
    """
    if screw.sees == "gauge":
        if screw.trip is None or turn <= 0.0:
            return 0.0
        at, spread = screw.trip
        return state.above(turn, at, sqrt(spread**2 + screw.reading**2))
    if turn >= 0.0 or state.reading is None:
        return 0.0
    return state.below(turn, state.reading - (0.0 if screw.tell > 0.0 else screw.window))


def happened(screw: Screw, state: State, event: Event) -> None:
    """Take in one event; the state is changed in place."""
    value = event.amount
    if event.what == "turn":
        _turned(screw, state, value, is_live=event.live)
    elif event.what == "high":
        state.high = max(state.high, value)
    elif event.what in ("lost", "rest"):
        _anew_from_nothing(screw, state, is_lost=event.what == "lost")
    else:
        _seen(screw, state, event)


def _seen(screw: Screw, state: State, event: Event) -> None:
    value = event.amount
    state.ends = event.what if event.what in ("sign", "shut", "trip") else ""
    state.is_shut = event.what in ("shut", "trip")
    state.high = max(state.high, value) if state.is_shut else value
    if state.is_shut and screw.sees == "gauge":
        return
    state.reading, state.is_read = value, True
    state.is_lost = state.is_lost and event.what not in ("sign", "trip")
    if event.what == "read":
        _read(state, value, screw.reading)
        state.bound.read(value)
    elif event.what == "open":
        state.stands *= 1.0 - state.below(0.0, value + screw.tell)
        state.open_at = state.turned
        for node in state.nodes:
            node.low = max(node.low, value + screw.tell)
    elif event.what == "trip":
        _read(state, value, max(screw.repeat, screw.reading))
    elif event.what == "sign":
        for node in state.nodes:
            node.low, node.high = max(node.low, value), min(node.high, value + screw.tell)
    else:
        for node in state.nodes:
            node.high = min(node.high, value)
    _weigh(state)
    if event.what == "shut":
        _anew(screw, state, value)


def _turned(screw: Screw, state: State, turn: float, *, is_live: bool) -> None:
    state.spent += chance(screw, state, turn) if is_live else 0.0
    for node in state.nodes:
        node.turn(turn, screw)
    state.turned += turn
    state.last = turn
    state.bound.turn(turn)
    state.ends, state.is_read = "", False
    if screw.sees == "gauge" and turn < 0.0:
        state.high = -FAR
    _weigh(state)


def _read(state: State, value: float, spread: float) -> None:
    part = state.below(0.0, value, spread)
    if min(part, 1.0 - part) < MISFIT:
        state.fits = False
    for node in state.nodes:
        if node.share <= LEAST:
            continue
        total = node.variance + spread**2
        off = value - node.middle
        node.weight -= 0.5 * (off * off / total + log(2.0 * pi * total))
        node.middle += node.variance / total * off
        node.variance *= spread**2 / total


def _weigh(state: State) -> None:
    """Work out every node's share: its weight, times what of its law is not cut off."""
    logs = [node.measure() for node in state.nodes]
    most = max(logs)
    if most <= DEAD:
        state.fits = False
        return
    parts = [exp(one - most) if one - most > DEAD else 0.0 for one in logs]
    total = sum(parts)
    for node, part in zip(state.nodes, parts, strict=True):
        node.share = part / total
        node.weight = max(node.weight - most, 2.0 * DEAD)


def _anew(screw: Screw, state: State, value: float) -> None:
    """After it acted, the next approach draws its trip anew: what was cut off is loosened by that."""
    state.open_at = state.turned - min(state.last, 0.0)
    state.was_soon = state.below(0.0, value - screw.window) > 0.5 or screw.tell > 0.0
    if state.was_soon:
        state.cap = max(0.5 * abs(state.last), screw.amounts[0])
    state.stands = 1.0
    for node in state.nodes:
        node.low -= 2.0 * screw.repeat
        node.high += 2.0 * screw.repeat
        node.variance += screw.repeat**2
    _weigh(state)


def _anew_from_nothing(screw: Screw, state: State, *, is_lost: bool) -> None:
    """The screw stands nobody knows where, or where its table starts: only the chances spent are kept."""
    state.nodes, state.reading, state.is_read, state.fits = _nodes(screw), None, False, True
    state.turned = state.last = state.open_at = 0.0
    state.cap, state.stands, state.ends, state.is_lost = FAR, 1.0, "", is_lost
    state.high, state.is_shut = -FAR, False
    if is_lost:
        state.bound.lose()
    else:
        state.bound = follow(screw)
    _weigh(state)

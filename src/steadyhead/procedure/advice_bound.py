"""How high one turn of a screw can bring the reading at worst: what is possible, whatever is likely.

Holds where the play, the friction with the reading error, the hand and the bend of the spring are within
their largest values, and where water runs, so that a reading cannot lie below the setting by more than that.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import exp, inf

from steadyhead.records.advice import Screw


@dataclass(frozen=True, slots=True)
class Mark:
    """A reading that followed the turns: where the screw stood [turn], after how many of them."""

    turned: float
    turns: int
    reading: float


@dataclass(slots=True)
class Bound:
    """What the turns so far leave possible.

    turned: since the start, raising positive [turn]; turns: how many; marks: readings that followed the
    turns, all of one way up; rates: stretches of the screw with the most the spring can have there [Pa/turn];
    bears: from where on, and after how many turns, it is known that the spring bears; unanswered: raised
    without an answer [turn]; here: last reading; ups, downs: whether it was turned so since then.
    """

    screw: Screw
    turned: float = 0.0
    turns: int = 0
    marks: list[Mark] = field(default_factory=list)
    rates: list[tuple[float, float, float]] = field(default_factory=list)
    bears: tuple[float, int] | None = None
    unanswered: float = 0.0
    here: float | None = None
    ups: bool = False
    downs: bool = False

    def turn(self, by: float) -> None:
        """Take in one turn; a turn down begins a new way up."""
        self.turned += by
        self.turns += 1
        if by < 0.0:
            self.marks.clear()
            self.unanswered = 0.0
            self.downs = True
        else:
            self.unanswered += by
            self.ups = True

    def lose(self) -> None:
        """Forget everything: the screw was worked, and nobody knows how far."""
        self.marks.clear()
        self.rates.clear()
        self.bears = None
        self.unanswered = 0.0
        self.here = None

    def read(self, value: float) -> None:
        """Take in a reading; it becomes a mark where it followed the turns."""
        if self._contradicts(value):
            self.lose()
        self.here, self.ups, self.downs = value, False, False
        mark = Mark(self.turned, self.turns, value)
        if not self.marks:
            self.marks.append(mark)
            return
        friction = (2.0 if len(self.marks) == 1 else 1.0) * self.screw.friction_most
        if value - self.marks[-1].reading <= 2.0 * self.screw.reading_most + friction:
            return  # reading and friction alone may make as much: it need not have followed
        for index, before in enumerate(self.marks):
            self._narrow(before, mark, is_first=index == 0)
        if self.bears is None or self.turned < self.bears[0]:
            self.bears = (self.turned, self.turns)
        self.marks.append(mark)
        self.unanswered = 0.0

    def _contradicts(self, value: float) -> bool:
        """Return whether a reading cannot come of the turns entered."""
        screw, here = self.screw, self.here
        if self.marks and value > self.worst(0.0) + screw.reading_most:
            return True
        if here is None:
            return False
        still = 2.0 * (screw.reading_most + screw.friction_most)
        return (value > here + still and not self.ups) or (value < here - still and not self.downs)

    def _narrow(self, before: Mark, mark: Mark, *, is_first: bool) -> None:
        """Narrow the rate by two marks; from the first one play may have been lost, or a slack spring met."""
        screw = self.screw
        if is_first and not self._bore(before):
            return
        error = 2.0 * screw.reading_most + (2.0 if is_first else 1.0) * screw.friction_most
        sure = mark.turned - before.turned - screw.hand * (mark.turns - before.turns)
        sure -= screw.play_most if is_first else 0.0
        if sure <= 0.0:
            return
        found = (before.turned, mark.turned, (mark.reading - before.reading + error) / sure)
        if self._by(found, mark.turned) < self.rate_at(mark.turned):
            self.rates.append(found)

    def _bore(self, mark: Mark) -> bool:
        if self.bears is None:
            return False
        at, turns = self.bears
        return mark.turned - self.screw.hand * (mark.turns - turns) >= at

    def _by(self, found: tuple[float, float, float], place: float) -> float:
        low, high, rate = found
        return rate * exp(min(self.screw.bend * max(abs(place - low), abs(place - high)), 50.0))

    def rate_at(self, place: float) -> float:
        """Return the stiffest the spring can be where the screw stands so. [Pa/turn]"""
        return min((self.screw.most, *(self._by(one, place) for one in self.rates)))

    @property
    def rate(self) -> float:
        """The stiffest the spring can be where the screw stands. [Pa/turn]"""
        return self.rate_at(self.turned)

    def worst(self, turn: float) -> float:
        """Return the highest reading to which one more turn can lead. [Pa]

        Parameters
        ----------
        turn
            Raising positive. [turn]
        """
        aim = self.turned + turn
        sure = self.screw.reading_most + self.screw.friction_most
        most = inf
        for mark in self.marks:
            up = aim - mark.turned + self.screw.hand * (self.turns - mark.turns + (turn != 0.0))
            rate = max(self.rate_at(aim), self.rate_at(mark.turned))
            most = min(most, mark.reading + sure + rate * max(up, 0.0))
        return most


def follow(screw: Screw) -> Bound:
    """Return the bound before the first turn."""
    return Bound(screw, bears=None if screw.slack else (-inf, 0))

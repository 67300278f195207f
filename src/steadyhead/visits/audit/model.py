"""A record as it is audited: moments in their order, with what was read, done, placed and said at each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any


@dataclass(frozen=True, slots=True)
class Read:
    """One reading. Pressures [Pa], flow [m³/s], steady [s], wall [K]; None where nothing was entered."""

    entry: str
    tap: str
    value: float | None
    instrument: str
    flow: float | None
    steady: float | None
    mark: str = ""
    wall: float | None = None
    swing: bool = False
    swing_whole: bool = False
    there: float | None = None
    height: float | None = None

    @property
    def is_trip(self) -> bool:
        """Whether this is the pressure at which the shut-off acted."""
        return self.mark.startswith(("trip", "act", "starts to"))

    @property
    def is_hold(self) -> bool:
        """Whether this is the last hold without action."""
        return "last hold" in self.mark

    @property
    def is_peak(self) -> bool:
        """Whether this is the highest pressure after the shut-off acted."""
        return "peak" in self.mark or "highest" in self.mark

    @property
    def is_passing(self) -> bool:
        """Whether it was read on the move, so that it cannot stand still."""
        return bool(self.mark) and (
            self.is_trip
            or self.is_peak
            or self.mark.startswith(("at the", "rising", "falling", "shut", "start"))
        )


@dataclass(frozen=True, slots=True)
class Act:
    """One act: a verb of the closed list, the thing and what was written beside it."""

    entry: str
    do: str
    thing: str
    detail: str = ""

    @property
    def words(self) -> str:
        """Thing and detail in one, lower case."""
        return f"{self.thing} {self.detail}".casefold()


@dataclass(frozen=True, slots=True)
class Moment:
    """What one person noted at one time at one step."""

    index: int
    entry: str
    node: str
    at: float
    day: str
    who: str
    text: str = ""
    reads: tuple[Read, ...] = ()
    acts: tuple[Act, ...] = ()
    places: Mapping[str, str] = field(default_factory=dict)
    expected: Mapping[str, Any] = field(default_factory=dict)
    seen: Mapping[str, Any] = field(default_factory=dict)
    choices: Mapping[str, str] = field(default_factory=dict)
    entries: tuple[str, ...] = ()
    corrected: bool = False
    more: str = ""

    @property
    def step(self) -> str:
        """Step of the handbook without its stream, in capitals except the letters that number variants."""
        return self.node.split(".")[0].strip()

    @property
    def words(self) -> str:
        """Everything said at this moment, lower case."""
        return self.text.casefold()

    @property
    def all_words(self) -> str:
        """Text and details together, lower case."""
        return " ".join((self.words, *(act.words for act in self.acts)))

    @property
    def trips(self) -> tuple[Read, ...]:
        """Readings at which the shut-off acted."""
        return tuple(read for read in self.reads if read.is_trip and read.value is not None)

    def run_trips(self) -> tuple[Read, ...]:
        """The trip reading of each run of this moment.

        Two trip readings are two runs where a hold, or an act of tripping of its own, belongs to each.
        """
        trips = self.trips
        if len(trips) <= 1:
            return trips
        acted = sum(a.do == "trip" for a in self.acts)
        apart = [trips[0]]
        for before, read in pairwise(trips):
            between = self.reads[self.reads.index(before) : self.reads.index(read)]
            if acted == len(trips) or any(r.is_hold for r in between):
                apart.append(read)
            else:
                apart[-1] = read
        return tuple(apart)

    def hold_before(self, trip: Read) -> float | None:
        """The last hold without action ahead of a trip reading, below it; None where none is read. [Pa]"""
        own = self.reads[: self.reads.index(trip) + 1]
        held = [r.value for r in own if r.is_hold and r.value is not None and r.value < (trip.value or 0.0)]
        return held[-1] if held else None

    def at_tap(self, tap: str) -> tuple[Read, ...]:
        """Readings of a tap that have a value, in their order; ``T3`` finds ``T3.main`` too."""
        return tuple(r for r in self.reads if r.value is not None and r.tap.split(".")[0] == tap)

    def done(self, *verbs: str) -> tuple[Act, ...]:
        """Acts with one of these verbs."""
        return tuple(act for act in self.acts if act.do in verbs)

    def joined(self) -> Moment:
        """Return this moment with the notes that follow it at its own step, which have nothing but words."""
        return replace(self, text=f"{self.text} {self.more}", more="") if self.more else self

    def passed(self) -> bool:
        """Whether the step was called passed, or not called anything."""
        return str(self.seen.get("result", "pass")).casefold() not in ("fail", "failed", "not passed", "no")

    def changed(self, **values: Any) -> Moment:
        """Return this moment with other values."""
        return replace(self, **values)


@dataclass(frozen=True, slots=True)
class Instrument:
    """An instrument as the record names it. low, high, error in SI; days as ISO text."""

    name: str
    what: str = ""
    low: float | None = None
    high: float | None = None
    error: float | None = None
    calibrated: str = ""
    due: str = ""


@dataclass(frozen=True, slots=True)
class Deviation:
    """A deviation that somebody recorded and accepted."""

    entry: str
    index: int
    words: str
    owned: bool


@dataclass(frozen=True, slots=True)
class Sign:
    """What was signed."""

    entry: str
    asks: str
    statement: str = ""
    as_left: Mapping[str, Any] = field(default_factory=dict)
    as_found: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Story:
    """A whole record in the order of judging."""

    moments: tuple[Moment, ...]
    instruments: Mapping[str, Instrument]
    deviations: tuple[Deviation, ...]
    sign: Sign | None

    def of(self, *steps: str) -> tuple[Moment, ...]:
        """Moments of these steps."""
        return tuple(m for m in self.moments if m.step in steps)

    def stages(self, *steps: str) -> tuple[tuple[Moment, ...], ...]:
        """Moments of these steps, those that follow each other together."""
        found: list[list[Moment]] = []
        for moment in self.of(*steps):
            if found and found[-1][-1].index + 1 == moment.index:
                found[-1].append(moment)
            else:
                found.append([moment])
        return tuple(tuple(stage) for stage in found)

    def runs(self) -> tuple[tuple[Moment, Read], ...]:
        """Every run to the trip, in order: the moment and the reading at which the shut-off acted."""
        return tuple((m, read) for m in self.moments for read in m.run_trips())

    @property
    def last(self) -> Moment:
        """Last moment of the record."""
        return self.moments[-1]

"""What the next turn of a pilot screw is advised from: a table of plain numbers, and what came of the turns.

The table stands in the plan; it knows a spring as pressure per turn and a pressure where the screw starts.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields, replace
from typing import Any, Literal

from steadyhead.errors import InputError

FORMAT = "steadyhead/advice/1"

Sees = Literal["gauge", "act"]
Status = Literal[
    "turn", "there", "no nearer", "no room", "no answer", "no fit", "over", "sign", "in time", "too soon",
    "not found", "read first", "raise first", "coarse", "used up", "needs first", "not counted", "acted",
    "not acted",
]  # fmt: skip
"""What is advised: ``turn``, or why none. ``in time``: it acted where it should; ``too soon``: raise it;
``needs first``: what the step rests on does not stand; ``used up``: the chance allowed in the job; ``not
counted``: a shut-off's screw was worked, and nobody knows how far; ``acted``: the shut-off acted while this
one was raised; ``not acted``: it was raised as far as a run goes, and nothing acted."""


@dataclass(frozen=True, slots=True)
class Screw:
    """One pilot screw on its way to one reading.

    Parameters
    ----------
    valve
        Id of the valve.
    sees
        ``gauge``: every turn shows at the gauge (a reducer). ``act``: nothing shows until the valve acts
        (a shut-off).
    target
        Reading to be reached: of the reducer, or the reading at which the shut-off is to act. [Pa at the tap]
    tolerance
        How near the target is near enough, either way. [Pa]
    window
        How far below the reading of that moment a shut-off may stand after the turn in which it acts; further
        down it acted before its time. [Pa]
    limit
        Test limit of the section as the gauge at the tap reads it, its error taken off. [Pa]
    springs
        What may be fitted: (pressure per turn [Pa/turn], setting at the start [Pa], its standard deviation
        [Pa], weight).
    plate
        Pressure per turn by the plate. [Pa/turn]
    most
        Stiffest spring that must be reckoned with until turns have been seen. [Pa/turn]
    gaps
        What may be lost: (play lost at a reversal [turn], turns that raise nothing at the start [turn]), each
        row as likely.
    grain
        How far apart the rows lie. [turn]
    slack
        The screw starts where its spring may not bear yet.
    reading
        Standard deviation of reading the gauge and of the friction in the pilot together. [Pa]
    reading_most, friction_most
        The most a gauge can be misread by, either way, and the most friction can hold a reading back. [Pa]
    bend
        Share by which pressure per turn may change from turn to turn.
    hand
        Error of a turn, either way. [turn]
    repeat
        Standard deviation of a trip from one approach to the next. [Pa]
    tell
        How far above the reading the setting stands when its tell-tale shows first; 0: it has none. [Pa]
    free
        How far the setting must be raised after it acted, before water is drawn and it opens again. [Pa]
    step
        Most that one turn may move the reading as it nears its target; 0: as far as it goes. Above 0 it is
        raised until the shut-off acts: the target is the highest reading of the run, none to be held. [Pa]
    trip
        Reading at which the other valve acts while this screw is raised, and its standard deviation [Pa];
        None where it cannot act.
    amounts
        Turns that are advised, rising. [turn]
    chance_most
        Most that the chances of all turns of the job may add up to.
    share
        Most of what is left of it that one turn may take.
    """

    valve: str
    sees: Sees
    target: float
    tolerance: float
    window: float
    limit: float
    springs: tuple[tuple[float, float, float, float], ...]
    plate: float
    most: float
    gaps: tuple[tuple[float, float], ...]
    grain: float
    slack: bool
    reading: float
    reading_most: float
    friction_most: float
    bend: float
    hand: float
    repeat: float
    tell: float
    free: float
    step: float
    trip: tuple[float, float] | None
    amounts: tuple[float, ...]
    chance_most: float
    share: float

    @property
    def aims_past(self) -> bool:
        """What it is to be brought to lies past the limit of the section."""
        return 0.0 < self.limit < self.target

    @property
    def reached_at(self) -> float:
        """Reading it is brought to: the target, never past the limit. [Pa at the tap]"""
        return self.limit if self.aims_past else self.target

    @property
    def play_most(self) -> float:
        """The largest play of the table. [turn]"""
        return max(play for play, _ in self.gaps)


@dataclass(frozen=True, slots=True)
class Aim:
    """What one step brings a screw to.

    Parameters
    ----------
    step
        Id of the step.
    valve
        Whose screw is turned.
    tap
        Where it is read, or where the shut-off senses.
    target, tolerance
        Reading to be reached, and how near. [Pa at the tap]
    climb
        Most that one turn may move the reading near its target; 0: as far as it goes. [Pa]
    trip
        Reading at which a shut-off in service acts meanwhile, and its standard deviation [Pa]; None: it is
        out of the way, or is meant to act.
    beside
        Another tap that reads the same in the trickle, and what is added to its reading [Pa]; None: there is
        none.
    """

    step: str
    valve: str
    tap: str
    target: float
    tolerance: float
    climb: float = 0.0
    trip: tuple[float, float] | None = None
    beside: tuple[str, float] | None = None


@dataclass(frozen=True, slots=True)
class Advising:
    """Every screw of a plan, and what each step brings it to, in the order of the steps."""

    screws: tuple[Screw, ...] = ()
    aims: tuple[Aim, ...] = ()

    def screw(self, aim: Aim, *, is_loaded: bool = False) -> Screw:
        """Return the table of a screw on its way to an aim.

        is_loaded: it was not brought to its lowest setting on this visit; its spring bears from the start.
        """
        found = next(screw for screw in self.screws if screw.valve == aim.valve)
        if is_loaded:
            bearing = tuple(row for row in found.gaps if row[1] <= row[0])
            found = replace(found, slack=False, gaps=bearing)
        return replace(found, target=aim.target, tolerance=aim.tolerance, step=aim.climb, trip=aim.trip)


@dataclass(frozen=True, slots=True)
class Event:
    """What happened at a screw.

    ``turn``: by so much, raising positive [turn]; ``read``: the gauge stood at it; ``open``: nothing acted
    and no tell-tale showed there; ``sign``: the tell-tale showed; ``shut``: it acted; ``trip``: it acted on a
    reading that was raised, the screw left alone; ``high``: the gauge was seen at it, whatever it was read
    for [Pa at the tap]. ``lost``: the screw was worked, and nobody knows how far; ``rest``: it was brought to
    where its table starts. live: the shut-off could act in that turn before its time.
    """

    what: Literal["turn", "read", "open", "sign", "shut", "trip", "high", "lost", "rest"]
    amount: float
    live: bool = True


@dataclass(frozen=True, slots=True)
class Advice:
    """The next turn of one screw, or why none is advised.

    Parameters
    ----------
    valve, status
        Whose screw, and what is advised.
    turn
        Raising positive; 0 for none. [turn]
    low, middle, high
        Reading expected after it, of a shut-off its setting: 95 % lie between low and high. [Pa at the tap]
    acts
        Chance that the shut-off acts in this turn.
    chance
        Chance that it acts in this turn before its time.
    spent
        Chances of the turns made so far in the job, those of other screws among them, added up.
    worst
        The highest reading this turn can lead to. [Pa]
    rate_low, rate, rate_high
        Pressure per turn by what has been seen, 95 % between low and high. [Pa/turn]
    rate_most
        The stiffest spring that is still possible. [Pa/turn]
    play_low, play_high
        Play that is still likely. [turn]
    is_coarse
        The smallest honest turn moves more than half the window, by the rate found so far.
    target
        Reading it is brought to, of a run the highest one; never past the limit. [Pa at the tap]
    is_past
        The limit lies below what the step aims at: it is brought no further than the limit.
    """

    valve: str
    status: Status
    turn: float = 0.0
    low: float = 0.0
    middle: float = 0.0
    high: float = 0.0
    acts: float = 0.0
    chance: float = 0.0
    spent: float = 0.0
    worst: float = 0.0
    rate_low: float = 0.0
    rate: float = 0.0
    rate_high: float = 0.0
    rate_most: float = 0.0
    play_low: float = 0.0
    play_high: float = 0.0
    is_coarse: bool = False
    target: float = 0.0
    is_past: bool = False


def plain_screw(screw: Screw) -> dict[str, Any]:
    """Return a screw's table as plain data."""
    return asdict(screw)


def screw_from(data: Mapping[str, Any]) -> Screw:
    """Return the table that was stored as plain data.

    Raises
    ------
    InputError
        A number is missing or there is one too many.
    """
    names = {one.name for one in fields(Screw)}
    if set(data) != names:
        wrong = ", ".join(sorted(names ^ set(data)))
        raise InputError("advice", f"its table does not fit at {wrong}.", "Write the plan again.")
    made: dict[str, Any] = {
        name: tuple(value) if isinstance(value, list) else value for name, value in data.items()
    }
    for name in ("springs", "gaps"):
        made[name] = tuple(tuple(row) for row in data[name])
    return Screw(**made)


def plain_advising(advising: Advising) -> dict[str, Any]:
    """Return the tables of a plan as plain data."""
    return {
        "screws": [asdict(one) for one in advising.screws],
        "aims": [asdict(one) for one in advising.aims],
    }


def advising_from(data: Mapping[str, Any]) -> Advising:
    """Return the tables that were stored as plain data; errors as `screw_from`."""
    aims = [
        {**one, **{name: tuple(one[name]) for name in ("trip", "beside") if one.get(name) is not None}}
        for one in data["aims"]
    ]
    return Advising(tuple(screw_from(one) for one in data["screws"]), tuple(Aim(**one) for one in aims))

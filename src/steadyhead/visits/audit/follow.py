"""The station followed through a record: where each valve stands, what is defeated, what was seen at zero."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from steadyhead.records.job import Job
from steadyhead.visits.audit.defaults import LIVE
from steadyhead.visits.audit.model import Act, Moment, Story
from steadyhead.visits.audit.notes import clauses, turns

CRACKED_TURNS: Final = 0.5
"""What a cracked valve counts as; own estimate. [turn]"""
_NAMES: Final = (
    ("IV1", re.compile(r"\biv\s?1\b|inlet (?:isolating )?(?:valve|gate|isolator)", re.IGNORECASE)),
    ("IV2", re.compile(r"\biv\s?2\b|outlet (?:isolating )?(?:valve|gate|isolator)", re.IGNORECASE)),
    ("TD2", re.compile(r"\btd\s?2\b", re.IGNORECASE)),
    ("TD", re.compile(r"\btd\b|test drain", re.IGNORECASE)),
    ("BY", re.compile(r"\bby\b|bypass", re.IGNORECASE)),
    ("LB", re.compile(r"\blb\b|low[- ]flow", re.IGNORECASE)),
    ("relief", re.compile(r"relief", re.IGNORECASE)),
    ("standby", re.compile(r"standby", re.IGNORECASE)),
)
_SHUT: Final = re.compile(r"\b(?:shut|closed|isolated)\b", re.IGNORECASE)
_OPEN: Final = re.compile(r"\b(?:open|opened|in service|full)\b", re.IGNORECASE)


@dataclass(slots=True)
class State:
    """Where the station stands at one point of the record; None where the record does not say."""

    inlet: float | None = None
    outlet: float | None = None
    drain: str | None = None
    water_seen: bool = False
    outlet_moved: int = -1
    drain2: str | None = None
    tripped: bool = False
    defeated: dict[str, Act] = field(default_factory=dict)
    restored: dict[str, Act] = field(default_factory=dict)
    pressures: dict[str, float] = field(default_factory=dict)
    zero: dict[str, int] = field(default_factory=dict)
    alarm_on_test: bool = False

    def copy(self) -> State:
        """Return a state that can be changed without changing this one."""
        return State(
            self.inlet,
            self.outlet,
            self.drain,
            self.water_seen,
            self.outlet_moved,
            self.drain2,
            self.tripped,
            dict(self.defeated),
            dict(self.restored),
            dict(self.pressures),
            dict(self.zero),
            self.alarm_on_test,
        )


@dataclass(frozen=True, slots=True)
class Step:
    """One act with the state it met."""

    moment: Moment
    act: Act
    state: State


@dataclass(frozen=True, slots=True)
class Followed:
    """The station through the record: state at the start of each moment, at each act, and at the end."""

    at: tuple[State, ...]
    steps: tuple[Step, ...]
    end: State


def valve_of(words: str) -> str:
    """Return which valve of the line a name means, empty for none of them."""
    for name, pattern in _NAMES:
        if pattern.search(words):
            return name
    return ""


def opening(words: str, job: Job, default: float | None = None) -> float | None:
    """Return how far open a valve stands by words. [turn]

    Examples
    --------
    >>> opening("to the V2 opening", Job(raising_turns=2.5)), opening("shut", Job())
    (2.5, 0.0)
    """
    told = turns(words)
    if "v2" in words.casefold():
        return told[0] if told else job.raising_turns
    if told and not re.search(r"\bfully\b", words, re.IGNORECASE):
        return told[0]
    if re.search(r"\bcrack|\bjust off\b|\bslightly\b|\ba little\b", words, re.IGNORECASE):
        return CRACKED_TURNS
    if _SHUT.search(words):
        return 0.0
    if _OPEN.search(words):
        return job.inlet_turns or 1e3
    return default


def follow(story: Story, job: Job) -> Followed:
    """Return the station followed through a record from its start."""
    state = State()
    if job.kind in ("yearly", "restart"):
        state.inlet, state.outlet, state.drain = job.inlet_turns or 1e3, job.inlet_turns or 1e3, "shut"
        state.tripped = job.kind == "restart"
    at: list[State] = []
    steps: list[Step] = []
    for moment in story.moments:
        at.append(state.copy())
        for act in moment.acts:
            steps.append(Step(moment, act, state.copy()))
            _apply(state, act, moment, job)
        if moment.step == "F4" and state.drain == "shut":
            state.drain = None
        _say(state, moment, job)
        _place(state, moment.places, moment, job)
        _read(state, moment)
    return Followed(tuple(at), tuple(steps), state)


def _apply(state: State, act: Act, moment: Moment, job: Job) -> None:
    valve = valve_of(act.thing)
    if valve == "IV1":
        _inlet(state, act, job)
    elif valve == "IV2" and act.do in ("open", "shut", "crack", "throttle"):
        state.outlet = 0.0 if act.do == "shut" else (opening(act.detail, job) or job.inlet_turns or 1e3)
        state.outlet_moved = moment.index
    elif valve in ("TD", "TD2") and act.do in ("open", "shut", "crack", "throttle"):
        _drain(state, act, valve)
    if act.do == "flush" and "suppl" in act.words:
        state.zero.pop("T1", None)
    if act.do == "defeat":
        state.defeated[key_of(act.thing)] = act
    elif act.do == "restore":
        state.restored[key_of(act.thing)] = act
        state.defeated.pop(match(key_of(act.thing), state.defeated), None)
    elif act.do == "trip":
        state.tripped = True
    elif act.do == "reset":
        state.tripped = False
    elif act.do == "alarm to test":
        state.alarm_on_test = True
    elif act.do == "alarm live":
        state.alarm_on_test = False


def _inlet(state: State, act: Act, job: Job) -> None:
    if act.do == "shut":
        state.inlet = 0.0
    elif act.do == "crack":
        state.inlet = CRACKED_TURNS
    elif act.do in ("open", "throttle"):
        state.inlet = opening(act.detail, job, job.inlet_turns or 1e3)
    if act.do in ("open", "crack"):
        state.zero.clear()


def _drain(state: State, act: Act, valve: str) -> None:
    how = {"shut": "shut", "crack": "cracked"}.get(act.do, "open")
    if act.do == "open" and "trickl" in act.detail.casefold():
        how = "trickle"
    if valve == "TD2":
        state.drain2 = how
        return
    state.drain = how
    if how != "shut" and re.search(
        r"water (?:is )?seen|sees? water|saw water|running|trickl", act.detail, re.IGNORECASE
    ):
        state.water_seen = True


def _place(state: State, places: Mapping[str, str], moment: Moment, job: Job) -> None:
    for thing, where in places.items():
        valve = valve_of(thing) if "cock" not in thing.casefold() else ""
        if valve == "IV1":
            state.inlet = opening(where, job, state.inlet)
        elif valve == "IV2":
            now = opening(where, job, state.outlet)
            if (now or 0.0) > 0 and not (state.outlet or 0.0) > 0:
                state.outlet_moved = moment.index
            state.outlet = now
        elif valve == "TD":
            state.drain = "shut" if _SHUT.search(where) else where.casefold()
        elif valve == "TD2":
            state.drain2 = "shut" if _SHUT.search(where) else where.casefold()


_SET_TO: Final = re.compile(
    r"\b(?:opened|open|set|put|brought|left|stood|stands|wound|eased)\b(?: out|"
    r" up)? (?:the )?(?:IV1|inlet valve)\b[^,;.]{0,12}\b(?:to|"
    r"at|by)\b|"
    r"\b(?:IV1|inlet valve)\b[^,;.]{0,20}\b(?:opened|open|set|put|brought|left|stood|stands|wound|"
    r"eased|up)\b[^,;.]{0,8}\b(?:to|at)\b",
    re.IGNORECASE,
)
_OUTLET_LEFT: Final = re.compile(
    r"\b(?:IV2|outlet valve)\b[^,;.]{0,30}\b(?:left|stood|stands|stays|eased|opened|"
    r"found)\b[^,;.]{0,25}\b(?:open|turns?)\b|"
    r"\b(?:left|eased) (?:the )?(?:IV2|outlet valve)\b[^,;.]{0,25}\bopen\b",
    re.IGNORECASE,
)


_OUTLET_SHUT: Final = re.compile(
    r"\b(?:IV2|outlet valve) (?:was |is |now |then )?(?:\w+ly )?(?:shut|closed)\b"
    r"(?! (?:only|not|half|nearly))",
    re.IGNORECASE,
)


_INLET: Final = r"\b(?:IV ?1|inlet (?:isolating )?(?:valve|gate|isolator))\b"
_MOVES: Final = (
    r"\b(?:wound|opened|ran|run|brought|put|took|taken|turned|spun|cranked|eased|left|set|worked|screwed|backed|"
    r"open(?:s|ing)?|up|now|stands?|stood|is|was|went|gone)\b"
)
_NOT_SHUT: Final = r"(?:(?!\b(?:down|in|shut|closed?|home|found|half|not|until|till)\b)[^,;.]){0,20}?"
_FULL: Final = (
    r"\b(?:(?:right|all the way|the (?:whole|full) way|clean|completely|fully|full|wide|flat|hard) (?:out|"
    r"open|up)|"
    r"(?:to|on|against|onto) (?:the |its )?(?:(?:full|end|back|top|upper|open|last) )?(?:stop|full|full bore|"
    r"fully open|full travel|end of its travel|back ?seat|last turn)|full bore|as far as it (?:goes|would "
    r"go|went)|"
    r"every turn it has)\b"
    r"(?![^,;.]{0,15}\b(?:only|until|till|later|at H4|in H4|for H4|as found)\b)"
)
_INLET_WIDE: Final = re.compile(
    rf"{_MOVES}{_NOT_SHUT}{_INLET}{_NOT_SHUT}{_FULL}|{_INLET}{_NOT_SHUT}{_MOVES}{_NOT_SHUT}{_FULL}|"
    rf"{_INLET} {_FULL}|\b(?:fully|full|wide) open(?:ed)? (?:the )?{_INLET}|\bopened (?:up )?(?:the "
    rf")?{_INLET} "
    rf"(?:fully|wide|right up|completely)\b",
    re.IGNORECASE,
)
"""The inlet valve put to its whole opening."""
_INLET_BACK: Final = re.compile(
    rf"{_INLET}[^,;.]{{0,30}}\b(?:back|shut|closed|down|in)\b|\b(?:shut|closed|brought|back)\b[^,;.]{{0,15}}{_INLET}|"
    r"\b(?:back (?:to|at|down|in)|shut again|closed again|then (?:shut|closed))\b",
    re.IGNORECASE,
)
"""And put back: how far is not taken from words."""


def _say(state: State, moment: Moment, job: Job) -> None:
    """Take from the words where a valve was put, where no act and no position says it."""
    acted = {valve_of(a.thing) for a in moment.acts} | {valve_of(t) for t in moment.places}
    if moment.step in ("H4", "J2", "Y8") or not ("IV" in moment.text or "valve" in moment.text):
        return
    wide = False
    for clause in clauses(moment.text):
        if not clause.done:
            continue
        told = turns(re.sub(r"of \d+ ", "", clause.text))
        if "IV1" not in acted and told and _SET_TO.search(clause.text):
            state.inlet = told[-1]
        elif "IV1" not in acted and (spot := _INLET_WIDE.search(clause.text)):
            back = _INLET_BACK.search(clause.text[spot.end() :])
            state.inlet, wide = None if back else job.inlet_turns or 1e3, True
        elif wide and _INLET_BACK.search(clause.text):
            state.inlet = None
        if "IV2" not in acted and moment.step in ("B1", "Y2", "R7") and _OUTLET_SHUT.search(clause.text):
            state.outlet, state.outlet_moved = 0.0, moment.index
        if "IV2" not in acted and _OUTLET_LEFT.search(clause.text):
            state.outlet, state.outlet_moved = told[-1] if told else CRACKED_TURNS, moment.index


def _read(state: State, moment: Moment) -> None:
    for read in moment.reads:
        if read.value is None:
            continue
        tap = read.tap.split(".")[0]
        state.pressures[tap] = read.value
        if abs(read.value) <= LIVE.si:
            state.zero[tap] = moment.index


def key_of(thing: str) -> str:
    """Return a thing's name as it is compared: lower case, without what changes between writers.

    Examples
    --------
    >>> key_of("the Shut-off pilot setting"), key_of("shut-off sensing root cock")
    ('shut-off pilot', 'shut-off sensing cock')
    """
    words = thing.casefold().replace("shutoff", "shut-off").replace("lock nut", "nut")
    words = re.sub(r"\b(?:so)\b", "shut-off", words)
    words = re.sub(r"\b(?:the|of|its|setting|line|isolation|isolating|stream|valve|root)\b", " ", words)
    return " ".join(words.split())


def match(name: str, among: Mapping[str, Act]) -> str:
    """Return the key that a name means: the same, or one whose words contain it or are contained."""
    if name in among:
        return name
    mine = set(name.split())
    for other in among:
        theirs = set(other.split())
        if mine and theirs and (mine <= theirs or theirs <= mine):
            return other
    return name


def acts(followed: Followed, *verbs: str) -> Iterator[Step]:
    """Yield the acts with one of these verbs."""
    return (step for step in followed.steps if step.act.do in verbs)

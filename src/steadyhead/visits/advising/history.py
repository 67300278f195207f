"""What happened at one screw, out of the entries of a run.

Acts count wherever they were entered, by whichever verb: those that say how far are followed; of the others
it is only known that nobody knows how far (`steadyhead.visits.advising.acts`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby
from typing import Any

from steadyhead.procedure.clocks import Doubt, doubts, may_follow
from steadyhead.procedure.grammar import is_number
from steadyhead.records.advice import Advising, Aim, Event, Screw
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Procedure
from steadyhead.visits.advising import readings as r
from steadyhead.visits.advising.acts import Acts, plain, turns_of

__all__ = ["events", "turns_of"]

ACTED = ("acted", "acts")
"""Inputs by which a step notes that the shut-off acted."""
TOLD = ("seen",)
"""Inputs by which a step notes that it is about to act, where it has a tell-tale, or acts."""
OPEN = ("open", "shut_off_open")
"""Inputs by which a step notes that the shut-off stands open."""
UNTOLD = 4.0
"""Standard deviations of a reading by which it may move of itself between two turns; own estimate."""
REST = "C1S"
"""Step that brings a screw to where its table starts."""
SUMMARY = "turns"
"""Input that notes how far a screw was turned in all at a step."""
SAME_TURNS = 1 / 16
"""How far turns noted in all may lie from the sum of those entered; own estimate. [turn]"""
MOMENT = 1.0
"""Apart by less than this, entries were made in one moment. [s]"""
NOTED_WITH = (*r.AT_ACTION, "hold", "T3", "reading")
"""Readings that come after turns noted in the same moment."""


def events(
    advising: Advising,
    aim: Aim,
    screw: Screw,
    entries: Iterable[Entry],
    procedure: Procedure | None = None,
) -> tuple[Event, ...]:
    """Return what happened at a screw, in the order of judging.

    Parameters
    ----------
    advising
        Tables of the plan.
    aim
        Which screw, and where it is read.
    screw
        Its table.
    entries
        Standing entries of the run, in order: corrections applied.
    procedure
        The plan: what its steps work, and which way through the station they belong to.

    Notes
    -----
    Turns are acts ``raise`` and ``lower`` on the valve or its setting, with an amount in a unit of turning;
    without a unit it counts turns. Any other act on setting, spring or nut, and turns noted in all, leave the
    setting unknown. Readings are those in the trickle at the tap of the aim (`AT_TRICKLE`); any other one
    counts only for how high the outlet stood. A turn of which the clocks leave open whether it was made
    before or after a reading counts as made after it.
    """
    follower = _Follower(advising, aim, screw, procedure)
    listed, unclear = _worst_order(follower, list(entries))
    noted, worked = _noted(follower, listed), _worked(follower, listed)
    for at, entry in enumerate(listed):
        if at in noted:
            follower.summed(entry.node, noted[at])
        if at in worked or entry.id in unclear:
            follower.lose()
        if entry.id not in unclear:
            follower.take(entry)
    follower.ask()
    return tuple(follower.found)


def _worst_order(follower: _Follower, entries: list[Entry]) -> tuple[list[Entry], set[str]]:
    """Return the entries with each turn behind the last reading it may have been made after, by the clocks.

    Turns that would look harmless there stand where they stood, a shut-off's upwards, or leave the setting
    unknown, a reducer's downwards: the second item are the ids of these.
    """
    doubt = doubts(entries)
    behind: dict[int, list[Entry]] = {}
    moved: set[int] = set()
    unclear: set[str] = set()
    for at, entry in enumerate(entries):
        effect = follower.effect(entry) if entry.kind == "action" else "none"
        turn = (turns_of(entry.payload) or 0.0) if effect == "turn" else 0.0
        if effect == "none" or (follower.screw.sees == "act" and turn > 0.0):
            continue
        later = range(len(entries) - 1, at, -1)
        last = next((to for to in later if _tells_after(entry, entries[to], doubt)), None)
        if last is not None:
            moved.add(at)
            behind.setdefault(last, []).append(entry)
            unclear |= {entry.id} if follower.screw.sees == "gauge" and turn < 0.0 else set()
    found: list[Entry] = []
    for at, entry in enumerate(entries):
        found += [] if at in moved else [entry]
        found += behind.get(at, [])
    return found, unclear


def _tells_after(one: Entry, other: Entry, doubt: Doubt) -> bool:
    """Return whether what was read or seen sorts after a turn and may have been so before it."""
    return other.kind in ("reading", "observation") and may_follow(one, other, doubt)


def _noted(follower: _Follower, entries: Sequence[Entry]) -> dict[int, float]:
    """Return turns noted in all, by the place before which they were made.

    Where turns were entered at that step and make the same sum, they are no more than that.
    """
    counted: dict[str, list[float]] = {}
    for one in entries:
        if one.kind == "action" and follower.effect(one) == "turn":
            counted.setdefault(one.node, []).append(turns_of(one.payload) or 0.0)
    found: dict[int, float] = {}
    for at, entry in enumerate(entries):
        payload, node = entry.payload, entry.node
        if entry.kind != "reading" or payload.get("input") != SUMMARY or not follower.is_own(node):
            continue
        value = payload.get("value")
        noted = float(value) if isinstance(value, int | float) else 0.0
        if value == 0 or any(abs(noted - one) <= SAME_TURNS for one in _sums(counted.get(node, []))):
            continue
        found[at if node in counted else _before(follower, entries, at)] = 0.0 if node in counted else noted
    return found


def _sums(turns: Sequence[float]) -> tuple[float, ...]:
    """Return what may be noted as the sum of turns: up, down, what is left of both, all of them."""
    up, down = sum(one for one in turns if one > 0.0), -sum(one for one in turns if one < 0.0)
    return (up, down, abs(up - down), up + down) if turns else ()


def _worked(follower: _Follower, entries: Sequence[Entry]) -> set[int]:
    """Return where steps begin that work the screw, and at which no act says how far."""
    found: set[int] = set()
    blocks = groupby(range(len(entries)), key=lambda at: entries[at].node)
    for node, places in blocks:
        own = [at for at in places if entries[at].kind in ("action", "reading", "observation")]
        if node in follower.implied and not any(follower.effect(entries[at]) == "turn" for at in own):
            found.update(own[:1])
    return found


def _before(follower: _Follower, entries: Sequence[Entry], at: int) -> int:
    """Return the entry before which the turns noted at a place were made.

    A shut-off was lowered before it acted; a reducer was turned before the reading noted in the same moment.
    Else they may have been made up to then.
    """
    note = entries[at]
    same = [
        place
        for place, one in enumerate(entries)
        if one.node == note.node and one.kind == "reading" and _name(one.payload) in NOTED_WITH
    ]
    if follower.screw.sees == "act":
        same = [place for place in same if _name(entries[place].payload) in r.AT_ACTION]
    else:
        same = [place for place in same if abs(entries[place].time - note.time) < MOMENT]
    return min(same, key=lambda place: abs(place - at), default=at)


class _Follower:
    """Follows one screw through the entries; a shut-off that acted is not read until it stands open again."""

    def __init__(self, advising: Advising, aim: Aim, screw: Screw, procedure: Procedure | None) -> None:
        self.aim, self.screw, self.procedure = aim, screw, procedure
        own = [one for one in advising.aims if one.valve == aim.valve]
        self.aims = {one.step: one for one in advising.aims}
        self.live = {one.step: one.trip is not None for one in own}
        self.is_live = True
        self.acts = Acts(aim.valve, [one.valve for one in advising.screws], procedure)
        nodes = procedure.nodes if procedure is not None else ()
        self.inputs = {node.id: {one.name for one in node.inputs} for node in nodes}
        self.still = {(node.id, one.name): one.stable_within for node in nodes for one in node.inputs}
        self.implied = self._implied()
        self.streams = procedure.streams if procedure is not None else {}
        self.trickle = self._trickle()
        self.found: list[Event] = []
        self.last: float | None = None
        self.gauge = ""
        self.is_shut = False

    def _implied(self) -> set[str]:
        """Return steps that work the screw, say nothing of how far, and bring it to no reading."""
        own = f"{plain(self.aim.valve)}.setting"
        return {
            step
            for step, works in self.acts.works.items()
            if own in works and step not in self.aims and not self._is_rest(step)
        }

    def _trickle(self) -> float:
        limits: Mapping[str, float] = self.procedure.limits if self.procedure is not None else {}
        stream = self.streams.get(self.aim.step, "")
        named = limits.get(f"trickle_flow@{stream}") if stream else None
        return r.TRICKLES * (named if named is not None else limits.get("trickle_flow", 0.0))

    def effect(self, entry: Entry) -> str:
        return self.acts.effect(entry.node, entry.payload)

    def is_own(self, node: str) -> bool:
        """Return whether a step turns this screw, by what the plan says or by its aim."""
        aim = self.aims.get(node)
        if aim is not None:
            return aim.valve == self.aim.valve
        return f"{plain(self.aim.valve)}.setting" in self.acts.works.get(node, ())

    def _is_rest(self, node: str) -> bool:
        return r.base(node) == REST and plain(node.partition(".")[2]) == plain(self.aim.valve)

    def _is_here(self, node: str) -> bool:
        """Return whether a step belongs to the same way through the station."""
        own, other = self.streams.get(self.aim.step, ""), self.streams.get(node, "")
        return not own or not other or own == other

    def take(self, entry: Entry) -> None:
        payload = dict(entry.payload)
        self.is_live = self.live.get(entry.node, self.is_live)
        if self._is_rest(entry.node):
            self._rest(entry, payload)
            return
        if entry.kind == "action":
            self._act(entry.node, payload)
        elif entry.kind == "reading" and self._is_here(entry.node):
            self._read(entry.node, payload)
        elif entry.kind == "observation" and self._is_here(entry.node):
            self._observe(payload)

    def _rest(self, entry: Entry, payload: dict[str, Any]) -> None:
        """At its step of rest a screw is brought to where its table starts."""
        effect = self.effect(entry) if entry.kind == "action" else "none"
        if effect == "lost":
            self.lose()
        elif effect == "turn" or payload.get("input") == SUMMARY or plain(payload.get("do")) == "tick":
            self.found.append(Event("rest", 0.0))
            self.last, self.is_shut = None, False

    def _act(self, node: str, payload: dict[str, Any]) -> None:
        do = plain(payload.get("do"))
        if do == "reset" and self._is_here(node):
            self.is_shut = False
        if do == "trip" and self._is_here(node):
            self._shut(self.last)
        effect = self.acts.effect(node, payload)
        if effect == "lost" or (effect == "nut" and not self._acts()):
            self.lose()
        elif effect == "turn":
            turn = turns_of(payload)
            assert turn is not None
            self._turn(turn)

    def _turn(self, turn: float) -> None:
        if self._acts() and turn < 0.0:
            self.ask()
        self.found.append(Event("turn", turn, self.is_live))

    def lose(self) -> None:
        """The screw was worked, and nobody knows how far."""
        self.found.append(Event("lost", 0.0))
        self.last = None

    def summed(self, node: str, turns: float) -> None:
        """Take in turns noted in all: of a shut-off lowered they are one turn; else nobody knows the way."""
        if self._is_rest(node):
            return
        if self._acts() and turns > 0.0 and node in self.aims:
            self._turn(-turns)
        else:
            self.lose()

    def _read(self, node: str, payload: dict[str, Any]) -> None:
        value = self._at_tap(node, payload)
        if value is None or payload.get("as") in r.NO_PRESSURE:
            return
        name, marked = _name(payload), payload.get("as")
        at_action = name in r.AT_ACTION or marked in r.AT_ACTION
        if at_action and not self._acts():
            self._shut(value)
            return
        if marked in r.NOT_SETTLED or self._moves(node, payload) or not self._tells(node, payload):
            self._high(node, value)
        elif self._acts():
            self._of_shut_off(value, at_action=at_action)
        else:
            self._shown(value, str(payload.get("instrument", "")))

    def _moves(self, node: str, payload: dict[str, Any]) -> bool:
        """Return whether a reading swung, or moved on by more than its step lets it while it was watched."""
        within, most = payload.get("steady_within"), self.still.get((node, str(payload.get("input"))), 0.0)
        return bool(payload.get("swing")) or (is_number(within) and 0.0 < most * (1.0 + 1e-9) < within)

    def _at_tap(self, node: str, payload: dict[str, Any]) -> float | None:
        """Return what the tap of the aim read, or what another one read that tells the same."""
        value, tap = payload.get("value"), payload.get("tap")
        if isinstance(value, bool) or not isinstance(value, int | float):
            return None
        if tap == self.aim.tap:
            return float(value)
        beside = self.aim.beside
        if beside is not None and tap == beside[0] and str(payload.get("input")) in r.feeds(node):
            return float(value) + beside[1]
        return None

    def _tells(self, node: str, payload: dict[str, Any]) -> bool:
        """Return whether a reading tells where a setting stands: taken in the trickle, the shut-off open."""
        flow, name = payload.get("flow"), str(payload.get("input", ""))
        if name in r.WITH_FLOW and not is_number(flow):
            return False
        if is_number(flow) and self.trickle > 0.0 and not 0.0 < flow <= self.trickle:
            return False
        if name in r.feeds(node) or name.partition(".")[0] in r.feeds(node):
            self.is_shut = self.is_shut and self._acts()
            return True
        if node not in self.aims and r.base(node) not in r.SEEN_AT:
            return False
        is_asked = name in self.inputs.get(node, ())
        if self._acts():
            return not is_asked or name.partition(".")[0] in r.AT_ACTION
        return not is_asked and node in self.aims and not self.is_shut

    def _high(self, node: str, value: float) -> None:
        """The outlet was seen so high, whatever it was read for."""
        if not node or node in self.aims or r.base(node) in (*r.SEEN_AT, *r.AT_TRICKLE):
            self.found.append(Event("high", value))

    def _of_shut_off(self, value: float, *, at_action: bool) -> None:
        if at_action:
            self._action_at(value, is_sign=self.screw.tell > 0.0)
        elif not self.is_shut:
            self.last = value
            self.found.append(Event("open", value))

    def _shown(self, value: float, gauge: str) -> None:
        """A reading that moved with no turn entered was moved by one left out: what was before is dropped.

        So it is where another gauge is read: its offset is another one. One that fell so counts once it is
        read again: a slip of the unit, a shut cock or a dry inlet would have the screw raised by far.
        """
        seen = [one for one in self.found if one.what != "high"]
        is_watched = bool(seen) and seen[-1].what == "read"
        before = next((one for one in reversed(seen) if one.what != "shut"), None)
        is_same = not gauge or not self.gauge or plain(gauge) == self.gauge
        if gauge and self.gauge and plain(gauge) != self.gauge:
            self.lose()
        self.gauge = plain(gauge) or self.gauge
        if (
            before is not None
            and before.what == "read"
            and abs(value - before.amount) > UNTOLD * self.screw.reading
        ):
            self.lose()
            if is_watched and is_same and value < before.amount:
                return
        self.found.append(Event("read", value))
        self.last = value

    def _observe(self, payload: dict[str, Any]) -> None:
        name, value = payload.get("input"), payload.get("value")
        if name in OPEN and value is True:
            self.is_shut = False
        if name in ACTED and value is True:
            self._shut(self.last)
        elif name in (*ACTED, *TOLD) and value is False:
            self.ask()
        elif self._acts() and name in TOLD and value is True and self.last is not None and not self._ended():
            self._action_at(self.last, is_sign=self.screw.tell > 0.0)

    def _action_at(self, value: float, *, is_sign: bool) -> None:
        """A tell-tale shows, or it acts; the reading noted as it acted goes before the one before it."""
        if self._ended() and self.found:
            self.found[-1] = Event(self.found[-1].what, value)
        elif is_sign:
            self._drop_open()
            self.found.append(Event("sign", value))
        else:
            self._shut(value)

    def _shut(self, value: float | None) -> None:
        """It acted; of a reducer the outlet tells nothing from now on, only how high it stood."""
        if not self._acts():
            self.is_shut = True
            self.found += [] if value is None else [Event("shut", value)]
            return
        if value is None or self.is_shut:
            return
        self._drop_open()
        if self._ended():
            self.found.pop()
        self.found.append(Event("shut", value))
        self.is_shut = True

    def ask(self) -> None:
        """Nothing was noted after the last turn of a shut-off: it stood open, at the reading of then."""
        turned = bool(self.found) and self.found[-1].what == "turn"
        if self._acts() and turned and not self.is_shut and self.last is not None:
            self.found.append(Event("open", self.last))

    def _drop_open(self) -> None:
        """A reading taken just before it acted at the same turn does not say that it stood open after it."""
        if len(self.found) > 1 and self.found[-1].what == "open" and self.found[-2].what == "turn":
            self.found.pop()

    def _ended(self) -> bool:
        return bool(self.found) and self.found[-1].what in ("sign", "shut")

    def _acts(self) -> bool:
        return self.screw.sees == "act"


def _name(payload: Mapping[str, Any]) -> str:
    return str(payload.get("input", "")).partition(".")[0]

"""Clocks of the devices of a run: where one tells two stories, and how far that leaves its times open."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from steadyhead.records.entry import Entry
from steadyhead.records.run import Remark

JUMP = 5.0
"""Difference between two clocks of one device that is called a jump. Own estimate. [s]"""
LISTED = 12
"""Most entries named in one remark."""


def by_device(entries: Iterable[Entry]) -> dict[str, list[Entry]]:
    """Return the entries of each device in the order of its own numbers, devices by name."""
    found: dict[str, list[Entry]] = {}
    for entry in entries:
        found.setdefault(entry.device, []).append(entry)
    return {
        device: sorted(found[device], key=lambda entry: (entry.device_seq, entry.micros, entry.id))
        for device in sorted(found)
    }


def clocks(entries: Iterable[Entry]) -> Iterator[Remark]:
    """Yield where a device's corrected clock and its running seconds, or its counting, tell two stories."""
    for device, made in by_device(entries).items():
        hand = tuple(entry.id for entry in made if entry.by_hand)
        if hand:
            yield Remark("RUN-03", device, hand[:LISTED], {"why": "by hand", "count": float(len(hand))})
        for old, new in pairwise(made):
            if new.device_seq == old.device_seq:
                yield Remark("RUN-03", device, (old.id, new.id), {"why": "one number twice", "by": 0.0})
                continue
            back, off = _back(old, new), _off(old, new)
            if back > 0.0:
                yield Remark("RUN-03", device, (old.id, new.id), {"why": "back", "by": back})
            elif off != 0.0:
                yield Remark("RUN-03", device, (old.id, new.id), {"why": "set", "by": off})


def set_back(entries: Iterable[Entry]) -> dict[str, float]:
    """Return by how much the clock of each device was set back while it was in use. [s]

    Its running seconds show it, or a later number with an earlier time.
    """
    found = {}
    for device, made in by_device(entries).items():
        by = max((max(_back(old, new), -_off(old, new)) for old, new in pairwise(made)), default=0.0)
        if by > 0.0:
            found[device] = by
    return found


@dataclass(frozen=True)
class Doubt:
    """By how much the clocks of devices may be wrong because they were set while in use.

    back: by device, the most by which one was set back. [s] ahead: by device, where one was set forward: the
    number it was seen at, and by how much. [s]
    """

    back: Mapping[str, float]
    ahead: Mapping[str, tuple[tuple[int, float], ...]]

    def late(self, entry: Entry) -> float:
        """Return by how much an entry may have been made later than it says. [s]"""
        return self.back.get(entry.device, 0.0) + self._ahead(entry, after=True)

    def early(self, entry: Entry) -> float:
        """Return by how much an entry may have been made earlier than it says. [s]"""
        return self.back.get(entry.device, 0.0) + self._ahead(entry, after=False)

    def _ahead(self, entry: Entry, *, after: bool) -> float:
        """Return by how much the clock was set forward after an entry, or up to it."""
        if entry.by_hand:
            return 0.0
        seen = self.ahead.get(entry.device, ())
        return sum(by for number, by in seen if (number > entry.device_seq) == after)


def doubts(entries: Iterable[Entry]) -> Doubt:
    """Return what the clocks of all devices leave open.

    The running seconds go on while a machine sleeps: where the clock gained on them, it was set forward.
    """
    listed = tuple(entries)
    ahead = {}
    for device, made in by_device(listed).items():
        seen = tuple((new.device_seq, off) for old, new in pairwise(made) if (off := _off(old, new)) > 0.0)
        if seen:
            ahead[device] = seen
    return Doubt(set_back(listed), ahead)


def may_follow(one: Entry, other: Entry, doubt: Doubt) -> bool:
    """Return whether an entry that sorts before another one may have been made after it.

    On one device its own numbers tell. Where they say later and an hour was given by hand, that hour does.
    """
    if one.device == other.device and (
        one.device_seq < other.device_seq or not (one.by_hand or other.by_hand)
    ):
        return one.device_seq > other.device_seq
    within = one.clock_within + other.clock_within + doubt.late(one) + doubt.early(other)
    return other.time - one.time <= within


def _within(old: Entry, new: Entry) -> float:
    return JUMP + old.clock_within + new.clock_within


def _back(old: Entry, new: Entry) -> float:
    """Return by how much the clock went back between two entries; 0 where it did not. [s]"""
    gone = new.time - old.time
    return -gone if gone < -_within(old, new) and not (new.by_hand or old.by_hand) else 0.0


def _off(old: Entry, new: Entry) -> float:
    """Return how much more time the clock shows between two entries than ran; 0 where they agree. [s]"""
    gone, ran = new.time - old.time, new.t_mono - old.t_mono
    tells = ran > 0.0 and old.t_mono > 0.0 and not (new.by_hand or old.by_hand)
    return gone - ran if tells and abs(gone - ran) > _within(old, new) else 0.0

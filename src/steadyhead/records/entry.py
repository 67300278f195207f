"""Entries of a run: what somebody did, read or saw at a station, one after the other (agreement A8).

An entry is a fact. Nothing is overwritten: a correction is another entry, and what follows from the entries
is worked out, never stored. Amounts are SI; what the person typed stands beside them as it was typed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta, timezone
from functools import lru_cache
from math import floor
from typing import Any, Final

FORMAT = "steadyhead/entries/1"

KINDS: Final[Mapping[str, tuple[str, ...]]] = {
    "run": ("plan", "kind", "date", "purpose"),
    "person": ("name", "role", "authorised_until"),
    "instrument": (
        "name", "what", "quantity", "low", "high", "class", "division", "calibrated", "due", "zero",
    ),
    "choice": ("choice", "option"),
    "reading": (
        "input", "quantity", "tap", "value", "typed", "unit", "instrument", "flow", "flow_instrument",
        "steady_for",
        "steady_within", "swing", "wall_temperature", "as", "read_at_height", "corrected_by",
    ),
    "action": ("do", "thing", "detail", "to", "amount", "unit"),
    "observation": ("input", "value", "as"),
    "position": ("thing", "is"),
    "photo": ("of", "name", "sha256"),
    "note": ("text",),
    "correction": ("reason", "payload"),
    "void": ("reason",),
    "deviation": ("about", "what", "risk", "measure", "owner", "due", "accepted_by"),
    "sign": ("asks", "statement", "as_found", "as_left"),
}  # fmt: skip
"""Kinds of entry and the keys their payload may carry. A kind not listed is kept and shown."""

NEEDED: Final[Mapping[str, tuple[str, ...]]] = {
    "run": ("plan",),
    "person": ("name",),
    "instrument": ("name",),
    "choice": ("choice", "option"),
    "reading": ("input",),
    "action": ("do",),
    "observation": ("input", "value"),
    "position": ("thing", "is"),
    "photo": ("of",),
    "note": ("text",),
    "correction": ("reason", "payload"),
    "void": ("reason",),
    "deviation": ("about",),
    "sign": ("asks",),
}
"""Keys without which a payload says nothing."""

NUMBERS: Final[Mapping[str, tuple[str, ...]]] = {
    "instrument": ("low", "high", "class", "division", "zero"),
    "reading": ("flow", "steady_for", "steady_within", "wall_temperature", "read_at_height", "corrected_by"),
    "action": ("amount",),
}
"""Keys of a payload that are numbers where they are given."""

MOVES: Final = (
    "open", "shut", "crack", "throttle", "isolate", "vent", "drain", "draw water", "flush", "fill", "pump",
    "hold", "release",
    "trip", "reset", "stroke by hand", "inject", "lock", "unlock", "connect", "disconnect",
)  # fmt: skip
"""Acts that work a thing as it is meant to be worked: they move it and leave it the same thing."""
TOUCHES: Final = (
    "raise", "lower", "turn", "tighten nut", "slacken nut", "clean", "bleed", "remove", "refit", "replace",
    "repair", "adjust", "knock", "open cover", "close cover", "grease", "set",
)  # fmt: skip
"""Acts after which a thing is no longer as it was: what was proved of it before no longer stands."""
GUARDS: Final = (
    "defeat",
    "restore",
    "bridge contacts",
    "remove bridge",
    "break wire",
    "join wire",
    "alarm to test",
    "alarm live",
)
"""Acts on what protects or warns: out of action, back in action, made to speak without real movement."""
TELLS: Final = (
    "tick", "look", "second look", "prove tight", "prove live", "mark", "seal", "break seal", "tag", "untag",
    "call", "notify", "arrive", "leave", "sample", "disinfect", "set clock", "start", "stop", "hand over",
    "nothing touched",
)  # fmt: skip
"""Acts that change nothing a pressure rests on. ``tick``: the step was done as it is written."""
VERBS: Final = (*MOVES, *TOUCHES, *GUARDS, *TELLS)
"""Every act that ``do`` may name."""

AS: Final = (
    "as found", "as left", "first hold", "last hold", "act", "trip", "starts to shut", "shut", "peak",
    "before nut", "after nut", "rising", "falling", "start", "end", "reset", "zero", "comparison",
    "typed later",
)  # fmt: skip
"""What a reading may be marked as; other words are kept."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry as it was made.

    Parameters
    ----------
    id
        UUIDv7 made on the device; one entry, one id.
    run
        Run it belongs to.
    node
        Step it was made at; empty where it belongs to none.
    device, device_seq
        Device it was made on, and its number there, rising.
    kind
        One of `KINDS`, or a kind of a newer program.
    payload
        What was entered; keys by kind in `KINDS`. SI.
    who
        Person.
    t_device
        The device's clock when it was made: ISO 8601 with its offset from UTC, as written.
    t_mono
        The device's running seconds, which no hand sets. [s]
    clock_offset
        To be added to `t_device` for true time. [s]
    clock_within
        Half width within which that offset is known. [s]
    replaces
        Entry that this one corrects or voids; empty for none.
    more
        What else was written beside these, kept as it is: ``typed_at``, and whatever a newer program adds.
    """

    id: str
    run: str
    node: str
    device: str
    device_seq: int
    kind: str
    payload: Mapping[str, Any]
    who: str
    t_device: str
    t_mono: float = 0.0
    clock_offset: float = 0.0
    clock_within: float = 0.0
    replaces: str = ""
    more: Mapping[str, Any] = field(default_factory=dict)

    @property
    def by_hand(self) -> bool:
        """Whether its time was given by hand, after the event: ``typed_at`` then says when it was entered."""
        return self.more.get("typed_at") is not None

    @property
    def micros(self) -> int:
        """Corrected time. [µs since 1970-01-01 UTC]"""
        return clock_micros(self.t_device) + floor(self.clock_offset * 1e6 + 0.5)

    @property
    def written(self) -> int:
        """When it was written down: corrected time, or when a time given by hand was typed. [µs]"""
        typed = self.more.get("typed_at")
        try:
            return self.micros if not isinstance(typed, str) else clock_micros(typed)
        except ValueError:
            return self.micros

    @property
    def time(self) -> float:
        """Corrected time. [s since 1970-01-01 UTC]"""
        return self.micros / 1e6

    @property
    def clock(self) -> datetime:
        """Corrected time with the offset from UTC that the device kept."""
        zone = timezone(timedelta(minutes=zone_minutes(self.t_device)))
        return (_EPOCH + timedelta(microseconds=self.micros)).astimezone(zone)

    @property
    def day(self) -> date:
        """Day on which it was made, where it was made."""
        return self.clock.date()

    @property
    def order(self) -> tuple[int, str, int, str]:
        """Key of the order of judging, as far as the clock of its device was not set meanwhile."""
        return (self.micros, self.device, self.device_seq, self.id)

    def follows(self, other: Entry) -> bool:
        """Return whether it comes after another one; within one device as in `order_of`."""
        own = self.device == other.device and self.device_seq != other.device_seq
        if own and not (self.by_hand or other.by_hand) and abs(self.micros - other.micros) <= CLOCK_SET:
            return self.device_seq > other.device_seq
        return self.order > other.order


CLOCK_SET = 600_000_000
"""By how much a sync sets a device's clock back at most, to be taken for a setting. [µs] Own estimate."""


def order_of(entries: Iterable[Entry]) -> dict[str, tuple[int, str, int, str]]:
    """Return the key of the order of judging of each entry, by its id.

    The corrected time, between devices. The entries of one device stand in the order of its own numbers
    where its clock was set back by `CLOCK_SET` at most, at a sync: an earlier entry counts as no later than
    the next one. A clock that is wrong by more is no setting, and says nothing of the entries before; a time
    that was given by hand counts as it is.

    Examples
    --------
    >>> made = [Entry(f"e{n}", "", "", "tab-1", n, "note", {}, "", f"2027-04-14T09:{m}:00Z")
    ...         for n, m in ((1, "07"), (2, "06"), (3, "08"))]
    >>> sorted(order_of(made), key=order_of(made).__getitem__)
    ['e1', 'e2', 'e3']
    """
    found: dict[str, tuple[int, str, int, str]] = {}
    latest: dict[str, int] = {}
    for entry in sorted(entries, key=lambda one: (one.device_seq, one.micros, one.id), reverse=True):
        at = entry.micros
        if not entry.by_hand:
            after = latest.get(entry.device, at)
            at = latest[entry.device] = after if 0 <= at - after <= CLOCK_SET else at
        found[entry.id] = (at, entry.device, entry.device_seq, entry.id)
    return found


_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_CLOCK = re.compile(
    r"(\d{4})-(\d\d)-(\d\d)[Tt](\d\d):(\d\d)(?::(\d\d)(?:[.,](\d{1,6})\d*)?)?([Zz]|[+-]\d\d:?\d\d)",
    re.ASCII,
)
_TEXTS = 1 << 18
"""Times of a record that are kept once read: each is asked for many times. Own estimate."""


@lru_cache(maxsize=_TEXTS)
def clock_micros(text: str) -> int:
    """Return a time written with its offset. [µs since 1970-01-01 UTC]

    Raises
    ------
    ValueError
        Not ISO 8601 with an offset, or no time of any day.

    Examples
    --------
    >>> clock_micros("1970-01-01T01:00:00.5+01:00")
    500000
    """
    found = _CLOCK.fullmatch(text)
    if found is None:
        raise ValueError(f"{text!r:.60} is no time with its offset from UTC")
    year, month, day, hour, minute = (int(found[index]) for index in range(1, 6))
    second, part = int(found[6] or 0), int((found[7] or "").ljust(6, "0"))
    moment = datetime(year, month, day, hour, minute, second, tzinfo=UTC) - _EPOCH
    whole = (moment.days * 86400 + moment.seconds) * 1_000_000
    return whole + part - zone_minutes(text) * 60_000_000


@lru_cache(maxsize=_TEXTS)
def zone_minutes(text: str) -> int:
    """Return the offset from UTC a time is written with. [min]

    Raises
    ------
    ValueError
        Not ISO 8601 with an offset.
    """
    found = _CLOCK.fullmatch(text)
    if found is None:
        raise ValueError(f"{text!r:.60} is no time with its offset from UTC")
    zone = found[8]
    if zone in "Zz":
        return 0
    hours, minutes = int(zone[1:3]), int(zone[-2:])
    if hours > 23 or minutes > 59:
        raise ValueError(f"{zone} is no offset from UTC")
    return (hours * 60 + minutes) * (-1 if zone[0] == "-" else 1)


ENTRY_KEYS: Final = (
    "id", "run", "node", "device", "device_seq", "kind", "payload", "who", "t_device", "t_mono",
    "clock_offset",
    "clock_within", "replaces",
)  # fmt: skip
"""Keys of the object that an entry is written as."""


def plain_entry(entry: Entry) -> dict[str, Any]:
    """Return an entry as the object that its line is written from."""
    data: dict[str, Any] = {
        "id": entry.id,
        "run": entry.run,
        "node": entry.node,
        "device": entry.device,
        "device_seq": entry.device_seq,
        "kind": entry.kind,
        "payload": dict(entry.payload),
        "who": entry.who,
        "t_device": entry.t_device,
        "t_mono": entry.t_mono,
        "clock_offset": entry.clock_offset,
        "clock_within": entry.clock_within,
    }
    if entry.replaces:
        data["replaces"] = entry.replaces
    return {**entry.more, **data}

"""What an entry must be to be one: checked once, where it comes in."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from steadyhead.errors import InputError
from steadyhead.records.entry import ENTRY_KEYS, KINDS, NEEDED, NUMBERS, Entry, clock_micros
from steadyhead.station.canonical import canonical

LARGEST = 1e15
"""Largest number an entry may carry. Own estimate: no quantity of a station in SI comes near."""
SPAN = (clock_micros("1990-01-01T00:00Z"), clock_micros("2200-01-01T00:00Z"))
"""Times that a device's clock can show. Own estimate. [µs]"""
_TEXTS = ("id", "run", "node", "device", "kind", "who", "t_device")
_REQUIRED = ("id", "run", "device", "device_seq", "kind", "payload", "t_device")
_REMEDY = "Give the entry as the device wrote it."


def entry_of(data: Mapping[str, Any]) -> Entry:
    """Return the entry that an object describes.

    Raises
    ------
    InputError
        The field, what was got, and what belongs there.
    """
    _kept(data)
    for key in _REQUIRED:
        if key not in data:
            raise InputError(key, "is missing.", _REMEDY)
    for key in _TEXTS:
        if not isinstance(data.get(key, ""), str):
            raise InputError(key, f"got {data[key]!r:.40}, which is no text.", _REMEDY)
    for key in ("id", "run", "device", "kind"):
        if not data[key]:
            raise InputError(key, "is empty.", _REMEDY)
    replaces = data.get("replaces")
    if not (replaces is None or isinstance(replaces, str)):
        raise InputError("replaces", f"got {replaces!r:.40}, which is no id.", _REMEDY)
    entry = Entry(
        id=data["id"],
        run=data["run"],
        node=data.get("node", ""),
        device=data["device"],
        device_seq=_whole(data["device_seq"]),
        kind=data["kind"],
        payload=_payload(data["kind"], data["payload"]),
        who=data.get("who", ""),
        t_device=data["t_device"],
        t_mono=_number("t_mono", data.get("t_mono", 0.0)),
        clock_offset=_number("clock_offset", data.get("clock_offset", 0.0)),
        clock_within=_number("clock_within", data.get("clock_within", 0.0)),
        replaces=replaces or "",
        more={key: value for key, value in data.items() if key not in ENTRY_KEYS},
    )
    _timed(entry)
    return entry


def _kept(data: Mapping[str, Any]) -> None:
    """Refuse what has no place in JSON that every program reads: half characters, numbers no double holds."""
    try:
        canonical(dict(data))
    except (ValueError, TypeError, RecursionError):
        problem = "holds a text or a number that no other program can keep."
        raise InputError("entry", problem, _REMEDY) from None


def _whole(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int | float) or value != value // 1:
        raise InputError("device_seq", f"got {value!r:.40}, which is no whole number.", _REMEDY)
    if not 0 <= value <= LARGEST:
        raise InputError("device_seq", f"got {value!r:.40}; it counts from 0 upwards.", _REMEDY)
    return int(value)


def _number(key: str, value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(key, f"got {value!r:.40}, which is no number.", _REMEDY)
    if not (abs(value) <= LARGEST and math.isfinite(value)):
        raise InputError(key, f"got {value!r:.40}; the most is {LARGEST:g}.", _REMEDY)
    return float(value)


def _payload(kind: str, payload: Any) -> Mapping[str, Any]:
    if not isinstance(payload, Mapping):
        raise InputError("payload", f"got {payload!r:.40}, which is no map.", _REMEDY)
    for key in NEEDED.get(kind, ()):
        if payload.get(key) is None:
            raise InputError(f"payload.{key}", f"is missing; a {kind} says nothing without it.", _REMEDY)
    for key in NUMBERS.get(kind, ()):
        if payload.get(key) is not None:
            _number(f"payload.{key}", payload[key])
    if kind in KINDS:
        _finite("payload", payload)
    return payload


def _finite(where: str, value: Any) -> None:
    if isinstance(value, Mapping):
        for key, inner in value.items():
            _finite(f"{where}.{key}", inner)
    elif isinstance(value, list | tuple):
        for index, inner in enumerate(value):
            _finite(f"{where}[{index}]", inner)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        _number(where, value)


def _timed(entry: Entry) -> None:
    try:
        shown = clock_micros(entry.t_device)
    except ValueError as problem:
        remedy = "Write the time with its offset, e.g. 2027-04-14T08:05:00+01:00."
        raise InputError("t_device", f"{problem}.", remedy) from None
    for key, micros in (("t_device", shown), ("clock_offset", entry.micros)):
        if not SPAN[0] <= micros <= SPAN[1]:
            raise InputError(key, "leads to a time before 1990 or after 2200.", "Set the clock right.")
    if entry.clock_within < 0.0:
        raise InputError("clock_within", f"got {entry.clock_within:g}; it is a half width.", _REMEDY)

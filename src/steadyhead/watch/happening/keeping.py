"""What a portion of a long record tells of short events, as bytes."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from steadyhead.records.logger import Channel
from steadyhead.watch.defects.series import Series
from steadyhead.watch.happening.event import Event, Happening, NotSeen
from steadyhead.watch.pieces import packed, unpacked


@dataclass(frozen=True, slots=True)
class Short:
    """Short events of a portion: surges that begin in it, hunting, what cannot be seen, minutes."""

    surges: tuple[Happening, ...]
    hunting: tuple[Happening, ...]
    not_seen: tuple[NotSeen, ...]
    minutes: tuple[Series, ...]


def to_bytes(one: Short) -> bytes:
    """Return them: a line of JSON, then the arrays."""
    plain = {
        "surges": [_plain(h) for h in one.surges],
        "hunting": [_plain(h) for h in one.hunting],
        "not_seen": [asdict(n) for n in one.not_seen],
        "minutes": [s.id for s in one.minutes],
    }
    return json.dumps(plain).encode() + b"\n" + packed(one.minutes)


def from_bytes(content: bytes, channels: Sequence[Channel]) -> Short:
    """Return the events of a portion of these channels from their bytes."""
    line, _, rest = content.partition(b"\n")
    plain = json.loads(line)
    known = {channel.id: channel for channel in channels}
    return Short(
        tuple(_happening(h) for h in plain["surges"]),
        tuple(_happening(h) for h in plain["hunting"]),
        tuple(NotSeen(Event(n["code"]), n["words"]) for n in plain["not_seen"]),
        tuple(unpacked(rest, [known[name] for name in plain["minutes"]])),
    )


def _plain(one: Happening) -> dict[str, Any]:
    times = [when.isoformat() for when in one.times]
    return asdict(one) | {"start": one.start.isoformat(), "end": one.end.isoformat(), "times": times}


def _happening(plain: Mapping[str, Any]) -> Happening:
    return Happening(
        Event(plain["code"]),
        datetime.fromisoformat(plain["start"]),
        datetime.fromisoformat(plain["end"]),
        tuple(plain["channels"]),
        plain["magnitude"],
        plain["unit"],
        plain["words"],
        tuple(plain["evidence"]),
        plain["confidence"],
        tuple(datetime.fromisoformat(when) for when in plain["times"]),
    )

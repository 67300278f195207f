"""What a portion of a long record tells of short events, as bytes."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass

from steadyhead.records.logger import Channel
from steadyhead.watch.defects.series import Series
from steadyhead.watch.happening.event import Event, Happening, NotSeen
from steadyhead.watch.pieces import packed, unpacked
from steadyhead.watch.plain import behind_code, to_plain


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
        "surges": [to_plain(h) for h in one.surges],
        "hunting": [to_plain(h) for h in one.hunting],
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
        tuple(Happening(Event(h["code"]), *behind_code(h)) for h in plain["surges"]),
        tuple(Happening(Event(h["code"]), *behind_code(h)) for h in plain["hunting"]),
        tuple(NotSeen(Event(n["code"]), n["words"]) for n in plain["not_seen"]),
        tuple(unpacked(rest, [known[name] for name in plain["minutes"]])),
    )

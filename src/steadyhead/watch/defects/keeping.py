"""Portions as bytes, so that a record judged before is not read again where nothing came."""

from __future__ import annotations

import json
from collections.abc import Sequence

from steadyhead.records.logger import Channel
from steadyhead.watch.defects.episode import Code, Episode
from steadyhead.watch.defects.long import Portion
from steadyhead.watch.pieces import packed, unpacked
from steadyhead.watch.plain import behind_code, to_plain


def to_bytes(one: Portion) -> bytes:
    """Return a portion: a line of JSON, then its arrays."""
    plain = {
        "start": one.start,
        "end": one.end,
        "episodes": [to_plain(e) for e in one.episodes],
        "slow": [s.id for s in one.slow],
        "intervals": one.intervals,
        "stamps": one.stamps,
        "tops": one.tops,
    }
    return json.dumps(plain).encode() + b"\n" + packed(one.slow)


def from_bytes(content: bytes, channels: Sequence[Channel]) -> Portion:
    """Return a portion of these channels from its bytes."""
    line, _, rest = content.partition(b"\n")
    plain = json.loads(line)
    known = {channel.id: channel for channel in channels}
    return Portion(
        plain["start"],
        plain["end"],
        tuple(Episode(Code(e["code"]), *behind_code(e)) for e in plain["episodes"]),
        tuple(unpacked(rest, [known[name] for name in plain["slow"]])),
        {name: [(a, b) for a, b in spans] for name, spans in plain["intervals"].items()},
        {name: (a, b) for name, (a, b) in plain["stamps"].items()},
        plain["tops"],
    )

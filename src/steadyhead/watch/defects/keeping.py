"""Portions as bytes, so that a record judged before is not read again where nothing came."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any

from steadyhead.records.logger import Channel
from steadyhead.watch.defects.episode import Code, Episode
from steadyhead.watch.defects.long import Portion
from steadyhead.watch.pieces import packed, unpacked


def to_bytes(one: Portion) -> bytes:
    """Return a portion: a line of JSON, then its arrays."""
    plain = {
        "start": one.start,
        "end": one.end,
        "episodes": [episode_plain(e) for e in one.episodes],
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
        tuple(episode_of(e) for e in plain["episodes"]),
        tuple(unpacked(rest, [known[name] for name in plain["slow"]])),
        {name: [(a, b) for a, b in spans] for name, spans in plain["intervals"].items()},
        {name: (a, b) for name, (a, b) in plain["stamps"].items()},
        plain["tops"],
    )


def episode_plain(one: Episode) -> dict[str, Any]:
    """Return an episode as plain values."""
    times = [when.isoformat() for when in one.times]
    return asdict(one) | {"start": one.start.isoformat(), "end": one.end.isoformat(), "times": times}


def episode_of(plain: Mapping[str, Any]) -> Episode:
    """Return the episode that `episode_plain` told."""
    return Episode(
        Code(plain["code"]),
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

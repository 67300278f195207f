"""How many samples of a judged period are believed, doubted, refused; a channel not judged stays unseen."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import polars as pl

from steadyhead.records.logger import Channel
from steadyhead.services.logs.views import View
from steadyhead.watch.defects.episode import BIT, REFUSED, Code, Episode
from steadyhead.watch.defects.judging import Frames, Judged
from steadyhead.watch.defects.series import Floats, Marks

BATCH = 1_000_000
NONE_OF_SAMPLES = (Code.GAP, Code.CLOCK_CHANGE)
"""Defects between samples; no sample bears their mark."""


class StandingView(View):
    """Samples of a channel with a value: refused ones are never used, doubted ones only with their defect."""

    channel: str
    unseen: int
    believed: int
    doubted: int
    refused: int


def standings(channels: Frames, judged: Judged) -> tuple[StandingView, ...]:
    """Return the counts of each channel, read through once."""
    return tuple(_one(channel, frame.lazy(), judged) for channel, frame in channels)


def _one(channel: Channel, frame: pl.LazyFrame, judged: Judged) -> StandingView:
    mine = [e for e in judged.episodes if e.code not in NONE_OF_SAMPLES and _is_of(e, channel.id)]
    bad = _spans([e for e in mine if BIT[e.code] & REFUSED])
    held = _spans([e for e in mine if not BIT[e.code] & REFUSED and e.code is not Code.CLIPPING])
    ceiling = min((e.magnitude for e in mine if e.code is Code.CLIPPING and e.magnitude), default=np.inf)
    total = refused = doubted = 0
    few = frame.select(pl.col("t").dt.epoch("us"), "v").filter(pl.col("v").is_not_null())
    for batch in few.collect_batches(chunk_size=BATCH):
        t = batch["t"].to_numpy() / 1e6
        out = _inside(t, bad)
        doubt = _inside(t, held) | (batch["v"].to_numpy() >= ceiling * (1.0 - 1e-9))
        total += t.size
        refused += int(np.count_nonzero(out))
        doubted += int(np.count_nonzero(doubt & ~out))
    if channel.id not in judged.judged:
        return StandingView(channel=channel.id, unseen=total, believed=0, doubted=0, refused=0)
    believed = total - refused - doubted
    return StandingView(channel=channel.id, unseen=0, believed=believed, doubted=doubted, refused=refused)


def _is_of(one: Episode, name: str) -> bool:
    return not one.channels or name in one.channels


def _spans(episodes: Sequence[Episode]) -> tuple[Floats, Floats]:
    """Return the spans of episodes, those that meet as one: begins and ends. [s since 1970]"""
    begins: list[float] = []
    ends: list[float] = []
    for one in sorted(episodes, key=lambda e: e.start):
        start, end = one.start.timestamp() - 1e-3, one.end.timestamp() + 1e-3
        if ends and start <= ends[-1]:
            ends[-1] = max(ends[-1], end)
        else:
            begins.append(start)
            ends.append(end)
    return np.array(begins), np.array(ends)


def _inside(t: Floats, spans: tuple[Floats, Floats]) -> Marks:
    begins, ends = spans
    if not begins.size:
        return np.zeros(t.shape, dtype=bool)
    at = np.searchsorted(begins, t, side="right") - 1
    return np.asarray((at >= 0) & (t <= ends[np.maximum(at, 0)]))

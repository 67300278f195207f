"""How many samples of a judged period are believed, doubted, refused; a channel not judged stays unseen."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import polars as pl

from steadyhead.records.logger import Channel
from steadyhead.services.logs.views import View
from steadyhead.watch.defects.episode import BIT, REFUSED, Code, Episode
from steadyhead.watch.defects.judging import Frames, Judged
from steadyhead.watch.defects.long import Frame, between
from steadyhead.watch.defects.series import Floats, Marks, arrays_of

BATCH = 1_000_000
FEW, SHORT = 40, 8.0 * 86_400.0
"""Spans, and time in them [s], up to which they are read one by one."""
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
    return tuple(_one(channel, frame, judged) for channel, frame in channels)


def _one(channel: Channel, frame: Frame, judged: Judged) -> StandingView:
    mine = [e for e in judged.episodes if e.code not in NONE_OF_SAMPLES and _is_of(e, channel.id)]
    bad = _spans([e for e in mine if BIT[e.code] & REFUSED])
    held = _spans([e for e in mine if not BIT[e.code] & REFUSED and e.code is not Code.CLIPPING])
    ceiling = min((e.magnitude for e in mine if e.code is Code.CLIPPING and e.magnitude), default=np.inf)
    total = refused = doubted = 0
    spans = len(bad[0]) + len(held[0])
    longest = float(np.sum(bad[1] - bad[0]) + np.sum(held[1] - held[0]))
    if spans <= FEW and longest <= SHORT and not np.isfinite(ceiling):
        total, refused, doubted = _counted(frame, bad, held)
        return _view(channel, judged, total, refused, doubted)
    few = frame.lazy().select(pl.col("t").dt.epoch("us"), "v").filter(pl.col("v").is_not_null())
    for batch in few.collect_batches(chunk_size=BATCH):
        t = batch["t"].to_numpy() / 1e6
        out = _inside(t, bad)
        doubt = _inside(t, held) | (batch["v"].to_numpy() >= ceiling * (1.0 - 1e-9))
        total += t.size
        refused += int(np.count_nonzero(out))
        doubted += int(np.count_nonzero(doubt & ~out))
    return _view(channel, judged, total, refused, doubted)


def _counted(frame: Frame, bad: tuple[Floats, Floats], held: tuple[Floats, Floats]) -> tuple[int, int, int]:
    """Return how many samples there are, are refused, and are doubted; reads the few spans alone."""
    total = int(frame.lazy().select(pl.col("v").count()).collect(engine="streaming").item())
    refused = doubted = 0
    both = _merged(*(list(zip(a.tolist(), b.tolist(), strict=True)) for a, b in (bad, held)))
    for start, end in both:
        t = arrays_of(between(frame, start, end + 1e-5))[0]
        out = _inside(t, bad)
        refused += int(np.count_nonzero(out))
        doubted += int(np.count_nonzero(_inside(t, held) & ~out))
    return total, refused, doubted


def _view(channel: Channel, judged: Judged, total: int, refused: int, doubted: int) -> StandingView:
    if channel.id not in judged.judged:
        return StandingView(channel=channel.id, unseen=total, believed=0, doubted=0, refused=0)
    believed = total - refused - doubted
    return StandingView(channel=channel.id, unseen=0, believed=believed, doubted=doubted, refused=refused)


def _is_of(one: Episode, name: str) -> bool:
    return not one.channels or name in one.channels


def _spans(episodes: Sequence[Episode]) -> tuple[Floats, Floats]:
    """Return the spans of episodes, those that meet as one: begins and ends. [s since 1970]"""
    spans = _merged([(e.start.timestamp() - 1e-3, e.end.timestamp() + 1e-3) for e in episodes])
    return np.array([a for a, _ in spans]), np.array([b for _, b in spans])


def _merged(*some: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return spans in order, those that meet as one."""
    out: list[tuple[float, float]] = []
    for start, end in sorted(span for spans in some for span in spans):
        if out and start <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], end))
        else:
            out.append((start, end))
    return out


def _inside(t: Floats, spans: tuple[Floats, Floats]) -> Marks:
    begins, ends = spans
    if not begins.size:
        return np.zeros(t.shape, dtype=bool)
    at = np.searchsorted(begins, t, side="right") - 1
    return np.asarray((at >= 0) & (t <= ends[np.maximum(at, 0)]))

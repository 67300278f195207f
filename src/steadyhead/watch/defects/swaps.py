"""Inlet and outlet exchanged, for a time or always."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from steadyhead.records.logger import Context
from steadyhead.watch.defects.defaults import SWAP_NEAR, SWAP_TIME
from steadyhead.watch.defects.episode import Code, Confidence, Episode, moment
from steadyhead.watch.defects.saying import lasting
from steadyhead.watch.defects.series import Floats, Series, at_times, one_of, stretches


def found(every: Sequence[Series], context: Context) -> list[Episode]:
    """Return the times at which inlet and outlet carry each other's values.

    Method (physics: no reducer raises): the inlet stands below the outlet, and each at the other's usual
    level. A lost supply, a drained zone and a backfeed leave one of them away from the other's level. Where
    it holds for most of the record, what is known of the station decides.
    """
    inlet, outlet = one_of(every, "inlet pressure"), one_of(every, "outlet pressure")
    if inlet is None or outlet is None:
        return []
    above = inlet.v
    below = at_times(outlet, inlet.t)
    ok = np.isfinite(below)
    t, above, below = inlet.t[ok], above[ok], below[ok]
    under = above < below
    share = float(np.mean(under)) if under.size else 0.0
    if share == 0.0:
        return []
    if share > 0.6:
        return _always(inlet, outlet, above, below, context)
    usual_in, usual_out = float(np.median(above[~under])), float(np.median(below[~under]))
    near = SWAP_NEAR.si * (usual_in - usual_out)
    out = []
    for first, last in _bridged(t, stretches(under)):
        a, b = float(np.median(above[first:last])), float(np.median(below[first:last]))
        if t[last - 1] - t[first] < SWAP_TIME.si or abs(a - usual_out) > near or abs(b - usual_in) > near:
            continue
        out.append(_told(inlet, outlet, float(t[first]), float(t[last - 1])))
    return out


def _bridged(t: Floats, spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    out: list[tuple[int, int]] = []
    for first, last in spans:
        if out and first - out[-1][1] <= 2:
            out[-1] = (out[-1][0], last)
        else:
            out.append((first, last))
    return out


def _always(inlet: Series, outlet: Series, above: Floats, below: Floats, context: Context) -> list[Episode]:
    known = context.known
    if not known.lockup or not known.inlet or known.inlet <= known.lockup:
        return []
    near = SWAP_NEAR.si * (known.inlet - known.lockup)
    if abs(np.median(above) - known.lockup) > near or abs(np.median(below) - known.inlet) > near:
        return []
    return [_told(inlet, outlet, float(inlet.t[0]), float(inlet.t[-1]), "likely")]


def _told(inlet: Series, outlet: Series, start: float, end: float, sure: Confidence = "certain") -> Episode:
    words = f"Inlet and outlet are exchanged for {lasting(end - start)}: each stands at the other's level."
    why = ("inlet below outlet", "each at the other's usual level")
    ids = (inlet.id, outlet.id)
    return Episode(Code.SWAP, moment(start), moment(end), ids, None, "", words, why, sure)


def undone(every: Sequence[Series], episodes: Sequence[Episode]) -> list[Series]:
    """Return working copies with the exchanged values put back; the records stay as they are."""
    inlet, outlet = one_of(every, "inlet pressure"), one_of(every, "outlet pressure")
    spans = [(e.start.timestamp(), e.end.timestamp()) for e in episodes if e.code is Code.SWAP]
    if inlet is None or outlet is None or not spans:
        return list(every)
    new = {}
    for one, other in ((inlet, outlet), (outlet, inlet)):
        v = one.v.copy()
        for start, end in spans:
            at = (one.t >= start - 1e-3) & (one.t <= end + 1e-3)
            there = at_times(other, one.t[at])
            v[at] = np.where(np.isfinite(there), there, v[at])
        new[one.id] = one.with_values(v)
    return [new.get(s.id, s) for s in every]

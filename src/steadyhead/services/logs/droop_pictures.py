"""The droop curve of a judgement as a picture: both ways, beside the twin and the fall as left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from steadyhead.records.logger_pictures import DroopPicture
from steadyhead.services.logs.measuring import MeasureView
from steadyhead.watch.measures.measure import Measure

FEW = 4
"""Flows below which there is no picture."""
STROKES = "Upright strokes hold four fifths of the samples."
ANCHORED = "The fall as left is drawn from where its first flow stands now; its level may have been another."


def droop_picture(measures: Sequence[MeasureView], name: str) -> DroopPicture | None:
    """Return the picture of the droop curve among measures; None: too few flows were met."""
    told = {one.code: one.details for one in measures}
    curve = told.get(Measure.DROOP.value, {})
    points: Sequence[Mapping[str, Any]] = curve.get("points") or ()
    if len(points) < FEW:
        return None
    every = tuple((one["flow"], one["outlet"]) for one in points)
    as_left = _as_left(told.get(Measure.DROOP_AS_LEFT.value, {}), every)
    beside = told.get(Measure.TWIN_LEVEL.value, {}).get("beside") or ()
    return DroopPicture(
        name=name,
        caption=(STROKES, ANCHORED) if as_left else (STROKES,),
        spread=tuple((one["flow"], one["low"], one["high"]) for one in points),
        every=every,
        rising=tuple((one["flow"], one["outlet"]) for one in curve.get("rising") or ()),
        falling=tuple((one["flow"], one["outlet"]) for one in curve.get("falling") or ()),
        twin=tuple((one["flow"], one["twin"]) for one in beside),
        as_left=as_left,
    )


def _as_left(
    told: Mapping[str, Any], every: Sequence[tuple[float, float]]
) -> tuple[tuple[float, float], ...]:
    """Return the fall as left as a line over the root of flow, from where its first flow stands now."""
    if not told.get("flows") or told.get("then") is None:
        return ()
    first, last = told["flows"]
    root = np.sqrt(np.linspace(first, last, 9))
    start = float(np.interp(first, [flow for flow, _ in every], [outlet for _, outlet in every]))
    share = (root - root[0]) / (root[-1] - root[0])
    return tuple(zip((root**2).tolist(), (start - share * told["then"]).tolist(), strict=True))

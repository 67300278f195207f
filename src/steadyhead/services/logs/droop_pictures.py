"""The droop curve of a judgement as a picture: both ways, beside the twin and the fall as left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from steadyhead.records.logger_pictures import DroopPicture
from steadyhead.services.logs.measuring import MeasureView
from steadyhead.watch.measures.measure import Measure

Line = tuple[tuple[float, float], ...]
"""Flows [m³/s] and outlets [Pa]."""
FEW = 4
"""Flows below which there is no picture."""
LIKE = 0.02e5
"""Difference of both ways, in the middle of the flows met, up to which they are one line. [Pa]
Own estimate."""
JUMP, JUMPS = 0.02e5, 3
"""Turns of the middle from flow to flow by so much [Pa], and how many of them tell two levels.
Own estimate."""
STROKES = "Upright strokes hold four fifths of the samples."
ONE_LINE = "Rising and falling flow hardly differ: they are drawn as one."
TWO_LEVELS = (
    "At equal flow the outlet stood at different levels, as where a setting or the droop changed: the line "
    "runs midway. Judge before and after by themselves."
)
ANCHORED = "The fall as left is drawn from where its first flow stands now; its level may have been another."


def droop_picture(measures: Sequence[MeasureView], name: str) -> DroopPicture | None:
    """Return the picture of the droop curve among measures; None: too few flows were met."""
    told = {one.code: one.details for one in measures}
    curve = told.get(Measure.DROOP.value, {})
    points: Sequence[Mapping[str, Any]] = curve.get("points") or ()
    if len(points) < FEW:
        return None
    spread = tuple((one["flow"], one["low"], one["high"]) for one in points)
    every = tuple((one["flow"], one["outlet"]) for one in points)
    rising, falling = (
        tuple((one["flow"], one["outlet"]) for one in curve.get(way) or ()) for way in ("rising", "falling")
    )
    said = [STROKES]
    if _jumps(every):
        every, rising, falling = tuple((flow, (low + high) / 2.0) for flow, low, high in spread), (), ()
        said.append(TWO_LEVELS)
    elif _are_one(rising, falling):
        rising, falling = (), ()
        said.append(ONE_LINE)
    as_left = _as_left(told.get(Measure.DROOP_AS_LEFT.value, {}), every)
    beside = told.get(Measure.TWIN_LEVEL.value, {}).get("beside") or ()
    return DroopPicture(
        name=name,
        caption=(*said, ANCHORED) if as_left else tuple(said),
        spread=spread,
        every=every,
        rising=rising,
        falling=falling,
        twin=tuple((one["flow"], one["twin"]) for one in beside),
        as_left=as_left,
    )


def _jumps(every: Line) -> bool:
    """Return whether the middle leaps up and down from flow to flow: the outlet stood at two levels."""
    steps = np.diff([outlet for _, outlet in every])
    least = np.minimum(np.abs(steps[1:]), np.abs(steps[:-1]))
    return int(np.count_nonzero((steps[1:] * steps[:-1] < 0.0) & (least > JUMP))) >= JUMPS


def _are_one(rising: Line, falling: Line) -> bool:
    """Return whether both ways are one line as far as a reader cares."""
    there = dict(rising)
    apart = [outlet - there[flow] for flow, outlet in falling if flow in there]
    return bool(apart) and abs(float(np.median(apart))) <= LIKE


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

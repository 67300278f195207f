"""A bracketing root search that is asked and told, so that a march may call itself between two looks."""

from __future__ import annotations

from math import isnan, log, nan

from steadyhead.hydraulics.kernel.elements import TINY
from steadyhead.hydraulics.kernel.layout import (
    AT_FAR,
    AT_NEAR,
    AT_THIRD,
    FAR,
    NEAR,
    SHARE,
    THIRD,
)
from steadyhead.laws.bracket import next_share
from steadyhead.laws.compiling import Floats, inner_kernel

SCALE = 1e5  # excess beyond which its steep end is drawn in
LARGEST = 1e300  # an excess that passes all bounds counts as this


@inner_kernel
def drawn_in(excess: float, scale: float) -> float:
    """Return an excess with its steep ends drawn in, so that a search sees a tame curve."""
    if isnan(excess):
        return scale
    size = min(abs(excess), LARGEST)
    if size <= scale:
        return excess
    tame = scale * (1.0 + log(size / scale))
    return tame if excess > 0.0 else -tame


@inner_kernel
def begin(work: Floats, first: float) -> None:
    """Open a search whose first look is at `first`, where the excess is not below 0."""
    work[NEAR] = first
    work[AT_NEAR] = nan
    work[FAR] = nan


@inner_kernel
def is_settled(work: Floats, enough: float) -> bool:
    """Return whether the near end of the bracket is the root, as far as numbers carry."""
    if isnan(work[AT_NEAR]):
        return False
    if abs(work[AT_NEAR]) <= enough:
        return True
    return abs(work[FAR] - work[NEAR]) <= 2.0 * TINY * abs(work[NEAR])


@inner_kernel
def ask(work: Floats, step: float) -> float:
    """Return where to look next: the first point, then 0, then ever lower, then inside the bracket."""
    near = work[NEAR]
    if isnan(work[AT_NEAR]):
        return near
    if isnan(work[FAR]):
        return 0.0 if near > 0.0 else 4.0 * near - step
    return near + work[SHARE] * (work[FAR] - near)


@inner_kernel
def tell(work: Floats, trial: float, excess: float) -> None:
    """Take in the excess found at `trial`; it never falls with the unknown."""
    found = drawn_in(excess, SCALE)
    if isnan(work[AT_NEAR]) or (isnan(work[FAR]) and found > 0.0):
        work[NEAR] = trial
        work[AT_NEAR] = found
        return
    if isnan(work[FAR]) or (found >= 0.0) != (work[AT_NEAR] >= 0.0):
        work[THIRD] = work[FAR]
        work[AT_THIRD] = work[AT_FAR]
        work[FAR] = work[NEAR]
        work[AT_FAR] = work[AT_NEAR]
        if isnan(work[THIRD]):
            work[THIRD] = work[FAR]
            work[AT_THIRD] = work[AT_FAR]
    else:
        work[THIRD] = work[NEAR]
        work[AT_THIRD] = work[AT_NEAR]
    work[NEAR] = trial
    work[AT_NEAR] = found
    width = abs(work[FAR] - trial)
    least = TINY * abs(trial) / width if width > 0.0 else 0.5
    work[SHARE] = next_share(
        trial, work[FAR], work[THIRD], found, work[AT_FAR], work[AT_THIRD], min(least, 0.5)
    )

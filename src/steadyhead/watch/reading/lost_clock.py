"""Rows whose clock had lost its time and began anew at its first day, as after a change of the battery."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from steadyhead.watch.reading.gather import Gathered, Raw

REASON = "clock began anew"
"""Why such rows are left out, as it is told."""
APART = 730 * 86_400 * 1_000_000
"""From here on a gap parts rows of a clock at its first day from all others. Own estimate. [µs]"""
FIRST_YEARS, FIRST_DAYS = (1970, 2016), 60
"""Years whose first days such a clock begins at, and how many days it may have run. Own estimate."""
MOST = 0.2
"""Share of the rows up to which they may be such. Own estimate."""
EPOCH = datetime(1970, 1, 1)


def drop(found: Gathered) -> None:
    """Leave out rows of a clock at its first day; told are they by `REASON`."""
    if found.structure.times.kind not in ("text", "serial day"):
        return
    if not found.series:
        return
    limit = _limit(np.sort(np.concatenate([np.array(raw.local, dtype=np.int64) for raw in found.series])))
    if limit is None:
        return
    rows = {row for raw in found.series for row, one in zip(raw.row, raw.local, strict=True) if one < limit}
    for raw in found.series:
        _keep(raw, limit)
    found.used -= rows
    found.left_out.setdefault(REASON, []).extend(sorted(rows))


def _limit(local: npt.NDArray[np.int64]) -> int | None:
    """Return the time ahead of which rows are those of such a clock; None: there are none. [µs]"""
    if len(local) < 10:
        return None
    gaps = np.diff(local)
    at = int(gaps.argmax())
    if gaps[at] < APART or at + 1 > MOST * len(local):
        return None
    for one in (local[0], local[at]):
        when = EPOCH + timedelta(microseconds=int(one))
        if not FIRST_YEARS[0] <= when.year <= FIRST_YEARS[1] or when.timetuple().tm_yday > FIRST_DAYS:
            return None
    return int(local[at + 1])


def _keep(raw: Raw, limit: int) -> None:
    kept = [at for at, one in enumerate(raw.local) if one >= limit]
    raw.own = {new: raw.own[old] for new, old in enumerate(kept) if old in raw.own}
    raw.v, raw.row = [raw.v[at] for at in kept], [raw.row[at] for at in kept]
    raw.local, raw.offset = [raw.local[at] for at in kept], [raw.offset[at] for at in kept]
    raw.bad, raw.blank = [raw.bad[at] for at in kept], [raw.blank[at] for at in kept]

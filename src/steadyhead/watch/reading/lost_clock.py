"""Rows whose clock had lost its time and began anew at its first day, as after a change of the battery."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from steadyhead.records.logger import Fact
from steadyhead.watch.counting import counted

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
KINDS = ("text", "serial day")
"""Kinds of times in which such rows are looked for."""
EPOCH = datetime(1970, 1, 1)


def drop(found: Gathered) -> None:
    """Leave out rows of a clock at its first day; told are they by `REASON`."""
    if found.structure.times.kind not in KINDS or not found.series:
        return
    local = np.sort(np.concatenate([np.array(raw.local, dtype=np.int64) for raw in found.series]))
    limit = limit_of(local, local, np.ones(len(local), dtype=np.int64))
    if limit is None:
        return
    rows = {row for raw in found.series for row, one in zip(raw.row, raw.local, strict=True) if one < limit}
    for raw in found.series:
        _keep(raw, limit)
    found.used -= rows
    found.left_out.setdefault(REASON, []).extend(sorted(rows))


def limit_of(
    first: npt.NDArray[np.int64], last: npt.NDArray[np.int64], count: npt.NDArray[np.int64]
) -> int | None:
    """Return the time ahead of which rows are those of such a clock; None: there are none. [µs]

    first, last, count: of stretches of samples in order of time; one sample may be one. [µs]
    """
    if len(first) < 2 or count.sum() < 10:
        return None
    gaps = first[1:] - last[:-1]
    at = int(gaps.argmax())
    if gaps[at] < APART or count[: at + 1].sum() > MOST * count.sum():
        return None
    return int(first[at + 1]) if is_first(int(first[0])) and is_first(int(last[at])) else None


def is_first(local: int) -> bool:
    """Return whether a time [µs] lies in the first days that such a clock may tell."""
    when = EPOCH + timedelta(microseconds=local)
    return FIRST_YEARS[0] <= when.year <= FIRST_YEARS[1] and when.timetuple().tm_yday <= FIRST_DAYS


def fact(count: int, rows: Sequence[int]) -> Fact:
    """Return what is told of rows that are left out so; rows: the first of them."""
    told = f"{counted(count, 'row')} of a clock that began anew at its first day, years ahead of the rest"
    return Fact("clock set", f"{told}; left out.", tuple(rows[:5]))


def _keep(raw: Raw, limit: int) -> None:
    kept = [at for at, one in enumerate(raw.local) if one >= limit]
    raw.own = {new: raw.own[old] for new, old in enumerate(kept) if old in raw.own}
    raw.v, raw.row = [raw.v[at] for at in kept], [raw.row[at] for at in kept]
    raw.local, raw.offset = [raw.local[at] for at in kept], [raw.offset[at] for at in kept]
    raw.bad, raw.blank = [raw.bad[at] for at in kept], [raw.blank[at] for at in kept]

"""Whether two zones give the same times for the stamps of a file."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from steadyhead.watch.reading.gather import Gathered
from steadyhead.watch.reading.zones import Rule, to_utc


def agree(one: Rule, other: Rule, tables: Iterable[Gathered]) -> bool:
    """Return whether stamps without an offset are the same times by both rules."""
    if one.zone == other.zone and (one.info is None) == (other.info is None):
        return True
    for table in tables:
        for raw in table.series:
            local = np.array(
                [at for at, off in zip(raw.local, raw.offset, strict=True) if off is None], dtype=np.int64
            )
            if len(local) and not np.array_equal(
                to_utc(local, one, None).utc, to_utc(local, other, None).utc
            ):
                return False
    return True

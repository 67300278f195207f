"""Samples that lie in parts whose times are known: a stretch of time is read from the parts that meet it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import polars as pl


class Stored:
    """Samples of a channel in order of time, as a frame of polars that knows where its parts begin and end.

    Parameters
    ----------
    parts
        First and last time [s since 1970] and samples of each; they follow each other.
    """

    def __init__(self, parts: Sequence[tuple[float, float, pl.LazyFrame]]) -> None:
        self._parts = tuple(parts)

    def lazy(self) -> pl.LazyFrame:
        """Return all of them."""
        return pl.concat([frame for _, _, frame in self._parts])

    def near(self, start: datetime, end: datetime) -> pl.LazyFrame:
        """Return the parts that meet a stretch of time; more than the stretch itself."""
        low, high = start.timestamp(), end.timestamp()
        meet = [frame for first, last, frame in self._parts if last >= low and first <= high]
        return pl.concat(meet) if meet else self._parts[0][2].head(0)

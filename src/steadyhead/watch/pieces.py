"""Pieces of a long work that were finished before: found again by what decided them, whoever keeps them."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import Any, Protocol

import numpy as np

from steadyhead.records.logger import Channel
from steadyhead.watch.defects import apart
from steadyhead.watch.defects.series import Series

Window = tuple[float, float]
"""Samples that decide a piece: from and to. [s since 1970]"""


class Pieces(Protocol):
    """Keeps finished pieces; what it does not find is worked out again."""

    def find(self, kind: str, window: Window, basis: str) -> bytes | None:
        """Return a piece of the same kind, samples and basis; None: there is none."""
        ...

    def put(self, kind: str, window: Window, basis: str, content: bytes) -> None:
        """Hand a piece over; the last one of a kind that begins at a time stays."""
        ...

    def settle(self) -> None:
        """Some were put; now is a good time to write them."""
        ...


class NoPieces:
    """Keeps nothing."""

    def find(self, kind: str, window: Window, basis: str) -> bytes | None:
        """Return none."""
        return None

    def put(self, kind: str, window: Window, basis: str, content: bytes) -> None:
        """Let it go."""

    def settle(self) -> None:
        """Do nothing."""


NONE = NoPieces()


def told(channels: Sequence[Channel]) -> list[list[Any]]:
    """Return what of the channels decides a piece: of where they come from only which are of one logger."""
    return [
        [c.id, c.place, c.quantity, c.statistic, c.hold, c.absolute, logger]
        for c, logger in zip(channels, apart.loggers(channels), strict=True)
    ]


def packed(every: Sequence[Series]) -> bytes:
    """Return series as bytes."""
    out = BytesIO()
    arrays: dict[str, Any] = {}
    for number, one in enumerate(every):
        facts = [one.step, float(one.regular), one.scatter, one.grain]
        arrays |= {f"t{number}": one.t, f"v{number}": one.v, f"f{number}": np.array(facts)}
    np.savez(out, **arrays)
    return out.getvalue()


def unpacked(content: bytes, channels: Sequence[Channel]) -> list[Series]:
    """Return series from bytes; `channels`: of each, in their order."""
    with np.load(BytesIO(content), allow_pickle=False) as read:
        out = []
        for number, channel in enumerate(channels):
            t, v, facts = read[f"t{number}"], read[f"v{number}"], read[f"f{number}"].tolist()
            out.append(Series(channel, t, v, t, facts[0], bool(facts[1]), facts[2], facts[3]))
    return out

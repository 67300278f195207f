"""Pieces of a judgement kept in the folder of logger data: what is not touched is not worked out again."""

from __future__ import annotations

import json
import os
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

import numpy as np

from steadyhead import watch
from steadyhead.records import logger
from steadyhead.register import Register
from steadyhead.register.logs import KeptChannel, LogsFolder, channels_of
from steadyhead.register.logs.worked import Worked
from steadyhead.watch.pieces import Window

FOLDER = "worked"
"""Folder of what was worked out, in that of logger data."""
US = 1e6
WIDEST = 3.0 * 86_400.0
"""What a day sees begins no longer before its samples. [s]"""


class KeptPieces:
    """Finds pieces by all that decides them: the files of their samples, their basis, and the code.

    A piece is found again as long as the parts that meet its window are the same ones (by their SHA-256, in
    the order of their imports), whoever judges and whatever else came: what an import or its undoing touches
    is worked out anew, and nothing else. A limit of the station's file is no part of a piece; measures are
    held against limits afterwards.

    Parameters
    ----------
    logs, key
        Folder of logger data, and the station.
    channels
        Its channels with their parts.
    period
        Samples outside it are not looked at; None: no limit.
    """

    def __init__(
        self,
        logs: LogsFolder,
        key: str,
        channels: list[KeptChannel],
        period: tuple[datetime | None, datetime | None] = (None, None),
    ) -> None:
        self._worked = Worked(logs.root / FOLDER / key)
        self._parts = [
            (one.name, part.first / US, part.last / US, part.sha256)
            for one in channels
            for _, part in sorted(one.parts, key=lambda pair: pair[0])
        ]
        if self._parts:
            spans = [(a, b) for _, a, b, _ in self._parts]
            self._worked.keep_only({month for a, b in spans for month in _months(a - WIDEST, b)}, "days")
        else:
            self._worked.keep_only(())
        self._period = tuple(None if when is None else when.timestamp() for when in period)
        self.made: Counter[str] = Counter()
        self.found: Counter[str] = Counter()

    def find(self, kind: str, window: Window, basis: str) -> bytes | None:
        """Return a piece; see `watch.pieces.Pieces`."""
        got = self._worked.find(kind, window[0], self._key(kind, window, basis))
        if got is not None:
            self.found[kind] += 1
        return got

    def put(self, kind: str, window: Window, basis: str, content: bytes) -> None:
        """Keep a piece."""
        self.made[kind] += 1
        self._worked.put(kind, window[0], self._key(kind, window, basis), content)

    def settle(self) -> None:
        """Write what was put."""
        self._worked.settle()

    def _key(self, kind: str, window: Window, basis: str) -> str:
        start, end = window
        parts = [(name, digest) for name, a, b, digest in self._parts if a <= end and b >= start]
        edges = [
            when if when is not None and start < when < end else None for when in self._period
        ]  # a border outside the window cuts nothing off it
        told = json.dumps([code(), kind, window, parts, edges, basis])
        return sha256(told.encode()).hexdigest()


def pieces_of(
    register: Register,
    logs: LogsFolder,
    key: str,
    period: tuple[datetime | None, datetime | None] = (None, None),
) -> KeptPieces:
    """Return the kept pieces of a station."""
    with register.reading() as connection:
        return KeptPieces(logs, key, channels_of(connection, key), period)


def _months(first: float, last: float) -> Iterator[str]:
    """Yield year and month of each month that a span [s since 1970] meets."""
    at = datetime.fromtimestamp(first, UTC).replace(day=1)
    while at.timestamp() <= last or f"{at:%Y-%m}" == f"{datetime.fromtimestamp(last, UTC):%Y-%m}":
        yield f"{at:%Y-%m}"
        at = (at + timedelta(days=32)).replace(day=1)


@lru_cache(maxsize=1)
def code() -> str:
    """Return what names the code that works pieces out: the content of its files, and that of NumPy."""
    digest = sha256(np.__version__.encode())
    for path in [Path(str(logger.__file__)), *sorted(_files(Path(str(watch.__file__)).parent))]:
        digest.update(path.name.encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()


def _files(folder: Path) -> Iterator[Path]:
    for where, _, names in os.walk(folder):
        yield from (Path(where) / name for name in names if name.endswith(".py"))

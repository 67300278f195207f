"""What was worked out from samples, kept beside them so that it need not be again; it may be thrown away.

One file for each kind and month. It names the checksum of what is in it; one that does not fit is as if it
were not there. A killed process leaves the file as it was.
"""

from __future__ import annotations

import hashlib
import json
import os
import secrets
import time
import zlib
from collections.abc import Container
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from steadyhead.register.logs.layout import settle

FORMAT = "steadyhead/worked out/1"
LEFT = 3600.0
"""Age from which an unfinished file is left over from a process that was killed. [s]"""

Slots = dict[str, tuple[str, bytes]]
"""Key and content, packed, by where a piece begins."""


class Worked:
    """The pieces of one station, below ``worked/STATION``: a file for each kind and month."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._at_hand: dict[str, tuple[Path, Slots]] = {}
        self._changed: set[str] = set()

    def find(self, kind: str, begins: float, key: str) -> bytes | None:
        """Return what is kept under a key of a piece that begins at a time [s since 1970]; None: nothing."""
        found = self._slots(kind, begins).get(f"{begins:.6f}")
        if found is None or found[0] != key:
            return None
        with suppress(zlib.error):
            return zlib.decompress(found[1])
        return None

    def put(self, kind: str, begins: float, key: str, content: bytes) -> None:
        """Keep a piece; another one of its kind that begins at the same time is let go."""
        self._slots(kind, begins)[f"{begins:.6f}"] = (key, zlib.compress(content, 1))
        self._changed.add(kind)

    def settle(self) -> None:
        """Write what was put. A folder that cannot be written to keeps nothing."""
        for kind in sorted(self._changed):
            path, slots = self._at_hand[kind]
            with suppress(OSError):
                _write(path, slots)
        self._changed.clear()

    def keep_only(self, months: Container[str], pattern: str = "*") -> None:
        """Throw away what begins in other months (``2027-03``): its samples are there no more.

        pattern: of the kinds that are looked at.
        """
        if not self.folder.is_dir():
            return
        for path in self.folder.glob(f"{pattern}/[0-9]*"):
            if path.name not in months:
                with suppress(OSError):
                    path.unlink()

    def _slots(self, kind: str, begins: float) -> Slots:
        path = self.folder / kind / f"{datetime.fromtimestamp(begins, UTC):%Y-%m}"
        known = self._at_hand.get(kind)
        if known is None or known[0] != path:
            self.settle()
            self._at_hand[kind] = known = (path, _read(path))
        return known[1]


def _write(path: Path, slots: Slots) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    for left in path.parent.glob(".*.new"):
        with suppress(OSError):
            if time.time() - left.stat().st_mtime > LEFT:
                left.unlink()
    body = b"".join(content for _, content in slots.values())
    told = {
        "format": FORMAT,
        "sha256": hashlib.sha256(body).hexdigest(),
        "slots": [[begins, key, len(content)] for begins, (key, content) in slots.items()],
    }
    beside = path.with_name(f".{path.name}.{os.getpid()}-{secrets.token_hex(4)}.new")
    try:
        with beside.open("wb") as out:
            out.write(json.dumps(told).encode() + b"\n" + body)
            out.flush()
            os.fsync(out.fileno())
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)
    settle([path.parent])


def _read(path: Path) -> Slots:
    """Return what a file holds; nothing where it is not there or not whole."""
    try:
        line, _, body = path.read_bytes().partition(b"\n")
        told = json.loads(line)
        if told["format"] != FORMAT or told["sha256"] != hashlib.sha256(body).hexdigest():
            return {}
        out: Slots = {}
        at = 0
        for begins, key, size in told["slots"]:
            out[begins] = (key, body[at : at + size])
            at += size
    except (OSError, ValueError, KeyError, TypeError):
        return {}
    return out

"""Links of the audit chain: each holds the hash of the one before; none can be changed or left out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from steadyhead.station.canonical import canonical, sha256


@dataclass(frozen=True, slots=True)
class Link:
    """One thing done: when, by whom, what, of what, its facts, and the hash of the link before."""

    seq: int
    at: str
    who: str
    act: str
    subject: str
    body: str
    previous: str
    hash: str

    def row(self) -> dict[str, Any]:
        """Return it as a row of the table."""
        return asdict(self)

    def worked_out(self) -> str:
        """Return the hash its own words give; another one than `hash` shows that it was changed."""
        told = asdict(self)
        del told["hash"]
        return sha256(canonical(told))


FIRST = Link(0, "", "", "", "", "", "", "0" * 64)
"""What the first link names as the one before it."""


def link(before: Link, *, at: str, who: str, act: str, subject: str, told: Mapping[str, Any]) -> Link:
    """Return the next link."""
    body = canonical(dict(told)).decode()
    bare = Link(before.seq + 1, at, who, act, subject, body, before.hash, "")
    return Link(**(bare.row() | {"hash": bare.worked_out()}))

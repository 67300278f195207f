"""What an episode of the data and a happening of the station have in common, as plain values and back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any, ClassVar, Protocol

from steadyhead.watch.defects.episode import Confidence

Common = tuple[
    datetime, datetime, tuple[str, ...], float | None, str, str, tuple[str, ...], Confidence,
    tuple[datetime, ...],
]  # fmt: skip
"""Fields of both behind their code, in their order."""


class Spanning(Protocol):
    """A dataclass with a beginning, an end and moments, as an episode and a happening are."""

    __dataclass_fields__: ClassVar[dict[str, Any]]

    @property
    def start(self) -> datetime:
        """First sample it touches."""
        ...

    @property
    def end(self) -> datetime:
        """Last one."""
        ...

    @property
    def times(self) -> tuple[datetime, ...]:
        """Moments within it."""
        ...


def to_plain(one: Spanning) -> dict[str, Any]:
    """Return one as plain values; times ISO 8601."""
    times = [when.isoformat() for when in one.times]
    return asdict(one) | {"start": one.start.isoformat(), "end": one.end.isoformat(), "times": times}


def behind_code(plain: Mapping[str, Any]) -> Common:
    """Return what `to_plain` told behind the code."""
    return (
        datetime.fromisoformat(plain["start"]),
        datetime.fromisoformat(plain["end"]),
        tuple(plain["channels"]),
        plain["magnitude"],
        plain["unit"],
        plain["words"],
        tuple(plain["evidence"]),
        plain["confidence"],
        tuple(datetime.fromisoformat(when) for when in plain["times"]),
    )

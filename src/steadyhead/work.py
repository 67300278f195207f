"""Protocols for long work: whoever works reports progress and asks whether to stop."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Protocol, TypeVar

Item = TypeVar("Item")
Result = TypeVar("Result")


class Progress(Protocol):
    """Told how far a piece of work has come."""

    def __call__(self, done: int, total: int, what: str) -> None:
        """Say that `done` of `total` pieces of `what` are finished."""
        ...


class Cancel(Protocol):
    """Asked between steps; true means stop and keep what is finished."""

    def __call__(self) -> bool:
        """Return whether to stop."""
        ...


class Executor(Protocol):
    """Runs one function over many items; order of the results is the order of the items."""

    def map(self, function: Callable[[Item], Result], items: Iterable[Item]) -> Iterator[Result]:
        """Yield the results in the order of the items."""
        ...


def no_progress(done: int, total: int, what: str) -> None:
    """Say nothing; the default where nobody watches."""


def never_cancel() -> bool:
    """Go on; the default where nobody can stop the work."""
    return False

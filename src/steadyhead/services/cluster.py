"""Runs on a Dask cluster: one of this machine's processes, or one at an address; an extra of its own."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import CancelledError
from importlib import import_module
from itertools import islice
from logging import CRITICAL, getLogger
from typing import Any, cast
from warnings import catch_warnings, simplefilter

from steadyhead.errors import InputError
from steadyhead.work import Item, Result

LOCAL = "local"
BATCH = 8
"""Runs one task makes: about a second of work, well above what a task costs."""
PATIENCE = "10s"
TRIES = 3
"""How often a batch is given out: a worker may be lost, or be too busy to answer for a while."""
SILENT = ("distributed", "tornado", "asyncio", "bokeh")
"""Loggers that would write between the lines of ours."""
WAITING = 3
"""Batches per worker that wait at a time; memory does not grow with the number of runs."""


class Cluster:
    """Runs many items on the workers of a cluster, as `steadyhead.work.Executor`.

    Results are those of threads, bit by bit: a run hangs on its own item alone.

    Parameters
    ----------
    address
        Of its scheduler, as tcp address; ``local``: processes of this machine.
    workers
        How many of them, where local; as many as there are cores where left out.
    batch
        Items one task makes.

    Raises
    ------
    InputError
        Dask is not there, or nobody answers at the address.
    """

    _batch = BATCH

    def __init__(self, address: str, workers: int | None = None, batch: int = BATCH) -> None:
        self._batch = batch
        try:
            distributed = import_module("distributed")
        except ImportError:
            raise InputError(
                "--cluster", "needs Dask, which is not installed.", "Install steadyhead with its extra fleet."
            ) from None
        for name in SILENT:
            getLogger(name).setLevel(CRITICAL)
        self._lost: tuple[type[BaseException], ...] = (
            distributed.client.FutureCancelledError,
            distributed.KilledWorker,
            CancelledError,
        )
        self._own: Any = None
        if address == LOCAL:
            with catch_warnings():
                simplefilter("ignore")
                self._own = distributed.LocalCluster(
                    n_workers=workers or os.cpu_count() or 1,
                    threads_per_worker=1,
                    processes=True,
                    dashboard_address=None,
                    silence_logs=CRITICAL,
                )
        try:
            with catch_warnings():
                simplefilter("ignore")
                self._client: Any = distributed.Client(self._own or address, timeout=PATIENCE)
        except Exception as problem:  # whatever another service at that address is taken for
            self._end()
            raise InputError(
                "--cluster", f"nobody answers at {address!r}: {problem}", "Give the scheduler's tcp address."
            ) from None

    def map(self, function: Callable[[Item], Result], items: Iterable[Item]) -> Iterator[Result]:
        """Yield the results in the order of the items."""
        client = self._client
        there = client.scatter([function], hash=False)[0]
        most = WAITING * max(len(client.scheduler_info()["workers"]), 1)
        waiting: deque[tuple[list[Item], Any]] = deque()
        source = iter(items)
        while batch := list(islice(source, self._batch)):
            waiting.append((batch, client.submit(_all_of, there, batch, pure=False)))
            if len(waiting) >= most:
                yield from self._result(function, *waiting.popleft())
        while waiting:
            yield from self._result(function, *waiting.popleft())

    def _result(self, function: Callable[[Item], Result], batch: list[Item], future: Any) -> Iterable[Result]:
        """Return the results of a batch, given out again where its worker was lost."""
        for _ in range(TRIES - 1):
            try:
                found: Iterable[Result] = future.result()
            except self._lost:
                future = self._client.submit(_all_of, function, batch, pure=False)
            else:
                return found
        try:
            return cast("Iterable[Result]", future.result())
        except self._lost:
            raise InputError(
                "--cluster",
                f"lost its workers {TRIES} times.",
                "Give fewer or stronger workers; what is kept of the runs is not made again.",
            ) from None

    def close(self) -> None:
        """Let go of the cluster; one of our own is ended."""
        self._client.close()
        self._end()

    def _end(self) -> None:
        if self._own is not None:
            self._own.close()


def _all_of(function: Callable[[Item], Result], batch: list[Item]) -> list[Result]:
    return [function(item) for item in batch]

"""The app in two stages: the list of stations at once, the rooms that need the engines when they are there.

Loading the engines takes longer than a person wants to wait for the first page. So the first stage holds the
list, signing in and the assets. The second one, the whole app, is loaded in a thread after the first answer,
when something else is asked for before, or a moment after the app opened; then it uses the engines once.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable

from starlette.concurrency import run_in_threadpool
from starlette.types import ASGIApp, Receive, Scope, Send

FIRST = ("account", "stations")
"""Rooms of the first stage."""
_AT_ONCE = ("/", "/stations", "/sign-in", "/account")
UNASKED = 1.5
"""When the rooms begin to be loaded although nobody asked yet: a browser that opens asks before. [s]"""
LOG = logging.getLogger("steadyhead.web")


class Stages:
    """An ASGI app of two stages.

    first: the first stage; load: makes the whole app; warm: called after it is there, in the same thread.
    """

    def __init__(self, first: ASGIApp, load: Callable[[], ASGIApp], warm: Callable[[], None]) -> None:
        self._first = first
        self._load = load
        self._warm = warm
        self._whole: ASGIApp | None = None
        self._fault: Exception | None = None
        self._is_there = threading.Event()
        self._begun = threading.Lock()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer by the stage that can."""
        whole = self._whole
        if whole is not None:
            await whole(scope, receive, send)
        elif scope["type"] != "http" or _is_first(scope):
            await self._first(scope, receive, send)
            self.begin()
        else:
            self.begin()
            await run_in_threadpool(self._is_there.wait)
            if self._whole is None:
                raise RuntimeError("The rooms of the app cannot be loaded.") from self._fault
            await self._whole(scope, receive, send)

    def begin_soon(self, after: float = UNASKED) -> threading.Timer:
        """Begin to load the whole app after a while [s], if nobody asks before; return what can be ended."""
        timer = threading.Timer(after, self.begin)
        timer.daemon = True
        timer.start()
        return timer

    def begin(self) -> None:
        """Begin to load the whole app, once."""
        if self._begun.acquire(blocking=False):
            threading.Thread(target=self._loads, name="rooms", daemon=True).start()

    def _loads(self) -> None:
        try:
            self._whole = self._load()
        except Exception as fault:
            self._fault = fault
            LOG.exception("The rooms of the app cannot be loaded.")
            return
        finally:
            self._is_there.set()
        try:
            self._warm()
        except Exception:
            LOG.exception("The engines cannot be made ready beforehand.")


def _is_first(scope: Scope) -> bool:
    path = scope["path"]
    return scope["method"] in ("GET", "POST", "HEAD") and (path in _AT_ONCE or path.startswith("/assets/"))

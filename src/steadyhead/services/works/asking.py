"""Start work in a process apart, follow it, stop it; what it was is gone when the app ends, and so is it."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
import time
import uuid
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import IO, Any, Literal, cast
from weakref import WeakKeyDictionary

from steadyhead.errors import InputError
from steadyhead.register import Register, now_text
from steadyhead.services.works.kinds import KINDS

State = Literal["running", "done", "refused", "stopped", "failed"]
MOST_REMEMBERED = 40
"""Most works of one app that are remembered. Own estimate."""
LONGEST_ANSWER = 64_000_000
"""Most bytes of a line a work answers with. Own estimate."""


@dataclass(slots=True)
class Work:
    """One piece of work as it stands.

    Parameters
    ----------
    id, kind, who, begun_at
        Which one, one of `kinds.KINDS`, who asked, and when.
    state
        *refused*: the input cannot be taken; *failed*: a fault of our own, or the process was ended.
    done, total, what
        How far it is.
    result
        What came of it, plain data.
    problems
        (field, problem, remedy) of a refusal.
    """

    id: str
    kind: str
    who: str
    begun_at: str
    state: State = "running"
    done: int = 0
    total: int = 0
    what: str = ""
    result: Mapping[str, Any] = field(default_factory=dict)
    problems: tuple[tuple[str, str, str], ...] = ()
    ended_at: str = ""
    process: subprocess.Popen[bytes] | None = None

    @property
    def is_open(self) -> bool:
        """Whether it is still at work."""
        return self.state == "running"

    @property
    def share(self) -> float:
        """How much is done, 0 to 1."""
        return min(self.done / self.total, 1.0) if self.total else 0.0


class Works:
    """The works of one register in this app; one of a kind at a time."""

    def __init__(self, place: str) -> None:
        self._place = place
        self._known: OrderedDict[str, Work] = OrderedDict()
        self._alone = threading.Lock()

    def start(self, kind: str, who: str, asked: Mapping[str, Any]) -> Work:
        """Start a work.

        Raises
        ------
        InputError
            One of its kind is under way.
        """
        with self._alone:
            for one in self._known.values():
                if one.kind == kind and one.is_open:
                    raise InputError(
                        KINDS[kind].words, "is under way already.", "Wait until it ends, or stop it."
                    )
            made = Work(uuid.uuid4().hex, kind, who, now_text())
            self._known[made.id] = made
            while len(self._known) > MOST_REMEMBERED:
                self._known.popitem(last=False)
        process = subprocess.Popen(
            [sys.executable, "-m", "steadyhead.services.works"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        made.process = process
        told = {"kind": kind, "place": self._place, "who": who, "asked": dict(asked)}
        stdin = cast("IO[bytes]", process.stdin)
        stdin.write(json.dumps(told).encode() + b"\n")
        stdin.flush()
        threading.Thread(target=self._follow, args=(made, process), daemon=True).start()
        return made

    def get(self, work: str) -> Work | None:
        """Return a work by its id; None: not known, or of an app that has ended."""
        with self._alone:
            return self._known.get(work)

    def last(self, kind: str) -> Work | None:
        """Return the last work of a kind."""
        with self._alone:
            return next((one for one in reversed(self._known.values()) if one.kind == kind), None)

    def stop(self, work: str) -> None:
        """Ask a work to stop; it changes nothing then."""
        found = self.get(work)
        if found is not None and found.process is not None and found.is_open:
            stdin = found.process.stdin
            if stdin is not None and not stdin.closed:
                stdin.write(b"stop\n")
                stdin.flush()

    def wait(self, work: str, most: float) -> Work | None:
        """Return a work when it has ended, or as it is after `most` seconds."""
        until = time.monotonic() + most
        while (found := self.get(work)) is not None and found.is_open and time.monotonic() < until:
            time.sleep(0.02)
        return found

    def close(self) -> None:
        """End every work that is under way; nothing is half done."""
        with self._alone:
            for one in self._known.values():
                if one.is_open and one.process is not None:
                    one.process.kill()

    def _follow(self, work: Work, process: subprocess.Popen[bytes]) -> None:
        stdout = cast("IO[bytes]", process.stdout)
        while line := stdout.readline(LONGEST_ANSWER):
            told = json.loads(line)
            if "done" in told:
                work.done, work.total, work.what = told["done"], told["total"], told["what"]
            else:
                work.result = told.get("result", {})
                work.problems = tuple(cast("list[tuple[str, str, str]]", told.get("problems", [])))
                work.ended_at = now_text()
                work.state = told["state"]
        process.wait()
        stdin = cast("IO[bytes]", process.stdin)
        stdin.close()
        stdout.close()
        if work.is_open:
            work.ended_at = now_text()
            work.problems = (
                (KINDS[work.kind].words, "ended before it was finished: its process was ended.",
                 "Nothing was half done. Begin again."),
            )  # fmt: skip
            work.state = "failed"


_works: WeakKeyDictionary[Register, Works] = WeakKeyDictionary()
_making = threading.Lock()


def works_of(register: Register) -> Works:
    """Return the works of a register in this app."""
    with _making:
        if register not in _works:
            _works[register] = Works(place_of(register))
        return _works[register]


def place_of(register: Register) -> str:
    """Return what another process opens the register by."""
    return register.folder or register.engine.url.render_as_string(hide_password=False).replace(
        "postgresql+psycopg://", "postgresql://", 1
    )

"""Work that takes no time: counts cases, keeps them, and fails as it is told."""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass, field

from steadyhead.errors import InputError
from steadyhead.services.jobs.kinds import Outcome, Work


@dataclass
class Told:
    """What the work does next, and what was done."""

    cases: int = 3
    fails_at: int = -1
    by: type[BaseException] = RuntimeError
    waits: bool = False
    begun: threading.Event = field(default_factory=threading.Event)
    done: list[str] = field(default_factory=list)
    found: int = 0


told = Told()


def anew() -> Told:
    """Begin with nothing told."""
    global told
    told = Told()
    return told


def work(work: Work) -> Outcome | None:
    """Do the cases one by one, each once."""
    told.begun.set()
    told.found = len(work.parts)
    while told.waits:
        if work.cancel():
            return None
        time.sleep(0.005)
    for number in range(told.cases):
        name = f"case {number}"
        work.progress(number, told.cases, name)
        if work.parts.get(name) is not None:
            continue
        if number == told.fails_at:
            told.fails_at = -1
            if told.by is InputError:
                raise InputError("event", "cannot be run.", "Name another.")
            raise told.by("told to")
        told.done.append(name)
        work.parts.put(name, b"done")
    content = f'{{"event": "{work.spec["event"]}"}}'.encode()
    return Outcome(content=content, title="Surge: tried", mark="holds", words="inside")

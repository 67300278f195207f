"""The process a work is done in: asked on standard input, answers a line at a time, ends with who asked."""

from __future__ import annotations

import json
import os
import sys
import threading
import time
from collections.abc import Mapping
from contextlib import suppress
from typing import Any

from steadyhead.errors import InputError, InputErrors
from steadyhead.services.works.kinds import KINDS
from steadyhead.work import Progress

EVERY = 0.1
"""Time between two words on how far it is. [s]"""


def main() -> None:
    """Do one work."""
    told = json.loads(sys.stdin.buffer.readline())
    with suppress(OSError, AttributeError):
        os.nice(10)
    stopped = threading.Event()
    threading.Thread(target=_listen, args=(stopped,), daemon=True).start()
    _put(_answer(told, stopped))
    os._exit(0)


def _listen(stopped: threading.Event) -> None:
    """Wait for *stop*; where who asked is gone, end at once: what is not committed was never done."""
    while line := sys.stdin.buffer.readline():
        if line.strip() == b"stop":
            stopped.set()
    os._exit(1)


def _answer(told: Mapping[str, Any], stopped: threading.Event) -> dict[str, Any]:
    do = KINDS[told["kind"]].do
    try:
        result = do(told["place"], told["who"], told["asked"], _teller(), stopped.is_set)
    except InputErrors as errors:
        return _refused(list(errors.errors), stopped)
    except InputError as error:
        return _refused([error], stopped)
    except Exception as fault:
        sys.excepthook(type(fault), fault, fault.__traceback__)
        words = f"met a fault of its own ({type(fault).__name__})."
        told_of = [
            KINDS[told["kind"]].words,
            words,
            "Nothing was half done. Report it with the lines printed.",
        ]
        return {"state": "failed", "problems": [told_of]}
    return {"state": "done", "result": dict(result)}


def _refused(errors: list[InputError], stopped: threading.Event) -> dict[str, Any]:
    problems = [[one.field, one.problem, one.remedy] for one in errors]
    return {"state": "stopped" if stopped.is_set() else "refused", "problems": problems}


def _teller() -> Progress:
    last = 0.0

    def tell(done: int, total: int, what: str) -> None:
        nonlocal last
        if time.monotonic() - last >= EVERY:
            last = time.monotonic()
            _put({"done": done, "total": total, "what": what})

    return tell


def _put(told: Mapping[str, Any]) -> None:
    sys.stdout.buffer.write(json.dumps(told).encode() + b"\n")
    sys.stdout.buffer.flush()


if __name__ == "__main__":
    main()

"""What ``steadyhead logs watch`` does once its words are parsed."""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from steadyhead.cli.logs_text import FINE, OPEN, opened, who_does
from steadyhead.cli.showing import paragraph


def do_watch(
    folder: str, station: str, source: str, timing: tuple[float, bool], by: str, where: tuple[str, str]
) -> int:
    """Take in what is laid into a folder until it is ended, or once."""
    from steadyhead.services.logs.known import known_of
    from steadyhead.services.logs.watching import Watched

    every, once = timing
    who = who_does(by, "Who answers for these files?")
    watched = Watched(Path(folder), station, source, still=0.0 if once else min(every, 10.0))
    left = False
    with opened(*where) as (register, _), _ending() as ended:
        known_of(register, station)
        while True:
            for one in watched.look(register, who):
                print(paragraph(one.words(), 2, ""), flush=True)
                left = left or one.pushed is None
            if once or ended.wait(every):
                return OPEN if once and left else FINE


def do_listen(file: str, folder: str, status: bool, by: str, where: tuple[str, str]) -> int:
    """Listen to a broker until it is ended, or say how it goes."""
    from steadyhead.services.logs.broker_file import read_broker
    from steadyhead.services.logs.listening import Listener, heard_of

    if status:
        print(paragraph(heard_of(Path(folder)).words(), 2, ""))
        return FINE
    broker = read_broker(Path(file))
    who = who_does(by, "Who answers for these data?")
    with opened(*where) as (register, _), _ending() as ended:
        Listener(broker, Path(folder), register, who, _say).run(ended)
    return FINE


def _say(words: str) -> None:
    print(paragraph(words, 2, ""), flush=True)


@contextmanager
def _ending() -> Iterator[threading.Event]:
    """Give what is set when the process is asked to end; what is under way is finished first."""
    ended = threading.Event()

    def end(number: int, frame: object) -> None:
        print("Ends after what is under way.", file=sys.stderr, flush=True)
        ended.set()

    before = {one: signal.signal(one, end) for one in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield ended
    finally:
        for one, handler in before.items():
            signal.signal(one, handler)

"""The transient twin: its pipes against the same arithmetic in C, one step of all, a minute's event.

The things measured are those of ``steadyhead bench``, which a person runs on a machine of their own.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, partial

from bench.harness import Benchmark
from steadyhead.services.speed.cases import FINE, STEPS, STUDY, event, many, steps, window
from steadyhead.services.speed.interior import FLAGS, REACHES, Interior, compiled_c

__all__ = ["BENCHMARKS", "Interior", "compiled_c"]
RUNS = 100


@cache
def _interior() -> Interior:
    return Interior()


@cache
def _window(cases: int) -> Callable[[], object]:
    return window(cases)


def _interiors() -> dict[str, Callable[[], object]]:
    if compiled_c() is None:
        return {"kernel": lambda: _interior().ours()}
    return {"C": lambda: _interior().in_c(), "kernel": lambda: _interior().ours()}


def _why() -> str:
    return "" if compiled_c() is not None else "; C left out: no C compiler here"


BENCHMARKS = (
    Benchmark(
        name="surge-interior",
        about=f"{STEPS} steps of the {REACHES - 1} inner nodes of a main, friction and cavities included; "
        f"the same arithmetic in C, {' '.join(FLAGS)}{_why()}",
        candidates=_interiors(),
    ),
    Benchmark(
        name="surge-step",
        about=f"{STEPS} steps of a station with its mains: 262 nodes and 67, one stream and two",
        candidates={
            "262 nodes": partial(steps, FINE),
            "67 nodes": partial(steps, STUDY),
            "262 nodes, two streams": partial(steps, FINE, 2),
        },
    ),
    Benchmark(
        name="surge-event",
        about="a demand step watched for 60 s: layout, steady start, run, trace; 262 nodes and 67",
        candidates={"262 nodes": partial(event, FINE), "67 nodes": partial(event, STUDY)},
    ),
    Benchmark(
        name="surge-window",
        about="both edges of a needle's window to 2 %: one design case, and four",
        candidates={"one": lambda: _window(1)(), "four": lambda: _window(4)()},
        rounds=5,
    ),
    Benchmark(
        name="surge-many",
        about=f"{RUNS} runs of 30 s with tolerances drawn, on threads",
        candidates={f"{RUNS} runs": partial(many, RUNS)},
        rounds=5,
    ),
)

from __future__ import annotations

from itertools import count

import pytest

from bench.harness import Benchmark, measure


class Clock:
    """A clock that each candidate moves on by its own step."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now

    def takes(self, seconds: float):
        def work() -> None:
            self.now += seconds

        return work


@pytest.mark.source(kind="analytic", ref="two steps of known length")
def test_the_ratio_is_that_of_the_two_candidates():
    clock = Clock()
    figures = measure(Benchmark("two", "", {"one": clock.takes(0.25), "other": clock.takes(0.5)}), clock)
    assert figures["one"].ratio == 1.0
    assert figures["other"].ratio == 2.0
    assert figures["other"].median_s == 0.5
    assert figures["other"].spread == 0.0


def test_candidates_take_turns_in_changing_order():
    order = []
    numbers = count()
    candidates = {name: lambda name=name: order.append((name, next(numbers))) for name in "abc"}
    measure(Benchmark("turns", "", candidates, rounds=2))
    assert [name for name, _ in order] == list("abcabcbca")

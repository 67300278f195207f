"""Steps of an event that may have come in another order are told by name, with how close each is known."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from steadyhead.services.logs.order import may_precede, order_words
from steadyhead.watch.incident import Step

BEGIN = datetime(2027, 2, 20, 1, 41, tzinfo=UTC)


def step(after: float, by: float, words: str) -> Step:
    first, last = (BEGIN + timedelta(seconds=one) for one in (after, by))
    return Step(first, last, "outlet pressure, spot", words, 1.0, "Pa")


RISES = step(-60, 0, "The outlet rises from 3.66 bar.")
STOPS = step(0, 60, "The flow stops.")
SAYS = step(30, 90, "The switch says open: it was reset.")
HIGH = step(20, 100, "The outlet stands highest: 4.61 bar.")


def test_a_step_that_surely_comes_later_is_told_without_a_word():
    assert may_precede([RISES, STOPS], 1) == ()
    assert order_words([RISES, STOPS], 1) == ""


def test_the_row_it_may_swap_with_is_named_with_its_time_and_how_close_it_is_known():
    assert may_precede([RISES, STOPS, SAYS], 2) == (1,)
    assert order_words([RISES, STOPS, SAYS], 2) == (
        "May have been before 01:42:00 “The flow stops”: the times of both are known to 60 s."
    )


def test_of_several_rows_each_is_named_and_of_many_the_first():
    assert order_words([STOPS, SAYS, HIGH], 2) == (
        "May have been before 01:42:00 “The flow stops” (known to 60 s) and before 01:42:30 “The switch says "
        "open” (known to 60 s); its own time is known to 80 s."
    )
    wide = step(-70, 300, "Flow passes again.")
    assert order_words([RISES, STOPS, SAYS, wide], 3) == (
        "May have been before any of the 3 rows from 01:41:00 “The outlet rises” on; its time is known to "
        "6 min."
    )


def test_a_row_of_another_day_is_told_with_its_day():
    late = [step(-86_460, -86_400, "The inlet falls from 7.80 bar."), step(-86_450, 0, "The flow stops.")]
    assert "before 19 Feb, 01:41:00 “The inlet falls”" in order_words(late, 1)

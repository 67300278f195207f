"""A limit that is passed has the cause and the cure of its event, not one for all."""

from __future__ import annotations

import pytest

from steadyhead.errors import InputError
from steadyhead.records.surge import FAILING, ShutOffTimes, SurgeRun
from steadyhead.services.surge import run_surge
from steadyhead.surge.causes import BY_HAND, cause_of
from steadyhead.surge.events import EVENTS, OWN_TIME
from tests.surge.files import text

pytestmark = pytest.mark.by_turns(4)


def run(group: str, *shut_offs: ShutOffTimes) -> SurgeRun:
    made = object.__new__(SurgeRun)
    object.__setattr__(made, "group", group)
    object.__setattr__(made, "shut_offs", shut_offs)
    object.__setattr__(made, "is_uncredited", False)
    return made


def test_every_event_has_a_cause_of_its_kind():
    assert {*BY_HAND, *FAILING} <= set(EVENTS)
    assert len({cause_of(run(name)) for name in EVENTS}) == 5
    assert "shut-off" not in cause_of(run("demand-falls"))[0]


def test_what_a_failing_reducer_asks_for_hangs_on_what_stands_there():
    trips, stands = ShutOffTimes("SO", 1, 2.0, 3.0, 6.0), ShutOffTimes("SO", 0, None, None, None)
    assert "closing time" in cause_of(run("pilot-stuck", trips))[1]
    assert "does not trip" in cause_of(run("pilot-stuck", stands))[0]
    assert cause_of(run("pilot-stuck"))[1].startswith("Fit a shut-off")


@pytest.mark.parametrize("event", OWN_TIME)
def test_a_time_that_an_event_does_not_take_is_refused(event):
    with pytest.raises(InputError, match=f"--within: has no part in {event}"):
        run_surge(text(), "a.yaml", event, "3 s")


def test_a_name_written_otherwise_is_guessed():
    with pytest.raises(InputError, match="Did you mean pilot-stuck"):
        run_surge(text(), "a.yaml", "Pilot-Stuck")

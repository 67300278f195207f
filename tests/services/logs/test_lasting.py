"""An outlet raised for a while: its steps name when it stands highest and when it is back."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import polars as pl
import pytest

from steadyhead.records.logger import Channel
from steadyhead.services.logs.lasting import with_lasting
from steadyhead.watch.defects.episode import Code, Episode
from steadyhead.watch.happening import Event, Happening
from steadyhead.watch.incident import Incident, Step

START = datetime(2027, 3, 6, 2, tzinfo=UTC)
MINUTE, BAR = timedelta(minutes=1), 1e5
OUTLET = Channel(
    id="out", place="T3", quantity="outlet pressure", statistic="spot", unit_as_found="bar", factor=1.0,
    offset=0.0, absolute=False, elevation=None, zone="UTC", hold="step", source_sha256=(), heading="out",
)  # fmt: skip
FIRST = Step(START - MINUTE, START, "out", "The outlet rises from 3.40 bar.", 5.4e5, "Pa")
EVENT = Happening(
    Event.RAISED, START, START + 59 * MINUTE, ("out",), 2.0 * BAR, "Pa", "For 59 min the outlet stands high."
)  # fmt: skip
ONE = Incident(EVENT, (FIRST,), (), (), (), "")


def frame(end: int = 180) -> pl.LazyFrame:
    """Return minutes from an hour before: 3.4 bar, 5.4 bar for an hour, 5.6 bar amid it, 3.41 bar after."""
    times = [START + at * MINUTE for at in range(-60, end)]
    values = [3.4 if at < 0 else 5.6 if at == 30 else 5.4 if at < 60 else 3.41 for at in range(-60, end)]
    t = pl.Series("t", times).cast(pl.Datetime("us", "UTC"))
    return pl.DataFrame({"t": t, "v": [value * BAR for value in values]}).lazy()


def test_peak_and_end_of_a_raised_outlet_are_steps():
    first, top, back = with_lasting(ONE, [(OUTLET, frame())], ())
    assert first == FIRST
    assert top.words == "The outlet stands highest: 5.60 bar."
    assert (top.after, top.by) == (START + 29 * MINUTE, START + 31 * MINUTE)
    assert back.words == "The outlet is back: 3.41 bar."
    assert (back.after, back.by) == (START + 59 * MINUTE, START + 60 * MINUTE)
    assert top.in_order
    assert back.in_order


def test_a_mean_holds_what_came_before_its_stamp():
    mean = replace(OUTLET, statistic="mean")
    _, _, back = with_lasting(ONE, [(mean, frame())], ())
    assert (back.after, back.by) == (START + 58 * MINUTE, START + 60 * MINUTE)


def test_a_record_that_ends_before_it_is_back_says_no_end():
    steps = with_lasting(ONE, [(OUTLET, frame(50))], ())
    assert [step.words for step in steps] == [FIRST.words, "The outlet stands highest: 5.60 bar."]


@pytest.mark.parametrize("channels", [("out",), ()])
def test_doubted_data_and_other_events_are_left(channels):
    spike = Episode(
        Code.SPIKE, START + 30 * MINUTE, START + 30 * MINUTE, channels, 1e4, "Pa", "", (), "certain"
    )
    assert with_lasting(ONE, [(OUTLET, frame())], (spike,)) == (FIRST,)
    elsewhere = replace(spike, channels=("in",))
    assert len(with_lasting(ONE, [(OUTLET, frame())], (elsewhere,))) == 3
    trip = replace(ONE, event=replace(EVENT, code=Event.TRIP))
    assert with_lasting(trip, [(OUTLET, frame())], ()) == (FIRST,)
    assert with_lasting(ONE, [], ()) == (FIRST,)

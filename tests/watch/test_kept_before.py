"""Pieces of judgements that were kept before are read as they were written, and written so again."""

from __future__ import annotations

import json
from base64 import b64decode
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from steadyhead.records.logger import Channel
from steadyhead.watch.defects import keeping as of_portions
from steadyhead.watch.defects.episode import Code, Episode
from steadyhead.watch.defects.series import Series
from steadyhead.watch.happening import keeping as of_events
from steadyhead.watch.happening.event import Event, Happening, NotSeen
from steadyhead.watch.measures.keeping import one_from_text, one_to_text

KEPT = json.loads((Path(__file__).parent / "kept" / "pieces.json").read_text())
"""Written once: a portion and its short events as bytes (base 64), and a day."""
OUTLET = Channel(
    "outlet pressure, spot", "T3", "outlet pressure", "spot", "bar", 1e5, 0.0, False, None, "UTC+1",
    "linear", ("ab" * 32,), "P out",
)  # fmt: skip
BEGIN = 1.8e9


def after(seconds: float) -> datetime:
    return datetime.fromtimestamp(BEGIN + seconds, UTC)


def series_kept(one: Series) -> None:
    assert one.channel is OUTLET
    assert np.array_equal(one.t, [BEGIN, BEGIN + 60.0, BEGIN + 120.5])
    assert np.array_equal(one.v, [4.5e5, 4.625e5, 4.5e5])
    assert (one.step, one.regular, one.scatter, one.grain) == (60.0, True, 125.0, 0.0)


def test_a_portion_kept_before_is_read_as_it_was_written():
    content = b64decode(KEPT["portion"])
    got = of_portions.from_bytes(content, [OUTLET])
    spike, gap = got.episodes
    assert spike == Episode(
        Code.SPIKE, after(60), after(60), (OUTLET.id,), 12500.0, "Pa", "The outlet stands 0.12 bar off once.",
        ("its neighbours agree",), "likely", (after(60.25),),
    )  # fmt: skip
    assert gap == Episode(Code.GAP, after(3600), after(7200), (), None, "", "Nothing for an hour.")
    assert (got.start, got.end) == (1799971200.0, 1800057600.0)
    assert got.intervals == {OUTLET.id: [(BEGIN + 3600.0, BEGIN + 7200.0)]}
    assert got.stamps == {OUTLET.id: (BEGIN, BEGIN + 120.5)}
    assert got.tops == {OUTLET.id: 4.625e5}
    series_kept(*got.slow)
    assert of_portions.to_bytes(got).partition(b"\n")[0] == content.partition(b"\n")[0]


def test_short_events_kept_before_are_read_as_they_were_written():
    content = b64decode(KEPT["short"])
    got = of_events.from_bytes(content, [OUTLET])
    surge = Happening(
        Event.SURGE, after(60), after(61), (OUTLET.id,), 31000.0, "Pa", "A surge from upstream.",
        ("the inlet moved first",), "certain", (after(60.5),),
    )  # fmt: skip
    hunts = Happening(
        Event.HUNTING, after(0), after(600), (OUTLET.id,), None, "", "The outlet hunts.", (), "likely"
    )
    assert (got.surges, got.hunting) == ((surge,), (hunts,))
    assert got.not_seen == (NotSeen(Event.THERMAL, "No temperature is recorded."),)
    series_kept(*got.minutes)
    assert of_events.to_bytes(got).partition(b"\n")[0] == content.partition(b"\n")[0]


def test_a_day_kept_before_is_read_as_it_was_written():
    got = one_from_text(KEPT["day"])
    assert got is not None
    assert (got.number, got.n_valid, got.n_total) == (20815, 48, 48)
    assert got.channels == ("in", "out", "flow", "out max")
    assert one_to_text(got) == KEPT["day"]

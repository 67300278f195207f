"""Columns whose stated unit would put them far from what is known of the station are asked about."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from steadyhead.records.logger import Context, Known
from steadyhead.watch.reading import propose

FIRST = datetime(2027, 3, 4)
KNOWN = Known(inlet=8e5, lockup=4.2e5, flow=0.01)


def _read(folder, heading, value, known=KNOWN):
    lines = [f"Time;{heading}"]
    lines += [f"{FIRST + timedelta(minutes=15 * k):%Y-%m-%d %H:%M};{value(k)}" for k in range(200)]
    path = folder / "a.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    found = propose([path], Context(zone="UTC", known=known))
    ((channel, frame),) = found.channels
    return found, channel, frame.collect()["v"]


CASES = [
    ("P outlet Pa", lambda k: 4 + k % 5 / 100, "bar"),
    ("P inlet [psi]", lambda k: 8 + k % 5 / 100, "bar"),
    ("P inlet [bar]", lambda k: 800 + k % 5, "kPa"),
    ("Flow [m3/d]", lambda k: 10 + k % 5 / 10, "L/s"),
]


@pytest.mark.parametrize(("heading", "value", "unit"), CASES)
def test_a_unit_far_from_what_is_known_is_asked_about_and_the_near_one_assumed(
    heading, value, unit, tmp_path
):
    found, channel, values = _read(tmp_path, heading, value)
    (doubt,) = found.doubts
    assert (doubt.field, doubt.taken, channel.unit_as_found) == ("unit", f"{channel.quantity}, {unit}", unit)
    assert "far from what is usual here" in doubt.question
    assert doubt.choices[0].words.endswith("as its heading says")
    assert len(values) == 200


def test_without_anything_known_only_the_impossible_is_asked_about(tmp_path):
    found, channel, _ = _read(tmp_path, "P outlet Pa", lambda k: 4 + k % 5 / 100, Known())
    assert [one.taken for one in found.doubts] == ["outlet pressure, bar"]
    found, channel, _ = _read(tmp_path, "P outlet bar", lambda k: 14 + k % 5 / 100, Known())
    assert (found.doubts, channel.unit_as_found) == ((), "bar")


@pytest.mark.parametrize("scale", [0.4, 1.0, 2.5])
def test_a_station_that_runs_otherwise_than_known_is_not_asked_about(scale, tmp_path):
    found, channel, _ = _read(tmp_path, "P inlet bar", lambda k: (8 + k % 5 / 100) * scale)
    assert (found.doubts, channel.unit_as_found) == ((), "bar")


def test_a_station_out_of_service_is_not_asked_about(tmp_path):
    found, *_ = _read(tmp_path, "Flow l/s", lambda k: 0.0)
    assert found.doubts == ()

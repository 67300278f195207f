"""What a channel is taken for: a switch that reports its changes only, a gauge before the strainer."""

from __future__ import annotations

import csv
from datetime import timedelta
from pathlib import Path

import pytest

from steadyhead.register import open_register
from steadyhead.register.logs import logs_folder
from steadyhead.services.logs.importing import read_files
from steadyhead.services.logs.judging import judge_period
from steadyhead.services.logs.proposing import Given
from steadyhead.services.logs.telling import tell_at
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from tests.services.logs.tripped import at, seen, tripped

KEY, WHO = "DMB-01", "Ilse Marrow"


def parted(folder: Path) -> tuple[Path, Path]:
    """Write the trip's record without its switch, and the switch apart: a month before open, then changes."""
    head, *rows = list(csv.reader(tripped(folder).read_text("utf-8").splitlines()))
    others = folder / "others.csv"
    others.write_text("\n".join(",".join(row[:-1]) for row in [head, *rows]) + "\n", "utf-8")
    long_ago = f"{at(seen()[1]) - timedelta(days=30):%Y-%m-%d %H:%M:%S}"
    changes, before = [f"Time,{head[-1]}", f"{long_ago},0"], "0"
    for row in rows:
        if row[-1] != before:
            changes.append(f"{row[0]},{row[-1]}")
            before = row[-1]
    switch = folder / "switch.csv"
    switch.write_text("\n".join(changes) + "\n", "utf-8")
    return others, switch


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    folder = tmp_path_factory.mktemp("held")
    register = open_register(folder / "register")
    save(register, read("dunmarrow-bottom"), WHO)
    logs = logs_folder(register)
    for name, path in zip(("kiosk", "switch"), parted(folder), strict=True):
        read_files(register, logs, Given(KEY, (path,), name, {"zone": "UTC"}), WHO)
    found = tell_at(register, logs, KEY, at(seen()[1] + 3600.0))
    view = judge_period(register, logs, KEY, at(seen()[1] - 2.0 * 86_400.0))
    register.close()
    return found, view


def test_a_trip_is_told_whose_switch_said_open_before_the_window(told):
    told, view = told
    assert told.event is not None
    assert told.event.code == "trip"
    (rows,) = [one for one in told.rows if one.channel.startswith("shut-off closed")]
    assert rows.samples == 2  # closed, and open again: the report of long ago is none of the event
    assert [one.code for one in view.happenings] == ["trip"]
    assert {one.unseen for one in view.standings if one.channel.startswith("shut-off closed")} == {2}


def test_the_change_a_switch_reports_is_as_sharp_as_its_stamp(told):
    told, _ = told
    (closed,) = [one for one in told.steps if "says closed" in one.words]
    assert closed.after[:16] >= told.event.start[:16]
    later = told.steps[-1]
    assert later.in_order or "says open" in later.words
    spans = [one for one in told.steps if one.after[:10] != one.by[:10]]
    assert spans == []


@pytest.mark.parametrize(("tap", "is_measured"), [("T0", False), ("T1", True)])
def test_a_strainer_is_measured_only_where_a_gauge_of_the_inlet_stands_past_it(tmp_path, tap, is_measured):
    path = tripped(tmp_path)
    path.write_text(path.read_text("utf-8").replace("P inlet [bar]", f"P inlet {tap} [bar]"), "utf-8")
    register = open_register(tmp_path / "register")
    save(register, read("dunmarrow-bottom"), WHO)
    logs = logs_folder(register)
    read_files(register, logs, Given(KEY, (path,), "kiosk", {"zone": "UTC"}), WHO)
    view = judge_period(register, logs, KEY)
    register.close()
    assert ("strainer coefficient" in {one.code for one in view.measures}) == is_measured
    assert (
        "Not measured: strainer; the inlet's gauge is at T0, before it." in view.not_measured
    ) != is_measured

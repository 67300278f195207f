"""What a visit read is the reference: a sensor's datum and a logger's clock that are off are told by it."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import polars as pl
import pytest

from steadyhead.records.entry import Entry, plain_entry
from steadyhead.register import open_register
from steadyhead.register.logs import Manifest, commit, logs_folder, staged, state_of
from steadyhead.register.tables import entry, run
from steadyhead.services.logs.judging import judge_period
from steadyhead.services.logs.visited import visits_of
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from tests.logger.handing import channel, frame
from tests.logger.measuring import measured
from tests.logger.truth import MONDAY, Place, water

KEY, WHO = "DMB-01", "Ilse Marrow"
PLACE = Place(4.0e5, 0.15e5, 0.04e5, 0.02, 8.0e5, 0.4e5, 0.3e5, 0.012, 0.3, 120.0, 0.05)
OFF = 0.5e5
AT = datetime.fromtimestamp(MONDAY, UTC) + timedelta(days=3, hours=2)


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """Six days whose outlet is recorded half a bar too high, and what it truly was in the visit."""
    register = open_register(tmp_path_factory.mktemp("visited") / "register")
    save(register, read("dunmarrow-bottom"), WHO)
    logs = logs_folder(register)
    rng = np.random.default_rng(5)
    now = water(rng, PLACE, MONDAY, 6, 300.0)
    seen = measured(rng, now)
    seen.traces["out"].v += OFF
    some = [
        (
            channel(name, seen.traces[name], seen.flow_unit),
            frame(seen.traces[name]).lazy().with_columns(
                flag=pl.lit(0, pl.UInt32), row=pl.int_range(1, pl.len() + 1, dtype=pl.UInt64)
            ),
        )
        for name in ("in", "out", "flow")
    ]  # fmt: skip
    with staged(register, logs) as one:
        parts = one.write(KEY, some)
        with register.reading() as connection:
            state = state_of(connection, KEY)
        commit(register, one, Manifest(one.token, KEY, "kiosk", (), parts), WHO, state)
    place = int(np.searchsorted(now.t, AT.timestamp()))
    yield register, logs, float(now.inlet[place]), float(now.outlet[place])
    register.close()


def pressure(tap: str, value: float, **more: Any) -> dict[str, Any]:
    return {"input": tap, "quantity": "pressure", "tap": tap, "value": value, "instrument": "TG-1", **more}


def visit(register, readings: list[tuple[str, dict[str, Any]]]) -> None:
    """Add a visit whose entries are these readings at their steps."""
    with register.writing(WHO) as writing:
        row = {"id": "R1", "station": KEY, "kind": "first", "title": "visit", "plan": writing.blob(b"{}")}
        writing.add(run, {**row, "at": writing.at}, "visit begun", KEY)
        for seq, (node, payload) in enumerate(readings, 1):
            made = Entry(
                id=f"01901000-0000-7000-8000-{seq:012d}", run="R1", node=node, device="tablet",
                device_seq=seq, kind="reading", payload=payload, who=WHO, t_device=AT.isoformat(),
                t_mono=float(seq),
            )  # fmt: skip
            line = json.dumps(plain_entry(made))
            told = {"run": "R1", "seq": seq, "entry_id": made.id, "line": line, "at": writing.at}
            writing.add(entry, told, "entry", KEY)


def test_without_a_visit_an_offset_is_not_called_and_with_one_it_is_told_with_its_size(kept):
    register, logs, inlet, outlet = kept
    first = judge_period(register, logs, KEY)
    assert not {"datum offset", "clock offset"} & {one.code for one in first.episodes}
    visit(
        register,
        [
            ("G5", {"input": "logger", "quantity": "time", "value": 420.0}),
            ("F2", pressure("T3", outlet + 1e5, **{"as": "trip"})),
            ("F4", pressure("T3", outlet + 1e5)),
            ("J4", pressure("T1", inlet)),
            ("J4", pressure("T3", outlet - 2e4, swing=3e4)),
            ("J4", {**pressure("T3", outlet + 2e5), "instrument": ""}),
            ("J6", pressure("T3", outlet)),
        ],
    )
    week = timedelta(days=7)
    found = visits_of(register, KEY, AT - week, AT + week)
    assert [(one.inlet, one.outlet, one.clock) for one in found] == [
        (None, None, 420.0), (pytest.approx(inlet), None, None), (None, pytest.approx(outlet), None),
    ]  # fmt: skip
    assert found[1].when == AT + timedelta(seconds=420), "on the logger's clock"
    assert visits_of(register, KEY, AT + timedelta(days=1), AT + week) == ()
    told = {one.code: one for one in judge_period(register, logs, KEY).episodes}
    assert told["datum offset"].magnitude == pytest.approx(OFF, abs=0.05e5)
    assert told["datum offset"].channels == ("out",)
    assert told["clock offset"].magnitude == pytest.approx(420.0)

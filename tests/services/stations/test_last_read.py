"""The last readings of a station: from its last visit, carried to the datum, said with day and gauge."""

from __future__ import annotations

import json
from typing import Any

import pytest
from sqlalchemy import select

from steadyhead.records.entry import Entry, plain_entry
from steadyhead.register import Register
from steadyhead.register.tables import entry, gist, run
from steadyhead.services.stations import gist as gists
from steadyhead.services.stations.face import face
from steadyhead.services.stations.gist import renew
from steadyhead.services.stations.listing import listed
from steadyhead.services.stations.saving import save
from steadyhead.services.visits_kept.standing import Standing
from steadyhead.station.examples import read
from tests.services.stations.files import QUILLENBY, changed

G = 9.80665


@pytest.fixture(autouse=True)
def _no_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    """These visits have entries alone; how their proofs stand is not asked here."""
    stands = Standing("stands", "proved 14 Apr 2027", "2027-04-14", "2028-04-14")
    monkeypatch.setattr(gists, "standing", lambda *_, **__: stands)


def _line(at: int, payload: dict[str, Any], kind: str = "reading", one: str = "R1", node: str = "H1") -> str:
    made = Entry(
        id=f"0190{one[1]}000-0000-7000-8000-{at:012d}", run=one, node=node, device="tablet", device_seq=at,
        kind=kind, payload=payload, who="Ilse Marrow", t_device=f"2027-04-14T13:{at:02d}:00+01:00",
        t_mono=60.0 * at, clock_offset=0.0, clock_within=1.0,
    )  # fmt: skip
    return json.dumps(plain_entry(made))


def _visit(
    register: Register, lines: list[str], one: str = "R1", at: str = "2027-04-14T12:00:00.000Z"
) -> None:
    with register.writing("Ilse Marrow", at) as writing:
        plan = writing.blob(b"{}")
        row = {
            "id": one,
            "station": "QUR-02",
            "kind": "first",
            "title": "first visit",
            "plan": plan,
            "at": at,
        }
        writing.add(run, row, "visit begun", "QUR-02")
        for seq, line in enumerate(lines, 1):
            told = {"run": one, "seq": seq, "entry_id": json.loads(line)["id"], "line": line, "at": at}
            writing.add(entry, told, "entry", "QUR-02")
        renew(writing, register, "QUR-02")


def _pressure(tap: str, bar: float, **more: Any) -> dict[str, Any]:
    return {
        "input": tap,
        "quantity": "pressure",
        "tap": tap,
        "value": bar * 1e5,
        "instrument": "TG-1",
        **more,
    }


def test_the_last_reading_of_each_tap_stands_on_the_face_and_in_the_list(register: Register) -> None:
    save(register, read(QUILLENBY), "a")
    _visit(
        register,
        [
            _line(1, _pressure("T3", 3.9)),
            _line(2, _pressure("T3", 4.01)),
            _line(3, _pressure("T3", 5.2, **{"as": "trip"})),
            _line(4, _pressure("T1", 8.4, swing=True)),
            _line(5, {"input": "q", "quantity": "flow", "tap": "T1", "value": 0.01}),
        ],
    )
    view, strips = face(register, "QUR-02")
    assert [(one.tap, one.words, one.at, one.gauge) for one in view.read] == [
        ("T3", "4.01 bar", "2027-04-14T13:02", "TG-1")
    ]
    assert view.read[0].tolerance_pa == pytest.approx(0.06e5)
    assert (view.read_day, view.read_title, view.read_run) == ("2027-04-14", "first visit", "R1")
    assert all("4.01" in one for one in strips.drawn)
    row = listed(register)[0].rows[0]
    assert row.read_pa == pytest.approx(4.01e5)
    assert row.read_day == "2027-04-14"


@pytest.mark.source(kind="analytic", ref="hydrostatic pressure, rho g h")
def test_a_gauge_over_the_datum_is_carried_down_to_it(register: Register) -> None:
    save(register, changed(("{part: tap, id: T3}", "{part: tap, id: T3, height: 1.5 m}")), "a")
    _visit(register, [_line(1, _pressure("T3", 4.0)), _line(2, _pressure("T1", 8.0, read_at_height=-2.0))])
    read_at = {one.tap: one.pressure_pa for one in face(register, "QUR-02")[0].read}
    assert read_at["T3"] == pytest.approx(4.0e5 + 999.6 * G * 1.5, abs=20.0)
    assert read_at["T1"] == pytest.approx(8.0e5 - 999.6 * G * 2.0, abs=20.0)


def test_a_visit_without_readings_leaves_those_of_the_one_before(register: Register) -> None:
    save(register, read(QUILLENBY), "a")
    _visit(register, [_line(1, _pressure("T3", 4.01))])
    _visit(register, [_line(1, {"text": "all well"}, "note", "R2")], "R2", "2027-05-01T12:00:00.000Z")
    assert face(register, "QUR-02")[0].read_run == "R1"


def test_no_visit_means_nothing_is_ringed(register: Register) -> None:
    save(register, read(QUILLENBY), "a")
    view, _ = face(register, "QUR-02")
    assert (view.read, view.read_day) == ((), "")
    with register.reading() as connection:
        line = json.loads(connection.execute(select(gist.c.line)).scalar_one())
    assert "row-ring" not in line["svg"]


def test_what_was_read_before_a_trip_is_not_ringed_after_it(
    register: Register, monkeypatch: pytest.MonkeyPatch
) -> None:
    down = Standing("tripped", "tripped, shut since 3 Oct 2027, 02:47 by SO", "2027-10-03")
    monkeypatch.setattr(gists, "standing", lambda *_, **__: down)
    save(register, read(QUILLENBY), "a")
    _visit(register, [_line(1, _pressure("T3", 4.01))])
    view, strips = face(register, "QUR-02")
    assert (view.read, view.is_down) == ((), True)
    assert "not read since" in strips.drawn[0]
    assert listed(register)[0].rows[0].read_pa is None


def test_readings_of_an_isolated_station_are_not_joined_with_those_in_service(register: Register) -> None:
    save(register, read(QUILLENBY), "a")
    steps = (("C5", "T1", 8.6), ("C5", "T3", 2.1), ("J3", "T1", 8.5), ("J3", "T3", 4.0), ("K1", "T4", 0.0))
    _visit(
        register, [_line(at, _pressure(tap, bar), node=node) for at, (node, tap, bar) in enumerate(steps, 1)]
    )
    shut = [_line(1, _pressure("T1", 0.0), one="R2", node="B2")]
    _visit(register, shut, "R2", "2027-05-01T12:00:00.000Z")
    view, _ = face(register, "QUR-02")
    assert (view.read_run, [(one.tap, one.words) for one in view.read]) == (
        "R1", [("T1", "8.50 bar"), ("T3", "4.00 bar")]
    )  # fmt: skip

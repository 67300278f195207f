"""The gist of a station: what the list and its pages say of it, and that it stays right as days pass."""

from __future__ import annotations

import json
from datetime import date
from typing import Literal

import pytest
from sqlalchemy import select, update

from steadyhead.register import Register, core
from steadyhead.register.tables import blob, due, gist, revision, station
from steadyhead.services.judging import judge_file
from steadyhead.services.stations.face import face
from steadyhead.services.stations.gist import renew, renew_old
from steadyhead.services.stations.head import MOMENTS, released_words, station_head
from steadyhead.services.stations.judged import judged_view, stage, turns_of
from steadyhead.services.stations.kept import NotKept, station_row
from steadyhead.services.stations.off_list import tell_listing
from steadyhead.services.stations.saving import save
from steadyhead.services.stations.situation import NEEDS_SOMEBODY, STOP
from steadyhead.station.examples import read
from steadyhead.units import METRIC, US, read_units, say_window
from tests.services.stations.files import QUILLENBY, changed

DAY = date(2027, 4, 15)


def _body(register: Register, key: str = "QUR-02") -> dict[str, object]:
    with register.reading() as connection:
        found = connection.execute(select(gist.c.body).where(gist.c.station == key)).scalar_one()
    plain: dict[str, object] = json.loads(found)
    return plain


def test_a_saved_station_is_found_by_its_words_and_says_what_it_needs(register: Register) -> None:
    save(register, read(QUILLENBY), "a", day=DAY)
    with register.reading() as connection:
        row = station_row(connection, "QUR-02")
        search = connection.execute(select(station.c.search)).scalar_one()
    assert (row.name, row.place, row.head, row.gist_day) == (
        "Quillenby Row",
        "Ashlow East · utility chamber",
        1,
        "2027-04-15",
    )
    assert row.worst == "protection not proved yet"
    assert row.weight >= NEEDS_SOMEBODY
    for word in ("quillenby", "ashlow", "qur-02", "tarrin", "lad-37"):
        assert word in search


def test_a_monitor_that_was_never_proved_stands_in_the_row_as_such(register: Register) -> None:
    save(register, read("fenwarren-gate"), "a", day=DAY)
    with register.reading() as connection:
        assert station_row(connection, "FWG-03").worst == "never proved: monitor MON"


def test_the_head_of_a_page_is_one_statement_with_eight_moments(register: Register) -> None:
    save(register, read(QUILLENBY), "Ilse Marrow", day=DAY)
    with register.reading() as connection:
        head = station_head(connection, register, "QUR-02", DAY)
    assert tuple(head.life) == MOMENTS
    ladder = judge_file(read(QUILLENBY), day=DAY).sheet.ladder
    assert ladder is not None
    edges = say_window(ladder.worst_case.lowest, ladder.worst_case.highest, (), "pressure", METRIC)[0]
    assert head.life["pressures"].fact == f"window {edges}, lumped; not proved"
    assert not head.life["pressures"].is_done, "a window is done where the protection proof bears it"
    surge = head.life["surge"]
    assert surge.fact.endswith("covered, on lumped figures")
    assert not surge.is_done, "nothing was run through the twin yet"
    assert head.life["design"].fact == head.released == "not released"
    assert (head.revision, len(head.file_hash), head.changed_by, head.changed) == (
        1,
        8,
        "Ilse Marrow",
        "station added",
    )


def test_the_head_speaks_the_units_of_the_reader(register: Register) -> None:
    save(register, read(QUILLENBY), "a", day=DAY)
    with register.reading() as connection:
        head = station_head(connection, register, "QUR-02", DAY, US)
    assert head.life["pressures"].fact.endswith("psi, lumped; not proved")


def test_a_release_counts_only_for_the_revision_it_is_of() -> None:
    assert released_words(2, 1, 2) == "released as r1"
    assert released_words(3, 1, 2) == "changed since r1"


def test_a_gauge_that_runs_out_turns_the_gist_on_its_day_and_not_before(both: Register) -> None:
    source = read(QUILLENBY)
    assert turns_of(source) == ("2027-07-01",)
    assert [stage(turns_of(source), day) for day in (date(2027, 6, 30), date(2027, 7, 1))] == [
        "",
        "2027-07-01",
    ]
    save(both, source, "a", day=date(2027, 6, 30))
    assert not any(one["code"] == "SIZ-27" for one in _body(both)["needs"])  # type: ignore[attr-defined]
    assert renew_old(both, date(2027, 6, 30)) == 0
    assert renew_old(both, date(2027, 7, 1)) == 1
    assert any(one["code"] == "SIZ-27" for one in _body(both)["needs"])  # type: ignore[attr-defined]
    assert renew_old(both, date(2027, 7, 1)) == 0
    assert renew_old(both, date(2027, 6, 30)) == 1  # a clock was a day ahead and is set back
    assert not any(one["code"] == "SIZ-27" for one in _body(both)["needs"])  # type: ignore[attr-defined]


def test_the_judged_view_is_of_the_day_and_of_the_units_and_of_the_file(both: Register) -> None:
    saved = save(both, read(QUILLENBY), "a", day=DAY)
    plain = json.loads(judged_view(both, "QUR-02", METRIC, DAY))
    assert json.loads(judged_view(both, saved.file_hash, METRIC, DAY)) == plain
    codes = {one["code"] for one in plain["findings"]}
    later = {
        one["code"] for one in json.loads(judged_view(both, "QUR-02", METRIC, date(2028, 1, 1)))["findings"]
    }
    assert "SIZ-27" in later - codes
    psi = json.loads(judged_view(both, "QUR-02", read_units("us"), DAY))
    assert psi["sheet"] == plain["sheet"]
    assert any("psi" in one["statement"] for one in psi["findings"])
    with pytest.raises(NotKept):
        judged_view(both, "NOBODY")


def test_a_renewal_that_changes_nothing_gives_the_same_bytes(register: Register) -> None:
    save(register, read("veldany-house"), "a", day=DAY)
    before = _body(register, "VEL-Z1")
    with register.caching() as connection:
        renew(connection, register, "VEL-Z1", DAY)
    assert _body(register, "VEL-Z1") == before


def test_a_kept_file_that_is_no_longer_read_says_so_and_holds_nothing_else_up(register: Register) -> None:
    save(register, read(QUILLENBY), "a", day=DAY)
    with register.caching() as connection:
        spoilt = connection.execute(select(blob.c.hash).where(blob.c.hash != "")).scalars().first()
        assert spoilt is not None
        connection.execute(update(gist).values(body="{}"))
    with register.writing("a") as writing:
        bad = writing.blob(b"format: steadyhead/station/9\n")
        row = {"station": "QUR-02", "number": 2, "file": bad, "canonical": bad, "at": writing.at, "who": "a"}
        writing.add(revision, row, "station saved", "QUR-02")
        told = renew(writing, register, "QUR-02", DAY)
    assert told.weight == STOP
    assert told.words.startswith("station file is not read by this version")
    view, strips = face(register, "QUR-02", METRIC, DAY)
    assert (strips.drawn, view.station.name) == ((), "Quillenby Row")


def test_a_station_off_the_list_keeps_its_reason_and_comes_back(both: Register) -> None:
    save(both, read(QUILLENBY), "a", day=DAY)
    tell_listing(both, "QUR-02", "off", "  fed by Pell Mount\nsince May ", "Ilse Marrow", DAY)
    with both.reading() as connection:
        assert station_row(connection, "QUR-02").struck == "fed by Pell Mount since May"
    with pytest.raises(ValueError, match="off the list already"):
        tell_listing(both, "QUR-02", "off", "again", "a")
    with pytest.raises(ValueError, match="is empty"):
        tell_listing(both, "QUR-02", "back", " \n", "a")
    with both.reading() as connection:
        assert not connection.execute(select(due.c.on).where(due.c.station == "QUR-02")).all()
    tell_listing(both, "QUR-02", "back", "taken up again", "a", DAY)
    with both.reading() as connection:
        assert connection.execute(select(due.c.on).where(due.c.station == "QUR-02")).all()
    with both.reading() as connection:
        assert station_row(connection, "QUR-02").struck == ""


def test_the_strip_is_drawn_in_the_units_of_the_reader_and_tells_its_taps(register: Register) -> None:
    save(register, read(QUILLENBY), "a", day=DAY)
    view, strips = face(register, "QUR-02", METRIC, DAY)
    assert len(strips.drawn) == 4
    assert all(one.startswith("<svg") and "<style" not in one and "style=" not in one for one in strips.drawn)
    assert "bar" in view.says
    assert "psi" in face(register, "QUR-02", US, DAY)[0].says


def test_a_new_revision_is_judged_at_once(register: Register) -> None:
    save(register, read(QUILLENBY), "a", day=DAY)
    save(register, changed(("trip: 5.2 bar", "trip: 6.9 bar")), "a", key="QUR-02", day=DAY)
    with register.reading() as connection:
        row = station_row(connection, "QUR-02")
    assert (row.head, row.weight) == (2, STOP)


def test_what_was_done_last_counts_though_the_clock_was_set_back(
    register: Register, monkeypatch: pytest.MonkeyPatch
) -> None:
    save(register, read(QUILLENBY), "a", day=DAY)
    told: tuple[tuple[str, Literal["off", "back"]], ...] = (
        ("2027-06-02T10:00:00.000Z", "off"),
        ("2027-06-01T10:00:00.000Z", "back"),
    )
    for moment, what in told:
        monkeypatch.setattr(core, "now_text", lambda moment=moment: moment)
        tell_listing(register, "QUR-02", what, "so it is", "a", DAY)
    with register.reading() as connection:
        assert station_row(connection, "QUR-02").struck == ""

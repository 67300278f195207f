"""A period judged: defects, events and measures; kept as a dated record, and unseen until then."""

from __future__ import annotations

import json

import pytest
from polars.testing import assert_frame_equal

from steadyhead.cli.app import run
from steadyhead.cli.logs_text import _list_lines
from steadyhead.errors import InputError
from steadyhead.register import open_register
from steadyhead.register.logs import frames, logs_folder
from steadyhead.services.logs.importing import list_imports, read_files, undo_import
from steadyhead.services.logs.judged import judgement, judgements_of
from steadyhead.services.logs.judging import STAGES, Stopped, judge_period
from steadyhead.services.logs.measure_tables import _percent, tables_of
from steadyhead.services.logs.proposing import Given
from steadyhead.services.logs.spells import micros, spells
from steadyhead.services.logs.standing import standings
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from steadyhead.units import US
from steadyhead.watch.defects.episode import Code, Episode
from steadyhead.watch.defects.judging import Judged, flags
from steadyhead.watch.defects.series import series
from tests.logger.handing import channels
from tests.services.logs.tripped import at, seen, tripped

KEY, WHO = "DMB-01", "Ilse Marrow"


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A register with a tripped station, judged once."""
    folder = tmp_path_factory.mktemp("judged")
    register = open_register(folder / "register")
    save(register, read("dunmarrow-bottom"), WHO)
    logs = logs_folder(register)
    read_files(register, logs, Given(KEY, (tripped(folder),), "kiosk", {"zone": "UTC"}), WHO)
    before = {channel.id: frame.collect() for channel, frame in frames(register, logs, KEY)}
    yield register, logs, before, judge_period(register, logs, KEY, who=WHO)
    register.close()


def test_every_measure_states_period_samples_assumptions_confidence_and_rows(kept):
    _, _, _, view = kept
    codes = {one.code for one in view.measures}
    assert {"time in band", "droop", "outlet at the lowest flow", "hunting", "margin to the trip"} <= codes
    for one in view.measures:
        assert one.start < one.end
        assert 0 < one.n_valid <= one.n_total
        assert one.confidence in ("good", "fair", "poor", "none")
        assert one.rows
        assert one.words
        if one.value is not None:
            assert one.confidence != "none"
    assert any("Tight down to Q" in one.words for one in view.measures)
    assert [one.code for one in view.happenings] == ["trip"]
    assert any("no limit of one reducer" in one for one in view.not_measured)


def test_a_record_judged_in_one_piece_says_how_far_it_is_and_at_what(kept):
    register, logs, _, _ = kept
    heard: list[tuple[int, int, str]] = []
    judge_period(register, logs, KEY, progress=lambda *told: heard.append(told))
    stages = list(dict.fromkeys(what for _, _, what in heard))
    assert stages == list(STAGES)
    assert [done for done, _, _ in heard] == sorted(done for done, _, _ in heard)
    begun = {what: done for done, _, what in reversed(heard)}
    assert begun["samples read"] == 0
    assert 0 < begun["defects of the data"] < begun["events of the station"] < 1000
    with pytest.raises(Stopped):
        judge_period(register, logs, KEY, cancel=lambda: True)


def test_curves_of_measures_are_tables_in_the_units_of_the_reader(kept):
    _, _, _, view = kept
    made = {one.code: tables_of(one, US) for one in view.measures}
    by_hour, by_flow = made["time in band"]
    assert [row[0] for row in by_hour.rows][:2] == ["00:00", "01:00"]
    assert all(len(row) == len(by_flow.heads) for row in by_flow.rows)
    (curve,) = made["droop"]
    assert curve.heads[3:5] == ("Rising flow", "Falling flow")
    assert all("gpm" in row[0] and "psi" in row[1] for row in curve.rows)
    assert made["hunting"] == ()


def test_little_time_outside_the_band_is_not_told_as_none():
    assert [_percent(one) for one in (0.0, 0.0002, 0.5, 0.9999, 1.0)] == [
        "0.0 %", "under 0.1 %", "50.0 %", "over 99.9 %", "100.0 %",
    ]  # fmt: skip


def test_curves_are_printed_on_the_command_line(kept, capsys):
    register, *_ = kept
    assert run(["logs", "judge", KEY, "--tables", "--register", str(register.folder)]) in (0, 1)
    told = capsys.readouterr().out
    assert "By hour of the day, on the clock of the files:" in told
    assert "Rising flow" in told


def test_a_judgement_is_kept_and_the_data_stay_as_they_were(kept):
    register, logs, before, view = kept
    assert judgement(register, KEY, view.id) == view
    for channel, frame in frames(register, logs, KEY):
        assert_frame_equal(frame.collect(), before[channel.id])
    with pytest.raises(InputError, match="judgement"):
        judgement(register, KEY, "none")


def test_samples_that_came_after_a_judgement_are_unseen(kept, tmp_path):
    register, logs, _, view = kept
    (line,) = judgements_of(register, KEY)
    assert (line.id, line.since) == (view.id, ())
    text = tripped(tmp_path, "again.csv").read_text("utf-8").replace("P inlet", "P  inlet")
    (tmp_path / "again.csv").write_text(text, "utf-8")
    made = read_files(register, logs, Given(KEY, (tmp_path / "again.csv",), "kiosk", {"zone": "UTC"}), WHO)
    assert [one.since for one in list_imports(register, KEY).judgements] == [(made.number,)]


def test_a_judgement_of_what_was_undone_says_nothing_any_more(tmp_path):
    register = open_register(tmp_path / "register")
    save(register, read("dunmarrow-bottom"), WHO)
    logs = logs_folder(register)
    given = Given(KEY, (tripped(tmp_path),), "kiosk", {"zone": "UTC"})
    made = read_files(register, logs, given, WHO)
    view = judge_period(register, logs, KEY, who=WHO)
    first, last = micros(view.first), micros(view.last)
    assert [one.view.id for one in spells(register, KEY, first, last)] == [view.id]
    undo_import(register, logs, made.number, WHO, "the wrong logger")
    (line,) = judgements_of(register, KEY)
    assert line.undone == (made.number,)
    assert spells(register, KEY, first, last) == ()
    told = " ".join(" ".join(_list_lines(list_imports(register, KEY))).split())
    assert f"It rests on import {made.number}, undone: it says nothing any more." in told
    read_files(register, logs, given, WHO)
    assert spells(register, KEY, first, last) == ()
    register.close()


def test_samples_count_as_their_flags_say():
    given = channels(seen()[0])
    names = [channel.id for channel, _ in given]
    start = seen()[1]
    found = Judged(
        (
            Episode(Code.STUCK, at(start - 9000.0), at(start - 3000.0), (names[0],), None, "", "x"),
            Episode(Code.DRIFT, at(start - 4000.0), at(start), (names[0],), 1.0, "Pa", "x"),
            Episode(Code.CLIPPING, at(start), at(start), (names[1],), 4.0e5, "Pa", "x"),
            Episode(Code.GAP, at(start), at(start + 900.0), (), 900.0, "s", "x"),
        ),
        tuple(names[:3]),
    )
    from steadyhead.watch.defects.episode import standing

    for (channel, frame), counted in zip(given, standings(given, found), strict=True):
        words: list[str] = [standing(int(one)) for one in flags(series(channel, frame), found)]
        got = {word: getattr(counted, word) for word in ("unseen", "believed", "doubted", "refused")}
        assert got == {word: words.count(word) for word in got}


def test_without_a_name_nothing_is_kept_on_the_command_line(kept, tmp_path, capsys):
    register, _, _, _ = kept
    place = ["--register", str(register.folder)]
    assert run(["logs", "judge", KEY, "--to", "2027-01-02", *place]) == 0
    said = capsys.readouterr().out
    assert "Not kept: nobody is named." in said
    assert "believed" in said
    assert run(["logs", "judge", KEY, "--from", "2026-12-28", "--to", "2027-01-05", "--json", *place]) == 0
    view = json.loads(capsys.readouterr().out)
    assert view["id"] == ""
    assert view["measures"]
    assert len(judgements_of(register, KEY)) == 1

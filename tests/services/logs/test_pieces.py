"""What was worked out is kept: a day added costs that day, and only what is touched is worked out anew."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

import numpy as np
import polars as pl
import pytest

from steadyhead.records.logger import Context
from steadyhead.register import Register, open_register
from steadyhead.register.logs import LogsFolder, Manifest, commit, frames, logs_folder, staged, state_of
from steadyhead.register.logs.worked import Worked
from steadyhead.services.jobs.asking import stop
from steadyhead.services.jobs.views import job_view
from steadyhead.services.jobs.working import Queue
from steadyhead.services.logs import judging
from steadyhead.services.logs.importing import list_imports, undo_import
from steadyhead.services.logs.judged import JudgedView, judgement
from steadyhead.services.logs.judging import Stopped, judge_period, rows_in
from steadyhead.services.logs.judging_work import ask_to_judge
from steadyhead.services.logs.known import Bounds, all_known
from steadyhead.services.logs.pieces import KeptPieces, pieces_of
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from steadyhead.watch.ahead import look_ahead
from steadyhead.watch.defects import long
from steadyhead.watch.defects.judging import judge
from steadyhead.watch.happening import set_aside, tell
from steadyhead.watch.measures import Days, days_of
from tests.logger.handing import channel, frame
from tests.logger.measuring import measured
from tests.logger.truth import DAY, MONDAY, Place, water

KEY, WHO = "DMB-01", "Ilse Marrow"
PLACE = Place(4.0e5, 0.15e5, 0.04e5, 0.02, 8.0e5, 0.4e5, 0.3e5, 0.012, 0.3, 120.0, 0.05)
DAYS = 9


@pytest.fixture(scope="module")
def given() -> list[tuple[object, pl.DataFrame]]:
    """Nine days at five minutes: inlet, outlet, flow."""
    rng = np.random.default_rng(11)
    seen = measured(rng, water(rng, PLACE, MONDAY, DAYS, 300.0))
    few = [(name, trace) for name, trace in seen.traces.items() if name in ("in", "out", "flow")]
    return [(channel(name, trace, seen.flow_unit), frame(trace)) for name, trace in few]


@pytest.fixture
def place(tmp_path, monkeypatch) -> Iterator[tuple[Register, LogsFolder]]:
    """A register whose records are long already at five minutes: portions of two days."""
    monkeypatch.setattr(long, "ROWS", 590)
    register = open_register(tmp_path / "register")
    save(register, read("dunmarrow-bottom"), WHO)
    yield register, logs_folder(register)
    register.close()


def take(where: tuple[Register, LogsFolder], given: list, first: float, last: float) -> int:
    """Take in days from one number to another and return the number of the import."""
    register, logs = where
    seconds = pl.col("t").dt.epoch("us") / 1e6
    with staged(register, logs) as one:
        some = [
            (
                channel,
                samples.lazy()
                .with_columns(flag=pl.lit(0, pl.UInt32), row=pl.int_range(1, pl.len() + 1, dtype=pl.UInt64))
                .filter(seconds >= MONDAY + first * DAY, seconds < MONDAY + last * DAY),
            )
            for channel, samples in given
        ]
        parts = one.write(KEY, some)
        with register.reading() as connection:
            state = state_of(connection, KEY)
        return commit(register, one, Manifest(one.token, KEY, "kiosk", (), parts), WHO, state).number


def judged(where: tuple[Register, LogsFolder]) -> tuple[Days, KeptPieces]:
    """Return the days of all there is, and what was worked out for them."""
    register, logs = where
    pieces = pieces_of(register, logs, KEY)
    channels, context = frames(register, logs, KEY), Context(zone="UTC")
    found = judge(channels, context, pieces)
    told = tell(channels, context, found, pieces)
    return days_of(channels, context, found, set_aside(told), pieces=pieces), pieces


def whole(where: tuple[Register, LogsFolder]) -> Days:
    """Return the same without anything kept."""
    channels, context = frames(*where, KEY), Context(zone="UTC")
    found = judge(channels, context)
    return days_of(channels, context, found, set_aside(tell(channels, context, found)))


def test_a_day_added_costs_that_day_and_the_one_it_borders_and_all_merge_to_the_whole(place, given):
    take(place, given, 0, 7)
    _, first = judged(place)
    assert (first.made["days"], first.made["defects"], first.made["events"]) == (7, 3, 3)
    _, again = judged(place)
    assert not again.made
    assert again.found["days"] == 7
    take(place, given, 7, 8)
    days, third = judged(place)
    assert third.made["days"] == 2, "the day, and the one before whose evening it borders"
    assert third.made["defects"] <= 2, "the portion it lies in, and the one before"
    assert len(days.days) == 8
    assert days == whole(place)


def test_an_undone_and_a_repeated_import_cost_what_they_touch_and_give_the_same_days(place, given):
    take(place, given, 0, 4)
    middle = take(place, given, 4, 5)
    take(place, given, 5, 8)
    before, _ = judged(place)
    undo_import(place[0], place[1], middle, WHO)
    less, pieces = judged(place)
    assert pieces.made["days"] == 3, "the day, which holds nothing now, and its neighbours"
    assert [d.number for d in less.days] == [d.number for d in before.days if d is not before.days[4]]
    assert less == whole(place)
    take(place, given, 4, 5)
    after, pieces = judged(place)
    assert pieces.made["days"] == 3
    assert after == before == whole(place)
    for number in (1, 3, 4):
        undo_import(place[0], place[1], number, WHO)
    folder = place[1].root / "worked" / KEY
    assert any(path.is_file() for path in folder.rglob("*"))
    pieces_of(place[0], place[1], KEY)
    assert not any(path.is_file() for path in folder.rglob("*")), "no samples, nothing worked out of them"


@pytest.mark.parametrize("zone", ["UTC", "Europe/Berlin"])
def test_a_record_read_once_is_judged_told_and_measured_from_that_reading(place, given, zone):
    register, logs = place
    take(place, given, 0, 9)
    pieces, channels, context = (
        pieces_of(register, logs, KEY),
        frames(register, logs, KEY),
        Context(zone=zone),
    )
    look_ahead(channels, context, pieces)
    made = dict(pieces.made)
    found = judge(channels, context, pieces)
    told = tell(channels, context, found, pieces)
    days = days_of(channels, context, found, set_aside(told), pieces=pieces)
    assert pieces.made == made, "nothing was wrong: nothing is worked out a second time"
    assert made["days"] == len(days.days)
    plain = judge(channels, context)
    assert (found, told) == (plain, tell(channels, context, plain))
    assert days == days_of(channels, context, plain, set_aside(told))


def test_another_limit_works_out_no_day_and_still_measures_anew(place, given, monkeypatch):
    take(place, given, 0, 4)
    first = judge_period(place[0], place[1], KEY)
    made: list[KeptPieces] = []

    def kept(*asked: object) -> KeptPieces:
        made.append(pieces_of(*asked))  # type: ignore[arg-type]
        return made[-1]

    monkeypatch.setattr(judging, "pieces_of", kept)
    known, bounds = all_known(place[0], KEY)
    changed = dataclasses.replace(bounds or Bounds(), low=3.9e5, high=3.95e5)
    monkeypatch.setattr(judging, "all_known", lambda *_: (known, changed))
    second = judge_period(place[0], place[1], KEY)
    assert not made[0].made
    assert in_band(first) != in_band(second)


def in_band(view: JudgedView) -> float | None:
    return next(one.value for one in view.measures if one.code == "time in band")


def test_what_is_kept_is_whole_or_as_if_it_were_not_there(tmp_path):
    kept = Worked(tmp_path)
    kept.put("days", MONDAY, "key", b"content")
    kept.settle()
    (path,) = (tmp_path / "days").iterdir()
    assert Worked(tmp_path).find("days", MONDAY, "key") == b"content"
    assert Worked(tmp_path).find("days", MONDAY, "other") is None
    content = path.read_bytes()
    for cut in (content[:-1], content[:20], b"", content[:-1] + b"?"):
        path.write_bytes(cut)
        assert Worked(tmp_path).find("days", MONDAY, "key") is None
    kept = Worked(tmp_path)
    kept.put("days", MONDAY, "key", b"content")
    kept.settle()
    assert path.read_bytes() == content
    path.unlink()
    path.parent.rmdir()
    path.parent.write_bytes(b"a file where a folder should be")
    kept.put("days", MONDAY, "key", b"content")
    kept.settle()


def test_a_long_judgement_is_a_job_that_is_stopped_and_goes_on_from_its_days(place, given):
    register, logs = place
    take(place, given, 0, 8)
    assert rows_in(register, KEY, None, None) == 3 * 8 * 288
    told: list[tuple[int, int, str]] = []

    def progress(done: int, total: int, what: str) -> None:
        told.append((done, total, what))

    with pytest.raises(Stopped, match="was stopped"):
        judge_period(register, logs, KEY, progress=progress, cancel=lambda: len(told) > 5)
    assert {what for _, _, what in told} >= {"samples read", "defects of the data"}
    assert told == sorted(told, key=lambda one: one[0]), "the share only grows"
    asked = ask_to_judge(register, KEY, "", "", WHO)
    assert job_view(register, asked.id).ask == "the first sample to the last one"
    stop(register, asked.id)
    assert job_view(register, asked.id).state == "stopped"
    asked = ask_to_judge(register, KEY, "", "", WHO)
    assert Queue(register, "a worker", "studies", every=0.01).once()
    view = job_view(register, asked.id)
    assert (view.state, view.problem) == ("done", "")
    made = judgement(register, KEY, view.result_href.rpartition("/")[2])
    assert made.who == WHO
    assert made.measures == judge_period(register, logs, KEY).measures
    assert [one.id for one in list_imports(register, KEY).judgements] == [made.id]

"""Logger data are kept as given, read back to the bit, shown from one import at a time, and undone."""

from __future__ import annotations

import hashlib
import shutil
from datetime import timedelta

import polars as pl
import pytest
from polars.testing import assert_frame_equal
from sqlalchemy import create_engine

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.logs import (
    Changed,
    Manifest,
    NotInOrder,
    channels_of,
    commit,
    find,
    frames,
    imports_of,
    known_files,
    logs_folder,
    overlaps,
    read_part,
    staged,
    state_of,
    undo,
)
from steadyhead.register.logs.manifest import manifest_of
from steadyhead.register.logs.staging import sweep
from steadyhead.register.tables import METADATA
from steadyhead.services.archive.verifying import verify_connection
from tests.register.logs.given import START, STATION, bring_in, channel, lying, put_station, samples


@pytest.fixture
def logs(both, tmp_path):
    put_station(both)
    return logs_folder(both, "" if both.folder else tmp_path / "logs")


def given(tmp_path, name="a.csv", content=b"t,v\n1,2\n"):
    path = tmp_path / name
    path.write_bytes(content)
    return path


def test_samples_come_back_as_they_were_given_over_the_end_of_a_month(both, logs, tmp_path):
    frame = samples([1e5 + at if at % 7 else None for at in range(2000)])
    made = bring_in(both, logs, given(tmp_path), [(channel(), frame)])
    ((told, lazy),) = frames(both, logs, STATION)
    assert_frame_equal(lazy.collect(), frame)
    assert told.quantity == "outlet pressure"
    months = {part.month for one in channels_in(both) for _, part in one.parts}
    assert months == {"2027-01", "2027-02"}
    assert (made.begins, made.ends) == ("2027-01-31T12:00:00.000Z", "2027-02-01T21:19:00.000Z")
    digest = hashlib.sha256(b"t,v\n1,2\n").hexdigest()
    assert logs.raw_file(digest).read_bytes() == b"t,v\n1,2\n"


def channels_in(register):
    with register.reading() as connection:
        return channels_of(connection, STATION)


def test_a_period_is_read_from_its_start_up_to_its_end(both, logs, tmp_path):
    bring_in(both, logs, given(tmp_path), [(channel(), samples(range(2000)))])
    start, end = START + timedelta(hours=11, minutes=58), START + timedelta(hours=12, minutes=2)
    ((_, lazy),) = frames(both, logs, STATION, start, end)
    assert lazy.collect()["v"].to_list() == [718, 719, 720, 721]
    assert frames(both, logs, STATION, START + timedelta(days=400)) == []


def test_each_import_is_told_in_the_chain_and_the_register_stays_whole(both, logs, tmp_path):
    bring_in(both, logs, given(tmp_path), [(channel(), samples([1.0, 2.0]))])
    undo(both, logs, 1, "Bo", "wrong station")
    with both.reading() as connection:
        verdict = verify_connection(connection)
        acts = connection.exec_driver_sql("SELECT act FROM audit ORDER BY seq").scalars().all()
    assert verdict.findings == []
    assert acts[-4:] == [
        "logger data taken in",
        "logger file kept",
        "way of reading kept",
        "logger data undone",
    ]


def test_what_is_undone_is_shown_no_more_and_its_file_stays(both, logs, tmp_path):
    before = lying(logs)
    made = bring_in(both, logs, given(tmp_path), [(channel(), samples([1.0, 2.0]))])
    gone = undo(both, logs, made.number, "Bo", "wrong station")
    assert (gone.is_undone, gone.undone_by, gone.reason) == (True, "Bo", "wrong station")
    assert frames(both, logs, STATION) == []
    left = lying(logs) - before
    assert {one.split("/")[0] for one in left} == {"raw", "undone"}
    with both.reading() as connection:
        assert known_files(connection, [hashlib.sha256(b"t,v\n1,2\n").hexdigest()]) == {}
        assert [one.number for one in imports_of(connection, STATION)] == [1]
    with pytest.raises(InputError, match="was undone"):
        undo(both, logs, made.number, "Bo")
    again = bring_in(both, logs, given(tmp_path), [(channel(), samples([1.0, 2.0]))])
    assert again.number == 2
    assert len(frames(both, logs, STATION)) == 1


def test_of_two_imports_the_earlier_value_is_shown_and_both_are_kept(both, logs, tmp_path):
    bring_in(both, logs, given(tmp_path), [(channel(), samples([1.0, 2.0, None, 4.0]))])
    later = samples([9.0, 3.0, 4.0, 5.0, 6.0], START + timedelta(minutes=1))
    new = bring_in(both, logs, given(tmp_path, "b.csv", b"other"), [(channel(), later)])
    ((_, lazy),) = frames(both, logs, STATION)
    shown = lazy.collect()
    assert shown["v"].to_list() == [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]
    assert shown["t"].is_sorted()
    assert shown.columns == ["t", "v", "flag", "row"]
    undo(both, logs, 1, "Bo")
    ((_, lazy),) = frames(both, logs, STATION)
    assert_frame_equal(lazy.collect(), later)
    assert new.number == 2


def test_overlaps_are_counted_with_the_values_that_differ(both, logs, tmp_path):
    bring_in(both, logs, given(tmp_path), [(channel(), samples([1.0, 2.0, None, 4.0]))])
    with staged(both, logs) as one:
        parts = one.write(
            STATION, [(channel(), samples([2.0, 3.0, 4.5, 7.0], START + timedelta(minutes=1)).lazy())]
        )
        read = {part.name: read_part(one.written[part.name], part) for each in parts for part in each.parts}
        (found,) = overlaps(channels_in(both), parts, logs, read)
    assert (found.number, found.count, found.other) == (1, 3, 2)
    assert found.first == round((START + timedelta(minutes=1)).timestamp() * 1e6)


def test_channels_that_measure_other_things_are_kept_apart(both, logs, tmp_path):
    told = [
        channel(),
        channel("outlet pressure", "minimum"),
        channel("outlet pressure", absolute=True),
        channel("other", heading="Füllstand"),
        channel("other", heading="Füllstand 2"),
    ]
    bring_in(both, logs, given(tmp_path), [(one, samples([1.0, 2.0])) for one in told])
    names = [one.name for one in channels_in(both)]
    assert len(set(names)) == 5
    assert len({part.name.split("/")[1] for one in channels_in(both) for _, part in one.parts}) == 5


def test_nothing_is_left_of_an_import_that_fails_or_is_not_committed(both, logs, tmp_path):
    before = lying(logs)
    with staged(both, logs) as one:
        one.take([given(tmp_path)])
        one.write(STATION, [(channel(), samples([1.0]).lazy())])
    assert lying(logs) == before
    with pytest.raises(NotInOrder), staged(both, logs) as one:
        one.write(STATION, [(channel(), samples([1.0, 2.0])[::-1].lazy())])
    assert lying(logs) == before
    with staged(both, logs) as one:
        files = one.take([given(tmp_path)])
        parts = one.write("NONE", [(channel(), samples([1.0]).lazy())])
        with pytest.raises(InputError, match="not kept"):
            commit(both, one, Manifest(one.token, "NONE", "", files, parts), "Bo", 0)
    assert lying(logs) == before


def test_an_import_that_another_one_overtook_is_compared_again(both, logs, tmp_path):
    with staged(both, logs) as one:
        files = one.take([given(tmp_path)])
        parts = one.write(STATION, [(channel(), samples([1.0]).lazy())])
        manifest = Manifest(one.token, STATION, "", files, parts)
        bring_in(both, logs, given(tmp_path, "b.csv", b"b"), [(channel(), samples([1.0]))])
        with pytest.raises(Changed):
            commit(both, one, manifest, "Bo", 0)
        with both.reading() as connection:
            state = state_of(connection, STATION)
        assert commit(both, one, manifest, "Bo", state).number == 2
    assert len(frames(both, logs, STATION)) == 1


def test_a_manifest_says_the_same_after_it_was_read_back(both, logs, tmp_path):
    made = bring_in(both, logs, given(tmp_path), [(channel(elevation=12.0), samples([1.0, None]))])
    content = logs.manifest(made.token).read_bytes()
    assert manifest_of(content).content() == content
    with both.reading() as connection:
        assert find(connection, 1) == made
        with pytest.raises(InputError, match="got 7"):
            find(connection, 7)


def test_a_file_of_samples_that_is_gone_is_named(both, logs, tmp_path):
    bring_in(both, logs, given(tmp_path), [(channel(), samples([1.0]))])
    next(logs.samples.rglob("*.parquet")).unlink()
    with pytest.raises(InputError, match="lacks"):
        frames(both, logs, STATION)


def test_a_file_given_twice_is_taken_once_and_one_that_is_not_there_is_named(both, logs, tmp_path):
    with staged(both, logs) as one:
        files = one.take([given(tmp_path), given(tmp_path, "copy.csv")])
        assert [file.name for file in files] == ["a.csv"]
        with pytest.raises(InputError, match="cannot be read"):
            one.take([tmp_path / "none.csv"])


def test_a_server_without_a_named_folder_is_told_so(tmp_path):
    far = Register(create_engine("sqlite://"))
    METADATA.create_all(far.engine)
    with pytest.raises(InputError, match="folder of logger data"):
        logs_folder(far)
    assert logs_folder(far, tmp_path).root == tmp_path
    assert logs_folder(far).root == tmp_path  # it is named once


def test_a_long_month_is_parted_and_memory_is_not(both, logs, tmp_path, monkeypatch):
    monkeypatch.setattr("steadyhead.register.logs.parts.MOST", 700)
    monkeypatch.setattr("steadyhead.register.logs.parts.BATCH", 300)
    frame = samples([float(at) for at in range(2000)])
    bring_in(both, logs, given(tmp_path), [(channel(), frame)])
    (one,) = channels_in(both)
    assert max(part.count for _, part in one.parts) <= 700
    ((_, lazy),) = frames(both, logs, STATION)
    assert_frame_equal(lazy.collect(engine="streaming"), frame)
    assert pl.read_parquet(logs.part(one.parts[0][1].name)).columns == ["v"]  # the rest runs on evenly


def test_times_rows_and_flags_that_do_not_run_on_evenly_stand_in_the_part(both, logs, tmp_path):
    even = samples([float(at) for at in range(50)])
    odd = even.filter(pl.int_range(pl.len()) != 20).with_columns(
        (pl.int_range(pl.len()) == 7).cast(pl.UInt32).alias("flag")
    )
    bring_in(both, logs, given(tmp_path), [(channel(), odd)])
    (one,) = channels_in(both)
    ((_, lazy),) = frames(both, logs, STATION)
    assert_frame_equal(lazy.collect(), odd)
    assert_frame_equal(lazy.tail(3).collect(), odd.tail(3))
    columns = pl.read_parquet(logs.part(one.parts[0][1].name)).columns
    assert {"step", "v", "flag"} <= set(columns)


def test_what_a_killed_process_left_is_cleared_by_the_next_one(both, logs, tmp_path):
    before = lying(logs)
    with staged(both, logs) as one:
        files = one.take([given(tmp_path)])
        parts = one.write(STATION, [(channel(), samples([1.0]).lazy())])
        one.note(Manifest(one.token, STATION, "", files, parts))
        left = tmp_path / "left"
        shutil.copytree(one.place, left)
    for place, name in ((logs.staged, one.token), (logs.samples, "x"), (logs.imports, "x")):
        (place / name).parent.mkdir(parents=True, exist_ok=True)
    shutil.move(left, one.place)
    (part,) = (part for each in parts for part in each.parts)
    logs.part(part.name).parent.mkdir(parents=True)
    logs.part(part.name).write_bytes(b"moved already")
    logs.manifest(one.token).write_bytes(b"{}")
    logs.manifest(one.token).with_name(f".{one.token}.json.new").write_bytes(b"half")
    logs.raw_file(files[0].sha256).parent.mkdir(parents=True)
    logs.raw_file(files[0].sha256).write_bytes(b"t,v\n1,2\n")
    sweep(both, logs)
    assert lying(logs) == before

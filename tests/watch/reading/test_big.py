"""A long file is read by samples of it and then lazily, with the same result as the thorough way."""

from __future__ import annotations

import hashlib
from dataclasses import asdict, replace

import polars as pl
import pytest

from steadyhead.watch.reading import as_stated, proposing
from steadyhead.watch.reading.big import read_big
from steadyhead.watch.reading.sampling import HEAD, PIECE, PLACES, TAIL
from tests.watch.reading.test_shapes import MADE, compare
from tests.watch.reading.truth import berlin, channels, context, record

LAZILY = (
    "plain_commas", "german_with_junk_and_latin1", "american_half_days", "twenty_four_hundred",
    "pairs_with_own_lengths", "long_with_quality", "serial_days", "epoch_seconds", "hour_twice",
    "hour_missing", "offsets_in_the_stamps", "stamps_change_after_new_firmware", "event_rows_and_footer",
    "missing_marks_of_all_kinds", "flags_and_stars", "cut_in_the_last_row", "newest_first",
    "thousands_with_blanks", "switch_in_words", "second_header_after_a_restart",
)  # fmt: skip


@pytest.mark.parametrize("name", LAZILY)
def test_the_lazy_way_gives_what_the_thorough_one_gives(name, tmp_path):
    shape = MADE[name]()
    path = tmp_path / "a.txt"
    path.write_bytes(next(iter(shape.files.values())))
    found = read_big(path, shape.context, tmp_path)
    assert found is not None
    compare(found, shape.expected)
    assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())
    assert found.readings[0] is not None


def test_rows_the_samples_do_not_show_are_read_one_by_one_and_counted(tmp_path, monkeypatch):
    rows = record(26_000, 60)
    lines = ["Messstelle;Wehr", "", "Zeit;Vordruck [bar];Nachdruck [bar];Durchfluss [m³/h]"]
    for k, one in enumerate(rows):
        stamp = one.t.strftime("%d.%m.%Y %H:%M:%S")
        values = f"{one.inlet:.3f};{one.outlet:.3f};{one.flow:.2f}".replace(".", ",")
        lines.append(f"{stamp};{'Err;Err;Err' if k == 9000 else values}")
        if k in (8000, 18_500):
            lines.append(f"{stamp};Deckel offen;;")
    path = tmp_path / "a.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    assert path.stat().st_size > 2 * (HEAD + PLACES * PIECE + TAIL)
    monkeypatch.setattr(proposing, "LONG", 100_000)
    found = proposing.propose(
        [path], replace(berlin(rows, 60), zone="UTC", zone_note="stamps are UTC"), tmp_path
    )
    assert list(tmp_path.glob("*.parquet")), "read lazily"
    assert [one.quantity for one, _ in found.channels] == ["inlet pressure", "outlet pressure", "flow"]
    for (channel, frame), name in zip(found.channels, ("inlet", "outlet", "flow"), strict=True):
        samples = as_stated(channel, frame).collect()
        assert samples["t"].to_list() == [one.t for one in rows]
        expected = [None if k == 9000 else getattr(one, name) for k, one in enumerate(rows)]
        filled = [one for one in expected if one is not None]
        assert samples["v"].drop_nulls().to_list() == pytest.approx(filled)
        assert samples["v"].null_count() == 1
    assert found.rows_total == len(lines)
    assert found.rows_used == 26_000
    assert found.rows_left_out["event"] == 2
    assert "event rows" in {one.code for one in found.facts}


def test_long_files_that_overlap_are_one_record(tmp_path, monkeypatch):
    rows = record(400)
    head = "Time,P inlet [bar],P outlet [bar]\n"
    paths = []
    for name, some in (("b.csv", rows[180:]), ("a.csv", rows[:200])):
        lines = (f"{one.t:%Y-%m-%dT%H:%M:%SZ},{one.inlet:.3f},{one.outlet:.3f}\n" for one in some)
        (tmp_path / name).write_text(head + "".join(lines), "utf-8")
        paths.append(tmp_path / name)
    monkeypatch.setattr(proposing, "LONG", 1000)
    found = proposing.propose(paths, context(rows), tmp_path)
    compare(found, channels(rows, "in", "out"))
    assert (found.rows_total, found.rows_used, found.rows_left_out["duplicate"]) == (422, 400, 20)
    assert "overlap" in {one.code for one in found.facts}


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-be"])
def test_a_long_file_in_two_byte_letters_is_read_lazily_too(encoding, tmp_path, monkeypatch):
    rows = record(400)
    lines = "".join(f"{one.t:%Y-%m-%dT%H:%M:%SZ}\t{one.inlet:.3f}\t{one.outlet:.3f}\r\n" for one in rows)
    text = "Zeit\tVordruck [bar]\tNachdruck [bar]\r\n" + lines
    content = text.encode(encoding) if encoding == "utf-16" else b"\xfe\xff" + text.encode(encoding)
    path = tmp_path / "a.txt"
    path.write_bytes(content)
    monkeypatch.setattr(proposing, "LONG", 1000)
    found = proposing.propose([path], context(rows), tmp_path)
    assert list(tmp_path.glob("*.parquet")), "read lazily"
    compare(found, channels(rows, "in", "out"))
    assert found.readings[0] is not None
    assert found.readings[0].encoding == "utf-16"
    assert found.channels[0][0].source_sha256 == (hashlib.sha256(content).hexdigest(),)
    assert sorted(one.suffix for one in tmp_path.iterdir()) == [".parquet", ".txt"]


@pytest.mark.parametrize("zone", ["UTC", None])
def test_a_long_parquet_file_is_read_lazily_too(zone, tmp_path, monkeypatch):
    rows = record(4000)
    t = pl.Series([one.t for one in rows]).cast(pl.Datetime("us", "UTC")).dt.replace_time_zone(zone)
    columns = {"P inlet [bar]": [one.inlet for one in rows], "P outlet [bar]": [one.outlet for one in rows]}
    path = tmp_path / "a.parquet"
    pl.DataFrame({"time": t, **columns}).write_parquet(path)
    whole = proposing.propose([path], context(rows))
    monkeypatch.setattr(proposing, "LONG", 1000)
    found = proposing.propose([path], context(rows), tmp_path)
    assert len(list(tmp_path.glob("*.parquet"))) == 2, "read lazily"
    compare(found, channels(rows, "in", "out"))
    assert (found.rows_total, found.rows_used) == (whole.rows_total, whole.rows_used)
    for (_, a), (_, b) in zip(found.channels, whole.channels, strict=True):
        assert a.collect()["row"].to_list() == b.collect()["row"].to_list()
    (now,), (then,) = found.readings, whole.readings
    assert now is not None
    assert then is not None
    one, two = (asdict(replace(each, time=replace(each.time, forms=()))) for each in (now, then))
    assert {k: (one[k], two[k]) for k in one if one[k] != two[k]} == {}


def test_names_of_channels_that_the_lazy_way_cannot_match_are_left_to_the_thorough_one(tmp_path):
    rows = record(60)
    text = "Time;Channel;Value\n"
    for one in rows:
        text += f"{one.t:%Y-%m-%d %H:%M:%S};Débit m³/h;{one.flow}\n"
        text += f"{one.t:%Y-%m-%d %H:%M:%S};P amont bar;{one.inlet}\n"
    path = tmp_path / "a.csv"
    path.write_bytes(text.encode("cp1252"))
    assert read_big(path, context(rows), tmp_path) is None
    compare(proposing.propose([path], context(rows)), channels(rows, "flow", "in"))

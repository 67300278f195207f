"""Long files of odd shapes are read line by line with the same result, or refused where that cannot be."""

from __future__ import annotations

import json

import pytest

from steadyhead.errors import InputError
from steadyhead.records.logger import Context
from steadyhead.watch.reading import books, flat, proposing
from tests.watch.reading.truth import record

UTC = Context(zone="UTC")


def as_json(rows):
    for one in rows:
        yield json.dumps(
            {"time": f"{one.t:%Y-%m-%dT%H:%M:%SZ}", "p": {"inlet_bar": one.inlet}, "flow_m3h": one.flow}
        )


def as_columns(rows):
    yield f"{'Time (UTC)':<22}{'P inlet [bar]':>15}{'Flow [m3/h]':>14}"
    for one in rows:
        yield f"{one.t:%Y-%m-%d %H:%M:%S}   {one.inlet:15.3f}{one.flow:14.2f}"


def as_words(rows):
    yield "Date Time Pin_bar Flow_m3/h"
    for one in rows:
        yield f"{one.t:%Y-%m-%d %H:%M:%S} {one.inlet:.3f} {one.flow:.2f}"


@pytest.mark.parametrize("shape", [as_json, as_columns, as_words])
def test_an_odd_shape_reads_the_same_line_by_line(shape, tmp_path, monkeypatch):
    told = list(shape(record(400)))
    told.insert(200, "")
    path = tmp_path / "a.txt"
    path.write_text("\n".join(told) + "\n", "utf-8")
    whole = proposing.propose([path], UTC, tmp_path)
    monkeypatch.setattr(proposing, "LONG", 100)
    found = proposing.propose([path], UTC, tmp_path)
    assert list(tmp_path.glob("*.parquet")), "read lazily"
    assert (found.rows_total, found.rows_used) == (whole.rows_total, whole.rows_used)
    assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())
    assert found.rows_total == len(told), "as many rows as the file has lines"
    assert [channel for channel, _ in found.channels] == [channel for channel, _ in whole.channels]
    for (_, mine), (_, theirs) in zip(found.channels, whole.channels, strict=True):
        assert mine.collect().equals(theirs.collect())
    one, other = found.readings[0], whole.readings[0]
    assert one is not None
    assert other is not None
    assert (one.container, one.delimiter) == (other.container, other.delimiter)
    assert one.widths == other.widths
    assert not list(tmp_path.glob("narrowed"))


def test_what_must_be_read_as_a_whole_and_is_too_long_is_refused_with_its_limit(tmp_path, monkeypatch):
    monkeypatch.setattr(flat, "MOST_LINES", 300)
    path = tmp_path / "a.csv"
    lines = ["Elapsed (s),P inlet [bar]", *(f"{at * 10},{9 + at % 7 / 10}" for at in range(400))]
    path.write_text("\n".join(lines) + "\n", "utf-8")
    with pytest.raises(InputError, match="401 lines, of a shape that is read as a whole"):
        proposing.propose([path], UTC, tmp_path)


def test_many_small_files_that_are_long_together_are_read_line_by_line(tmp_path, monkeypatch):
    monkeypatch.setattr(flat, "MOST_LINES", 300)
    rows, paths = record(400), []
    for at in (0, 200):
        paths.append(tmp_path / f"{at}.txt")
        paths[-1].write_text("\n".join(as_columns(rows[at : at + 200])) + "\n", "utf-8")
    found = proposing.propose(paths, UTC, tmp_path)
    assert list(tmp_path.glob("*.parquet")), "read lazily"
    assert found.channels[0][1].collect()["t"].dt.replace_time_zone(None).to_list() == [
        one.t.replace(tzinfo=None) for one in rows
    ]


def test_a_spreadsheet_of_too_many_cells_is_refused_with_its_limit(tmp_path, monkeypatch):
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    for at in range(30):
        book.active.append([at, at])
    book.save(tmp_path / "a.xlsx")
    monkeypatch.setattr(books, "MOST_CELLS", 50)
    with pytest.raises(InputError, match="more than 50 cells"):
        proposing.propose([tmp_path / "a.xlsx"], UTC, tmp_path)
    monkeypatch.setattr(books, "MOST_UNPACKED", 50)
    with pytest.raises(InputError, match="unpacks to more than"):
        proposing.propose([tmp_path / "a.xlsx"], UTC, tmp_path)

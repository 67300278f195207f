"""A long file changes where its samples do not show it: it is read as by the thorough way, or by that."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import polars as pl
import pytest

from steadyhead.records.logger import Context
from steadyhead.register.logs.parts import AsTheyCome
from steadyhead.watch.reading import proposing, sampling
from steadyhead.watch.reading.big import read_long

ROWS, CHANGED = 6000, range(3200, 3260)
HEADS = ["Time", "P inlet [bar]", "P outlet [bar]", "Flow [L/h]"]
KPA = ["Time", "P inlet [kPa]", "P outlet [kPa]", "Flow [L/h]"]


def _cells(at, digits):
    time = datetime(2027, 3, 1) + timedelta(minutes=at)
    inlet, outlet = 8.0 + at % 37 / 100, 4.0 + at % 23 / 100
    return [str(time), f"{inlet:.{digits}f}", f"{outlet:.{digits}f}", str(900 + at % 90)]


def _file(folder, change, *, separator=",", decimal=".", digits=2, until=None):
    lines = [separator.join(HEADS)]
    within = CHANGED if until is None else range(CHANGED[0], until)
    for at in range(ROWS):
        cells = [one.replace(".", decimal) for one in _cells(at, digits)]
        lines.append(change(at, cells) if at in within else separator.join(cells))
    path = folder / "a.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


def _channels(found):
    return {
        one.id: frame.select("t", pl.col("v").fill_nan(None), "row").collect()
        for one, frame in found.channels
    }


def _joined(separator, *turned):
    """Return a change of some columns: number of the column, and what its cell becomes."""

    def change(_, cells):
        now = dict(turned)
        return separator.join(now[at](one) if at in now else one for at, one in enumerate(cells))

    return change


def _pointed(cell):
    return cell.replace(",", ".")


def _commaed(cell):
    return cell.replace(".", ",")


THOUSANDS = (3, lambda cell: f"1.{int(cell) - 900:03d}")
SHAPES: dict[str, tuple[Any, dict[str, Any]]] = {
    "thousands beside a decimal comma": (_joined(";", THOUSANDS), {"separator": ";", "decimal": ","}),
    "decimal commas of three digits": (
        _joined(";", (1, _commaed), (2, _commaed)),
        {"separator": ";", "digits": 3},
    ),
    "decimal points of three digits": (
        _joined(";", (1, _pointed), (2, _pointed)),
        {"separator": ";", "decimal": ",", "digits": 3},
    ),
    "no number": (_joined(",", (1, lambda _: "NaN")), {}),
    "infinite": (_joined(",", (1, lambda _: "inf")), {}),
    "a run of nines below zero": (_joined(",", (1, lambda _: "-9"), (3, lambda _: "-9.99")), {}),
    "a year of two digits": (_joined(",", (0, lambda cell: cell[2:])), {}),
    "quotes": (lambda _, cells: ",".join(f'"{one}"' for one in cells), {}),
    "another separator": (lambda _, cells: ";".join(cells), {}),
    "blanks of a lost connection ahead": (lambda _, cells: "\0\0" + ",".join(cells), {}),
    "columns in another order": (
        lambda at, cells: (
            ",".join([cells[0], cells[2], cells[1], cells[3]])
            if at > CHANGED[0]
            else ",".join([HEADS[0], HEADS[2], HEADS[1], HEADS[3]])
        ),
        {"until": ROWS},
    ),
    "another unit": (
        lambda at, cells: (
            ",".join([cells[0], *(one.replace(".", "") for one in cells[1:])])
            if at > CHANGED[0]
            else ",".join(KPA)
        ),
        {"until": ROWS},
    ),
}


@pytest.fixture(autouse=True)
def _few_places(monkeypatch):
    for name, size in (("HEAD", 6000), ("PIECE", 500), ("TAIL", 2000)):
        monkeypatch.setattr(sampling, name, size)


@pytest.mark.parametrize("is_kept", [False, True])
@pytest.mark.parametrize("name", SHAPES)
def test_what_the_samples_do_not_show_is_read_right(name, is_kept, tmp_path):
    change, form = SHAPES[name]
    path = _file(tmp_path, change, **form)
    keeper = AsTheyCome(tmp_path / "parts", "a", lambda _: None) if is_kept else None
    lazily = read_long([path], Context(zone="UTC"), tmp_path, keeper)
    thorough = proposing.propose([path], Context(zone="UTC"))
    if lazily is None:
        return  # it is read by the thorough way, or refused where it is too long for that
    expected, found = _channels(thorough), _channels(lazily)
    assert found.keys() == expected.keys()
    for one in expected:
        assert found[one]["t"].to_list() == expected[one]["t"].to_list()
        assert found[one]["v"].to_list() == pytest.approx(expected[one]["v"].to_list(), nan_ok=True)
    assert lazily.rows_total == lazily.rows_used + sum(lazily.rows_left_out.values())


def test_a_number_that_parts_thousands_by_a_point_is_a_thousand(tmp_path):
    change, form = SHAPES["thousands beside a decimal comma"]
    found = read_long([_file(tmp_path, change, **form)], Context(zone="UTC"), tmp_path)
    flow = _channels(found)["flow, mean"]["v"]
    assert max(flow) * 3.6e6 == pytest.approx(1089)


def test_rows_of_a_time_that_is_there_already_are_counted(tmp_path):
    """Stamps of an offset amid others without: read one by one, they meet samples that fit."""
    path = _file(tmp_path, lambda _, cells: ",".join([cells[0] + "+02:00", *cells[1:]]))
    found = read_long([path], Context(zone="UTC"), tmp_path)
    assert [frame.height for frame in _channels(found).values()] == [ROWS - 60] * 3
    assert found is not None
    assert found.rows_used == ROWS - 60
    assert found.rows_left_out["same stamp, other value"] == 60
    assert {"overlap", "same stamp, other value"} <= {one.code for one in found.facts}


@pytest.mark.parametrize("files", [1, 2])
def test_another_value_at_a_time_that_has_one_is_told_as_in_a_short_file(files, tmp_path):
    def twice(at, cells):
        outlet = float(cells[2]) + (0.5 if at % 2 else 0.0)
        return ",".join(cells) + "\n" + ",".join([*cells[:2], f"{outlet:.2f}", cells[3]])

    paths = [_file(tmp_path, twice)]
    if files == 2:
        other = tmp_path / "b"
        other.mkdir()
        paths.append(_file(other, lambda _, cells: ",".join([*cells[:3], "1"])))
    lazily = read_long(paths, Context(zone="UTC"), tmp_path)
    thorough = proposing.propose(paths, Context(zone="UTC"))
    assert lazily is not None
    assert lazily.rows_left_out == thorough.rows_left_out
    told = {one.words for one in lazily.facts if one.code == "same stamp, other value"}
    assert "30 rows with another value for a time that has one; the first is kept." in told
    assert _channels(lazily).keys() == _channels(thorough).keys()
    for one, expected in _channels(thorough).items():
        assert _channels(lazily)[one]["v"].to_list() == pytest.approx(expected["v"].to_list())


def test_a_second_header_in_other_units_is_told_with_both(tmp_path):
    heads = [["Time", "P inlet [bar]", "P outlet [bar]"], ["Time", "P inlet [bar]", "P outlet [kPa]"]]
    lines = []
    for at in range(60):
        if at in (0, 30):
            lines.append(";".join(heads[at // 30]))
        outlet = 4.0 + at % 7 / 10
        lines.append(f"2026-03-01 {at // 6:02d}:{at % 6}0;8.1;{outlet if at < 30 else 100.0 * outlet:.2f}")
    path = tmp_path / "two.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    told = proposing.propose([path], Context(zone="UTC")).words
    assert any("from 'P outlet [bar]' in bar and 'P outlet [kPa]' in kPa: 60 samples" in one for one in told)
    assert any("from 'P inlet [bar]' in bar: 60 samples" in one for one in told)

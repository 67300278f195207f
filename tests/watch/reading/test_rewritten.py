"""Times written anew: spans, counts finer than a millisecond, bare digits; and long files of such shapes."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from itertools import count

import pytest

from steadyhead.records.logger import Context, Known
from steadyhead.watch.reading import propose, proposing
from steadyhead.watch.reading.plainer import plainer
from steadyhead.watch.reading.sampling import HEAD, PIECE, PLACES, TAIL, plan, samples_of
from steadyhead.watch.reading.sources import text_grid

CONTEXT = Context(zone="UTC", known=Known(lockup=4.2e5, inlet=8e5, flow=0.01))
START, STEP, SECOND = datetime(2027, 3, 4), timedelta(minutes=15), timedelta(seconds=1)
ROWS = 300


def _cells(k):
    return f"{8 + k % 7 / 100:.2f};{4 + k % 5 / 100:.2f};{10 + 3 * math.sin(k / 40):.2f}"


def _file(head, form, rows=ROWS, step=STEP):
    """Return a file with two pressures and a flow behind what `form` gives for each row and time."""
    lines = (f"{form(k, START + step * k)};{_cells(k)}" for k in range(rows))
    return "\n".join([f"{head};P inlet [bar];P outlet [bar];Flow [l/s]", *lines]) + "\n"


def _read(folder, text, into=None):
    path = folder / "a.csv"
    path.write_text(text, "utf-8")
    return propose([path], CONTEXT, into)


def _is_right(found, rows=ROWS, step=STEP):
    for quantity, low, size in (("inlet pressure", 8e5, 7), ("outlet pressure", 4e5, 5)):
        frame = next(lazy.collect() for one, lazy in found.channels if one.quantity == quantity)
        assert frame["t"].to_list() == [START.replace(tzinfo=UTC) + step * k for k in range(rows)]
        assert frame["v"].to_list() == pytest.approx([low + k % size * 1e3 for k in range(rows)])
    return True


def _micros(when):
    return round((when - datetime(1970, 1, 1)) / timedelta(microseconds=1))


EIGHT = timedelta(hours=8)
SPANS = {
    "days apart": (STEP, lambda k, w: f"{w:%d.%m.%Y %H:%M} - {w + STEP:%d.%m.%Y %H:%M}"),
    "with a T": (STEP, lambda k, w: f"{w:%Y-%m-%dT%H:%M:%S}/{w + STEP:%Y-%m-%dT%H:%M:%S}"),
    "in UTC": (STEP, lambda k, w: f"{w:%Y-%m-%dT%H:%MZ}/{w + STEP:%Y-%m-%dT%H:%MZ}"),
    "half days": (STEP, lambda k, w: f"{w:%m/%d/%Y %I:%M %p} - {w + STEP:%I:%M %p}"),
    "to the o'clock": (STEP, lambda k, w: f"{w:%d.%m.%Y %H:%M} bis {w + STEP:%H:%M} Uhr"),
    "three a day": (EIGHT, lambda k, w: f"{w:%Y-%m-%d %H:%M}-{w + EIGHT:%H:%M}"),
    "of two lengths": (
        EIGHT,
        lambda k, w: f"{w:%Y-%m-%d %H:%M}-{w + EIGHT - timedelta(minutes=k % 2):%H:%M}",
    ),
}


@pytest.mark.parametrize("shape", SPANS)
def test_spans_are_read_by_their_start(tmp_path, shape):
    step, form = SPANS[shape]
    assert _is_right(_read(tmp_path, _file("Interval", form, step=step)), step=step)


@pytest.mark.parametrize("offset", ["-05:00", "+01:00", "-04:00"])
def test_offsets_are_no_ends(offset):
    grid = text_grid(_file("Time", lambda k, w: f"{w:%Y-%m-%dT%H:%M}{offset}").encode())
    assert plainer(grid) is grid


def test_offsets_of_summer_and_winter_are_no_ends():
    text = _file("Time", lambda k, w: f"{w:%Y-%m-%d %H:%M}{'-05:00' if k < 90 else '-04:00'}")
    grid = text_grid(text.encode())
    assert plainer(grid) is grid


COUNTS = {
    "first": ("Time", lambda k, w: f"{_micros(w)}"),
    "second, without a word": ("Name;", lambda k, w: f"A{k % 3};{_micros(w)}"),
    "fifth, by its heading": ("a;b;c;d;Time", lambda k, w: f"x;y;z;{k % 2};{_micros(w)}000"),
    "in quotes": ("ts", lambda k, w: f"'{_micros(w)}'"),
}


@pytest.mark.parametrize("shape", COUNTS)
def test_counts_finer_than_a_millisecond(tmp_path, shape):
    assert _is_right(_read(tmp_path, _file(*COUNTS[shape])))


def test_a_part_of_a_millisecond_is_kept():
    text = _file("Time", lambda k, w: f"{_micros(w) + 7}", rows=20)
    assert plainer(text_grid(text.encode())).rows[1][1][0] == "2027-03-04T00:00:00.000007Z"


def test_a_count_of_a_clock_that_began_anew_is_read_as_such(tmp_path):
    """Before: an unread number among times, so that the row had none."""

    def form(k, when):
        return f"{_micros(datetime(2000, 1, 1) + STEP * k) if 100 <= k < 103 else _micros(when)}"

    found = _read(tmp_path, _file("Time", form))
    assert found.rows_left_out["clock began anew"] == 3
    assert found.rows_used == ROWS - 3


def test_numbers_of_devices_are_no_times():
    """Fifteen digits, as numbers of devices have."""
    devices = ("867459041234567", "867459041234999")
    text = _file("Device;Time", lambda k, w: f"{devices[k // 150]};{w:%Y-%m-%d %H:%M}")
    grid = text_grid(text.encode())
    assert plainer(grid) is grid


DIGITS = {
    "beside a date": ("Date;Time", lambda k, w: f"{w:%d.%m.%Y};{int(f'{w:%H%M}')}"),
    "ahead of a date": ("HHMM;Date", lambda k, w: f"{int(f'{w:%H%M}')};{w:%d.%m.%Y}"),
    "beside digits": ("Date;Time", lambda k, w: f"{int(f'{w:%d%m%Y}')};{int(f'{w:%H%M}')}"),
    "with seconds": ("d;t", lambda k, w: f"{w:%Y%m%d};{int(f'{w:%H%M%S}')}"),
}


@pytest.mark.parametrize("shape", DIGITS)
def test_times_of_day_that_lost_their_noughts(tmp_path, shape):
    assert _is_right(_read(tmp_path, _file(*DIGITS[shape])))


PARTS = {
    "headed": ("Year;Month;Day;Hour;Minute", lambda k, w: f"{w.year};{w.month};{w.day};{w.hour};{w.minute}"),
    "of other words": ("Rok;Mies;Dz;Godz;Min", lambda k, w: f"{w:%Y;%m;%d;%H;%M}"),
    "with seconds": ("Rok;Mies;Dz;Godz;Min;Sek", lambda k, w: f"{w:%Y;%m;%d;%H;%M;%S}"),
    "beside a number of the site": ("a;b;c;d;e;Site", lambda k, w: f"{w:%Y;%m;%d;%H;%M};17"),
}


@pytest.mark.parametrize("shape", PARTS)
def test_parts_of_a_time_by_their_headings_or_their_order(tmp_path, shape):
    assert _is_right(_read(tmp_path, _file(*PARTS[shape])))


LONG = {
    **{f"span, {name}": ("Interval", form) for name, (step, form) in SPANS.items() if step == STEP},
    **{f"count, {name}": each for name, each in COUNTS.items()},
    **{f"digits, {name}": each for name, each in DIGITS.items()},
    "ten digits": ("Time", lambda k, w: f"{w:%y%m%d%H%M}"),
    "year and day": ("Year;Day;HHMM", lambda k, w: f"{w.year};{w:%j};{int(f'{w:%H%M}')}"),
    **{f"parts, {name}": each for name, each in PARTS.items()},
    "hour and minute": ("Date;Hour;Minute", lambda k, w: f"{w:%d.%m.%Y};{w.hour};{w.minute}"),
    "points": ("Datum;Zeit", lambda k, w: f"{w:%d.%m.%Y};{w:%H.%M.%S}"),
    "since 2000": ("Seconds since 2000-01-01", lambda k, w: f"{(w - datetime(2000, 1, 1)) // SECOND}"),
}  # fmt: skip


@pytest.mark.parametrize("shape", LONG)
def test_what_samples_show_rewritten_is_no_plan_for_the_file(shape):
    """What is found on rewritten samples does not hold for the bytes of a long file."""
    text = _file(*LONG[shape]).encode()
    assert plainer(text_grid(text)).rewritten
    assert plan(text, CONTEXT) is None


@pytest.mark.parametrize("shape", ["span, in UTC", "count, first", "digits, beside digits", "parts, headed"])
def test_long_files_of_such_shapes_are_read_as_short_ones(tmp_path, monkeypatch, shape):
    monkeypatch.setattr(proposing, "LONG", 100_000)
    rows = 4000
    assert _is_right(_read(tmp_path, _file(*LONG[shape], rows=rows), tmp_path), rows)
    assert not list(tmp_path.glob("*.parquet"))


def test_a_long_table_with_a_column_for_each_time_is_laid_out(tmp_path, monkeypatch):
    """Its samples look like a table with a row for each day; and so does one that is refused."""
    times = ";".join(f"{m // 60:02d}:{m % 60:02d}" for m in range(0, 1440, 15))
    values = count()
    days = [
        ";".join([f"{START + 96 * STEP * d:%Y-%m-%d}", *(f"{4 + next(values) % 5 / 100}" for _ in range(96))])
        for d in range(300)
    ]
    text = "\n".join(["Outlet pressure [bar]", f"Date;{times}", *days]) + "\n"
    monkeypatch.setattr(proposing, "LONG", 100_000)
    assert plan(text.encode(), CONTEXT) is None
    found = _read(tmp_path, text, tmp_path)
    (_, lazy) = found.channels[0]
    frame = lazy.collect()
    assert frame["t"].to_list() == [START.replace(tzinfo=UTC) + STEP * k for k in range(300 * 96)]
    assert frame["v"].to_list() == pytest.approx([4e5 + k % 5 * 1e3 for k in range(300 * 96)])


@pytest.mark.parametrize("mark", ["{", "[", "<html><body><table>", "<?xml version='1.0'?><html>"])
def test_objects_and_pages_are_no_rows_of_text(mark):
    text = mark + _file("Time", lambda k, w: f"{w:%Y-%m-%d %H:%M}")
    assert plan(text.encode(), CONTEXT) is None


PLACE = {
    "amid": (17_000, 40),
    "at the head": (0, 7),
    "longer than the head": (0, 4500),
    "at the end": (29_990, 5),
}


@pytest.mark.parametrize("place", PLACE)
def test_a_clock_that_began_anew_amid_a_long_file(tmp_path, monkeypatch, place):
    """Before: its rows were samples of the year 2000 where nobody looked ahead."""
    first, many = PLACE[place]
    gone = range(first, first + many)

    def form(k, when):
        return f"{datetime(2000, 1, 1) + STEP * (k - first) if k in gone else when:%Y-%m-%d %H:%M}"

    text = _file("Time", form, rows=30_000)
    monkeypatch.setattr(proposing, "LONG", 100_000)
    found = _read(tmp_path, text, tmp_path)
    assert len(text) > 2 * (HEAD + PLACES * PIECE + TAIL)
    assert list(tmp_path.glob("*.parquet")), "read lazily"
    if place == "amid":
        assert b"2000-01-01" not in samples_of(tmp_path / "a.csv")
    for _, lazy in found.channels:
        times = lazy.collect()["t"].to_list()
        assert times == [START.replace(tzinfo=UTC) + STEP * k for k in range(30_000) if k not in gone]
    assert found.rows_left_out["clock began anew"] == many
    assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())
    (fact,) = [one for one in found.facts if one.code == "clock set"]
    assert fact.rows == tuple(k + 2 for k in gone)[:5]
    assert "began anew" in fact.words


def test_a_long_record_with_a_gap_of_years_is_kept_whole(tmp_path, monkeypatch):
    def form(k, when):
        return f"{datetime(2022, 6, 1) + STEP * k if k < 50 else when:%Y-%m-%d %H:%M}"

    monkeypatch.setattr(proposing, "LONG", 100_000)
    found = _read(tmp_path, _file("Time", form, rows=30_000), tmp_path)
    assert found.rows_used == 30_000
    assert not any(one.code == "clock set" for one in found.facts)


@pytest.mark.parametrize("rows", [3, ROWS])
def test_a_list_of_objects_keeps_its_first_and_last_line(tmp_path, rows):
    """A list whose brackets stand beside its first and last object, one object on a line."""
    lines = ",\n".join(
        f'{{"time": "{START + STEP * k:%Y-%m-%dT%H:%M:%SZ}", "inlet_bar": {8 + k % 7 / 100:.2f}, '
        f'"outlet_bar": {4 + k % 5 / 100:.2f}}}'
        for k in range(rows)
    )
    found = _read(tmp_path, f"[{lines}]\n")
    assert _is_right(found, rows)
    assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())

"""What lines ahead of the samples say, and habits of loggers, portals and office programs."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import openpyxl
import pytest

from steadyhead.errors import InputError
from steadyhead.records.logger import Context, Known
from steadyhead.services.logs.answering import profile_of, questions_of, told_after, told_before
from steadyhead.watch.reading import propose
from steadyhead.watch.reading.headings import said
from steadyhead.watch.reading.stamps import stamp
from steadyhead.watch.reading.symbols import symbol

START = datetime(2026, 6, 18)
ROWS = 60
KNOWN = Known(lockup=4.2e5, inlet=8e5, flow=0.010)


def _when(k, minutes=15):
    return START + timedelta(minutes=minutes * k)


def _value(k):
    return 8 + k % 7 / 100, 4 + k % 5 / 100


def _propose(folder, text, *, name="a.csv", zone="UTC", **told):
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return propose([path], Context(zone=zone, known=KNOWN, **told))


def _pressures(found):
    """Return the samples of inlet and outlet, mean or spot. [bar]"""
    out = {
        channel.quantity: (frame.collect()["v"] * 1e-5).round(6).to_list()
        for channel, frame in found.channels
        if channel.statistic in ("spot", "mean") and channel.quantity in ("inlet pressure", "outlet pressure")
    }
    return out.get("inlet pressure"), out.get("outlet pressure")


def _times(found):
    return found.channels[0][1].collect()["t"].to_list()


BOTH = [_value(k)[0] for k in range(ROWS)], [_value(k)[1] for k in range(ROWS)]


def _lines(ahead, heading, row):
    return "\n".join([*ahead, heading, *(row(k) for k in range(ROWS))]) + "\n"


def _row(k):
    return f"{_when(k):%Y-%m-%d %H:%M},{_value(k)[0]:.2f},{_value(k)[1]:.2f}"


def _is_both(found):
    return _pressures(found) == tuple(pytest.approx(one, abs=1e-5) for one in BOTH)


@pytest.mark.parametrize(
    ("ahead", "heading"),
    [
        (["Channel 1: Upstream pressure", "Channel 2: Downstream pressure"], "Time,Ch1 (bar),Ch2 (bar)"),
        (["Channel 1,Upstream pressure,bar", "Channel 2,Downstream pressure,bar"], "Time,Ch 1,Ch 2"),
        (["Kanal 1 = Vordruck", "Kanal 2 = Hinterdruck"], "Zeit,Kanal 1 [bar],Kanal 2 [bar]"),
        (["# PE = Eingangsdruck [bar]", "# PA = Ausgangsdruck [bar]"], "Zeit,PE,PA"),
    ],
)
def test_lines_ahead_spell_out_numbered_and_short_headings(ahead, heading, tmp_path):
    found = _propose(tmp_path, _lines(ahead, heading, _row))
    assert _is_both(found)
    assert not found.doubts


def test_pa_over_numbers_of_bar_is_no_pascal(tmp_path):
    found = _propose(tmp_path, _lines([], "Zeit,PE,PA", _row))
    assert _is_both(found)


def test_currents_with_their_range_stated_are_reckoned(tmp_path):
    ahead = ["Kanal 1: Vordruck, 4-20 mA = 0-16 bar", "Kanal 2: Hinterdruck, 4-20 mA = 0-10 bar"]

    def row(k):
        inlet, outlet = _value(k)
        return f"{_when(k):%Y-%m-%d %H:%M};{4 + inlet:.4f};{4 + 1.6 * outlet:.4f}"

    found = _propose(tmp_path, _lines(ahead, "Zeit;Kanal 1 [mA];Kanal 2 [mA]", row))
    assert _is_both(found)
    again = propose([tmp_path / "a.csv"], Context(zone="UTC", known=KNOWN, profile=profile_of(found)))
    assert _is_both(again)


def test_a_strange_unit_can_be_left_unused(tmp_path):
    found = _propose(tmp_path, _lines([], "Time,Inlet mA,Outlet bar", _row))
    (asked,) = questions_of(found)
    assert asked.doubt.taken == "other, "
    answers = {"unit": "other, "}
    told = told_after(told_before(Context(zone="UTC", known=KNOWN), answers), answers, found, [asked])
    assert _pressures(propose([tmp_path / "a.csv"], told))[0] is None


def test_a_short_name_of_a_zone_at_the_times_is_taken_and_told(tmp_path):
    found = _propose(tmp_path, _lines([], "Date/Time (EST),Inlet bar,Outlet bar", _row), zone="")
    assert [one.taken for one in found.doubts] == ["UTC-5"]
    assert _times(found)[0] == START.replace(tzinfo=UTC) + timedelta(hours=5)


def test_a_zone_by_its_place_ahead_is_taken_and_told(tmp_path):
    found = _propose(tmp_path, _lines(["Timezone,Europe/London"], "Time,Inlet bar,Outlet bar", _row), zone="")
    assert [one.taken for one in found.doubts] == ["Europe/London"]
    assert _times(found)[0] == START.replace(tzinfo=UTC) - timedelta(hours=1)


def test_a_zone_stated_that_gives_the_same_times_is_not_asked_about(tmp_path):
    text = _lines(["Time zone: UTC+2"], "Time,Inlet bar,Outlet bar", _row)
    assert not _propose(tmp_path, text, zone="Europe/Berlin").doubts
    asked = _propose(tmp_path, text.replace("2026-06", "2026-01"), zone="Europe/Berlin").doubts
    assert [one.field for one in asked] == ["zone stated"]


def test_the_passes_of_an_hour_as_letters_behind_the_hour(tmp_path):
    first = datetime(2026, 10, 24, 23, tzinfo=UTC)
    stamps = ["01:00", "01:30", "2A:00", "2A:30", "2B:00", "2B:30", "03:00", "03:30"]
    rows = [f"25.10.2026 {one};8,0{k};4,0{k}" for k, one in enumerate(stamps)]
    text = "\n".join(["Zeit;Vordruck (bar);Hinterdruck (bar)", *rows]) + "\n"
    found = _propose(tmp_path, text, zone="Europe/Berlin")
    assert _times(found) == [first + timedelta(minutes=30 * k) for k in range(8)]


def test_a_rate_in_hertz_is_the_interval(tmp_path):
    values = [f"{400 + k % 9}.{k % 10}" for k in range(ROWS)]
    ahead = ["Start: 2026-06-18 08:30:00", "Sample rate: 20 Hz", "Channel: Downstream pressure", "Units: kPa"]
    found = _propose(tmp_path, "\n".join([*ahead, *values]) + "\n")
    assert _times(found)[-1] - _times(found)[0] == timedelta(seconds=(ROWS - 1) / 20)


def test_rows_of_a_clock_that_began_anew_are_left_out_and_told(tmp_path):
    def row(k):
        when = datetime(2000, 1, 1) + timedelta(minutes=15 * (k - 30)) if 30 <= k < 33 else _when(k)
        return f"{when:%d/%m/%Y %H:%M:%S},{_value(k)[0]:.2f},{_value(k)[1]:.2f}"

    found = _propose(tmp_path, _lines([], "Date,Inlet bar,Outlet bar", row))
    assert _times(found)[0] == START.replace(tzinfo=UTC)
    assert found.rows_left_out["clock began anew"] == 3
    assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())
    assert any("began anew" in one.words for one in found.facts)


def test_a_record_of_years_with_a_gap_is_kept_whole(tmp_path):
    def row(k):
        when = datetime(2022, 6, 1) + timedelta(minutes=15 * k) if k < 6 else _when(k)
        return f"{when:%Y-%m-%d %H:%M},{_value(k)[0]:.2f},{_value(k)[1]:.2f}"

    assert _is_both(_propose(tmp_path, _lines([], "Date,Inlet bar,Outlet bar", row)))


def test_numbers_that_a_spreadsheet_took_for_dates_are_refused(tmp_path):
    def row(k):
        outlet = f"04. {('Jan', 'Mrz', 'Okt')[k % 3]}" if k % 5 == 0 else f"{_value(k)[1]:.2f}"
        return f"{_when(k):%d.%m.%Y %H:%M};{_value(k)[0]:.2f};{outlet}"

    with pytest.raises(InputError, match="took numbers for dates"):
        _propose(tmp_path, _lines([], "Zeit;Vordruck bar;Hinterdruck bar", row))


def test_a_pressure_over_its_minimum_mean_and_maximum(tmp_path):
    def row(k):
        low, high = ([f"{one + d:.2f}" for one in _value(k)] for d in (-0.2, 0.2))
        mean = [f"{one:.2f}" for one in _value(k)]
        return f"{_when(k):%d.%m.%Y %H:%M};{low[0]};{mean[0]};{high[0]};{low[1]};{mean[1]};{high[1]}"

    ahead = [";Innløpstrykk [bar];;;Utløpstrykk [bar];;"]
    found = _propose(tmp_path, _lines(ahead, "Tid;Min;Middel;Maks;Min;Middel;Maks", row))
    assert _is_both(found)
    assert not found.doubts
    assert sorted(channel.statistic for channel, _ in found.channels) == 2 * ["maximum"] + 2 * ["mean"] + [
        "minimum", "minimum",
    ]  # fmt: skip


@pytest.mark.parametrize("stamp", ["{h:02d}:{m:02d}:00", "{h}:{m:02d}:00"])
def test_hours_since_the_start_are_no_time_of_day(stamp, tmp_path):
    def row(k):
        return f"{stamp.format(h=k // 2, m=k % 2 * 30)},{_value(k)[0]:.2f},{_value(k)[1]:.2f}"

    text = _lines(["Start: 2026-06-18 09:15:00"], "Elapsed,Inlet bar,Outlet bar", row)
    found = _propose(tmp_path, text)
    assert _is_both(found)
    begin = datetime(2026, 6, 18, 9, 15, tzinfo=UTC)
    assert _times(found) == [begin + timedelta(minutes=30 * k) for k in range(ROWS)]


def test_a_book_states_its_start_as_a_date_and_counts_on(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Start of logging", datetime(2026, 6, 18, 9, 15)])
    sheet.append([])
    sheet.append(["Elapsed", "Inlet (bar)", "Outlet (bar)"])
    for k in range(ROWS):
        sheet.append([timedelta(minutes=30 * k), *_value(k)])
    book.save(tmp_path / "a.xlsx")
    found = propose([tmp_path / "a.xlsx"], Context(zone="UTC", known=KNOWN))
    assert _times(found)[-1] == datetime(2026, 6, 18, 9, 15, tzinfo=UTC) + timedelta(minutes=30 * (ROWS - 1))


def test_sheets_named_by_their_day(tmp_path):
    book = openpyxl.Workbook()
    book.remove(book.active)
    for day in (18, 19):
        sheet = book.create_sheet(f"2026-06-{day}")
        sheet.append(["Time", "Inlet (bar)", "Outlet (bar)"])
        for k in range(ROWS):
            sheet.append([(START + timedelta(minutes=15 * k)).time(), *_value(k)])
    book.save(tmp_path / "a.xlsx")
    found = propose([tmp_path / "a.xlsx"], Context(zone="UTC", known=KNOWN))
    first = START.replace(tzinfo=UTC)
    assert _times(found) == [first + timedelta(days=d, minutes=15 * k) for d in (0, 1) for k in range(ROWS)]
    assert not found.doubts


def test_a_table_of_a_web_page_and_of_a_book_in_xml_is_read(tmp_path):
    heads = ["Date/Time", "Inlet&nbsp;(bar)", "Outlet (bar)"]
    rows = [[f"{_when(k):%Y-%m-%d %H:%M}", *(f"{one:.2f}" for one in _value(k))] for k in range(ROWS)]
    page = "<html><body><table><tr>" + "".join(f"<th>{one}</th>" for one in heads) + "</tr>"
    page += "".join("<tr>" + "".join(f"<td>{one}</td>" for one in row) + "</tr>" for row in rows)
    assert _is_both(_propose(tmp_path, page + "</table></body></html>", name="a.xls"))
    heads[1] = "Inlet (bar)"
    cells = [["".join(f"<Cell><Data>{one}</Data></Cell>" for one in row)] for row in (heads, *rows)]
    book = '<?xml version="1.0"?><ss:Workbook xmlns:ss="urn:a"><Worksheet><Table>'
    book += "".join(f"<Row>{one[0]}</Row>" for one in cells) + "</Table></Worksheet></ss:Workbook>"
    assert _is_both(_propose(tmp_path, book, name="b.xls"))


def test_the_marks_of_a_quoted_mail_are_taken_away(tmp_path):
    text = _lines(["Hello, here they are."], "Time,Inlet bar,Outlet bar", _row)
    quoted = "\n".join(f"> {one}" for one in text.splitlines())
    assert _is_both(_propose(tmp_path, f"Hello,\n{quoted}\nRegards\n"))


def test_year_day_of_the_year_and_time(tmp_path):
    def row(k):
        when = _when(k, 60)
        inlet, outlet = _value(k)
        return f"{when:%Y},{int(f'{when:%j}')},{when:%H:%M},{inlet:.2f},{outlet:.2f}"

    found = _propose(tmp_path, _lines([], "Year,Day,Time,Inlet bar,Outlet bar", row))
    assert _is_both(found)
    assert _times(found)[-1] == _when(ROWS - 1, 60).replace(tzinfo=UTC)


def test_hours_and_minutes_without_their_zeros(tmp_path):
    def row(k):
        when = _when(k)
        inlet, outlet = _value(k)
        return f"{when:%m/%d/%Y},{when.hour * 100 + when.minute},{inlet:.2f},{outlet:.2f}"

    found = _propose(tmp_path, _lines([], "Date,Time (HHMM),Inlet bar,Outlet bar", row))
    assert _is_both(found)
    assert _times(found) == [_when(k).replace(tzinfo=UTC) for k in range(ROWS)]


def _counted(text, ahead, folder):
    rows = [f"{text(k)},{_value(k)[0]:.2f},{_value(k)[1]:.2f}" for k in range(ROWS)]
    return _propose(folder, "\n".join([*ahead, *rows]) + "\n")


@pytest.mark.parametrize(
    ("ahead", "text", "step"),
    [
        (["Elapsed (mm:ss),Inlet bar,Outlet bar"], lambda k: f"{k // 6:02d}:{k % 6 * 10:02d}", 10),
        (["Elapsed (hh:mm),Inlet bar,Outlet bar"], lambda k: f"{k // 6:02d}:{k % 6 * 10:02d}", 600),
        (["Elapsed,Inlet bar,Outlet bar"], lambda k: f"{k // 6:02d}:{k % 6 * 10:02d}.0", 10),
        (
            ["Interval: 10 min", "Elapsed,Inlet bar,Outlet bar"],
            lambda k: f"{k // 6:02d}:{k % 6 * 10:02d}",
            600,
        ),
    ],
)
def test_spans_of_two_parts_are_read_by_what_tells_them(ahead, text, step, tmp_path):
    found = _counted(text, ["Start: 2026-06-18 09:15:00", *ahead], tmp_path)
    begin = datetime(2026, 6, 18, 9, 15, tzinfo=UTC)
    assert _times(found) == [begin + timedelta(seconds=step * k) for k in range(ROWS)]


def test_spans_of_two_parts_that_nothing_tells_are_refused(tmp_path):
    ahead = ["Start: 2026-06-18 09:15:00", "Elapsed,Inlet bar,Outlet bar"]
    with pytest.raises(InputError, match="does not say which"):
        _counted(lambda k: f"{k // 6:02d}:{k % 6 * 10:02d}", ahead, tmp_path)


@pytest.mark.parametrize("head", ["Viertelstunde", "Sekunde des Tages", "Hour (decimal)"])
def test_dates_with_many_rows_a_day_and_no_time_that_is_read_are_refused(head, tmp_path):
    def row(k):
        part = {"V": k % 96 + 1, "S": k % 96 * 900, "H": k % 96 / 4}[head[0]]
        return f"{_when(k):%d.%m.%Y},{part},{_value(k)[0]:.2f},{_value(k)[1]:.2f}"

    with pytest.raises(InputError, match=r"no time that can be read|without a time of day"):
        _propose(tmp_path, _lines([], f"Datum,{head},Vordruck bar,Hinterdruck bar", row))


def test_a_sheet_of_hourly_means_beside_the_samples_is_left_out(tmp_path):
    book = openpyxl.Workbook()
    for name, step in ((None, 1), ("Hourly", 4)):
        sheet = book.create_sheet(name) if name else book.active
        sheet.append(["Time", "Inlet (bar)", "Outlet (bar)"])
        for k in range(0, ROWS, step):
            sheet.append([_when(k), *(one + (0.003 if name else 0.0) for one in _value(k))])
    book.save(tmp_path / "a.xlsx")
    found = propose([tmp_path / "a.xlsx"], Context(zone="UTC", known=KNOWN))
    assert _is_both(found)
    assert found.rows_left_out["coarser sheet"] == ROWS // 4
    assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())
    assert any("Hourly" in one.words for one in found.facts)


@pytest.mark.parametrize("digits", [16, 19])
def test_epochs_finer_than_a_millisecond(digits, tmp_path):
    def row(k):
        seconds = int(_when(k).replace(tzinfo=UTC).timestamp())
        return f"{seconds}{'0' * (digits - 10)},{_value(k)[0]:.2f},{_value(k)[1]:.2f}"

    found = _propose(tmp_path, _lines([], "ts,inlet_bar,outlet_bar", row), zone="")
    assert _times(found) == [_when(k).replace(tzinfo=UTC) for k in range(ROWS)]
    assert not found.doubts


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("18. juni 2026 00:15", 18), ("den 18 juni 2026 kl. 00.15", 18), ("18. kesäkuuta 2026 klo 0.15", 18),
        ("06/18/2026 12:15a", 18),
    ],
)  # fmt: skip
def test_stamps_of_the_north_and_short_half_days(text, day, tmp_path):
    later = text.replace("00:15", "00:30").replace("00.15", "00.30").replace("0.15", "0.30")
    later = later.replace("12:15a", "12:30a")
    rows = [f"{one};8,0{k};4,0{k}" for k, one in enumerate((text, later))]
    found = _propose(tmp_path, "\n".join(["Tid;Inlet (bar);Outlet (bar)", *rows]) + "\n")
    assert _times(found) == [datetime(2026, 6, day, 0, one, tzinfo=UTC) for one in (15, 30)]


def test_months_of_denmark():
    found = [one for name in ("marts", "maj") if (one := stamp(f"4. {name} 2026")) is not None]
    assert [one.parts for one in found] == [(2026, 3, 4), (2026, 5, 4)]


def test_a_line_ahead_states_the_offset(tmp_path):
    text = _lines(["UTC-Offset: +02:00"], "Time,Inlet bar,Outlet bar", _row)
    assert [one.taken for one in _propose(tmp_path, text, zone="").doubts] == ["UTC+2"]


def test_what_is_no_pressure_of_a_tap_and_gallons_a_day():
    heads = ("Pilot pressure (bar)", "Outlet target (bar)")
    assert [said(one).quantity for one in heads] == ["other", "other"]
    found = symbol("GPD")
    assert found is not None
    assert found.factor == pytest.approx(3.785411784e-3 / 86400)


def test_a_rate_ahead_of_numbered_samples(tmp_path):
    ahead = ["Trigger time: 2026-06-18 08:30:00", "Sampling frequency: 100 Hz", ""]
    rows = [f"{k},{_value(k)[1]:.2f}" for k in range(ROWS)]
    found = _propose(tmp_path, "\n".join([*ahead, "Sample,Pressure (bar)", *rows]) + "\n")
    assert _times(found)[-1] - _times(found)[0] == timedelta(seconds=(ROWS - 1) / 100)


@pytest.mark.parametrize(
    ("heading", "parts"),
    [
        ("Date,Hour,Minute", "{0:%m/%d/%Y},{0.hour},{0.minute}"),
        ("Day,Month,Year,Time", "{0.day},{0.month},{0.year},{0:%H:%M}"),
        ("Year,Month,Day,Hour,Minute", "{0.year},{0.month},{0.day},{0.hour},{0.minute}"),
        ("Datum,Von-Bis", "{0:%d.%m.%Y},{0:%H:%M}-{1:%H:%M}"),
        ("Zeitraum", "{0:%d.%m.%Y %H:%M} - {1:%H:%M}"),
    ],
)
def test_parts_of_a_time_in_columns_of_their_own_and_spans(heading, parts, tmp_path):
    def row(k):
        return f"{parts.format(_when(k), _when(k + 1))},{_value(k)[0]:.2f},{_value(k)[1]:.2f}"

    found = _propose(tmp_path, _lines([], f"{heading},Inlet bar,Outlet bar", row))
    assert _times(found) == [_when(k).replace(tzinfo=UTC) for k in range(ROWS)]
    assert _is_both(found)
    assert len(found.channels) == 2


def test_an_hour_without_minutes_of_year_month_and_day(tmp_path):
    def row(k):
        when = _when(k, 60)
        return f"{when.year},{when.month},{when.day},{when.hour},{_value(k)[0]:.2f},{_value(k)[1]:.2f}"

    found = _propose(tmp_path, _lines([], "Year,Month,Day,Hour,Inlet bar,Outlet bar", row))
    assert _times(found) == [_when(k, 60).replace(tzinfo=UTC) for k in range(ROWS)]


def test_an_offset_behind_each_stamp_is_no_span(tmp_path):
    def row(k):
        return f"{_when(k):%Y-%m-%d %H:%M}-05:00,{_value(k)[0]:.2f},{_value(k)[1]:.2f}"

    found = _propose(tmp_path, _lines([], "Time,Inlet bar,Outlet bar", row))
    assert _times(found)[0] == START.replace(tzinfo=UTC) + timedelta(hours=5)


def test_sensors_by_letters_are_no_absolute_pressures(tmp_path):
    ahead = ['"Sensor A","Inlet","Bar"', '"Sensor B","Outlet","Bar"', ""]
    found = _propose(tmp_path, _lines(ahead, "Time,A,B", _row))
    assert _is_both(found)
    assert not any(channel.absolute for channel, _ in found.channels)


@pytest.mark.parametrize("unit", ["m AOD", "mAHD", "m ü. NN", "ft MSL"])
def test_heads_above_the_sea_are_asked_about(unit, tmp_path):
    def row(k):
        return f"{_when(k):%Y-%m-%d %H:%M},{133 + k % 7 / 10:.1f},{_value(k)[1]:.2f}"

    found = _propose(tmp_path, _lines([], f"Time,Inlet ({unit}),Outlet (bar)", row))
    assert [one.taken for one in found.doubts] == ["other, "]


def test_the_ends_of_sixteen_bits_are_no_readings(tmp_path):
    def row(k):
        outlet = {20: "327.67", 21: "-327.68"}.get(k, f"{_value(k)[1]:.2f}")
        return f"{_when(k):%Y-%m-%d %H:%M},{_value(k)[0]:.2f},{outlet}"

    found = _propose(tmp_path, _lines([], "Time,Inlet bar,Outlet bar", row))
    outlet = next(frame.collect() for channel, frame in found.channels if channel.place == "T3")
    assert outlet["v"].max() < 5e5
    assert outlet["v"].null_count() == 2


def test_bar_by_its_first_letter_and_a_current_in_place_of_a_reading(tmp_path):
    def row(k):
        inlet, outlet = (f"{one:.2f}".replace(".", ",") for one in _value(k))
        return f"{_when(k):%d/%m/%Y %H:%M};{inlet} b;{outlet if k != 20 else '<4mA'}"

    found = _propose(tmp_path, _lines([], "Date;P. amont;P. aval (bar)", row))
    inlet, outlet = _pressures(found)
    assert inlet == pytest.approx(BOTH[0])
    assert outlet is not None
    assert outlet[20] is None

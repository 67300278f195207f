"""Times in shapes of many lands: names of months, points, bare digits, letters of zones, parts of days."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from openpyxl import Workbook

from steadyhead.errors import InputError
from steadyhead.records.logger import Context, Known
from steadyhead.watch.reading import propose, sampling
from steadyhead.watch.reading.months import month_of
from steadyhead.watch.reading.stamps import stamp

KNOWN = Known(lockup=4.2e5, inlet=8e5, flow=0.01)
HEADS = "P inlet [bar];P outlet [bar];Flow [l/s]"
COUNT = 300


def _times(first="2027-03-04", step=900):
    return [datetime.fromisoformat(first) + timedelta(seconds=step * k) for k in range(COUNT)]


def _values(k, decimal=","):
    cells = (f"{8 + k % 7 / 100:.2f}", f"{4 + k % 5 / 100:.2f}", f"{10 + k % 9 / 10:.1f}")
    return ";".join(cells).replace(".", decimal)


def _text(form, first="2027-03-04", head="Time", decimal=","):
    rows = [f"{form(when)};{_values(k, decimal)}" for k, when in enumerate(_times(first))]
    return "\n".join([f"{head};{HEADS}", *rows]) + "\n"


def _read(folder, text, zone="UTC", name="a.csv"):
    (folder / name).write_text(text, "utf-8")
    return propose([folder / name], Context(zone=zone, known=KNOWN))


def _is_right(found, first="2027-03-04", zone="UTC", count=COUNT):
    for quantity, low, size in (("inlet pressure", 8e5, 7), ("outlet pressure", 4e5, 5)):
        frame = next(lazy.collect() for one, lazy in found.channels if one.quantity == quantity)
        assert frame["v"].to_list() == pytest.approx([low + k % size * 1e3 for k in range(count)])
        local = datetime.fromisoformat(first).replace(tzinfo=ZoneInfo(zone)).astimezone(UTC)
        assert frame["t"].to_list() == [local + timedelta(seconds=900 * k) for k in range(count)]
    return True


NAMES = {
    "Jan Feb Mar Apr Mei Jun Jul Agu Sep Okt Nov Des": "2027-07-30",
    "Oca Şub Mar Nis May Haz Tem Ağu Eyl Eki Kas Ara": "2027-09-29",
    "jan fev mar abr mai jun jul ago set out nov dez": "2027-09-29",
    "sty lut mar kwi maj cze lip sie wrz paź lis gru": "2027-08-30",
    "янв. февр. мар. апр. мая июн. июл. авг. сент. окт. нояб. дек.": "2027-10-30",
    "Ιαν Φεβ Μαρ Απρ Μαΐ Ιουν Ιουλ Αυγ Σεπ Οκτ Νοε Δεκ": "2027-04-29",
}


@pytest.mark.parametrize("names", NAMES)
def test_months_of_many_languages(tmp_path, names):
    text = _text(lambda w: f"{w.day} {names.split()[w.month - 1]} {w.year} {w:%H:%M}", NAMES[names])
    assert _is_right(_read(tmp_path, text), NAMES[names])


def test_what_names_two_months_is_none():
    assert [month_of(one) for one in ("lip", "lis", "srp", "listopad")] == [None] * 4


def test_rows_of_a_month_whose_name_is_not_known_are_no_foot(tmp_path):
    text = _text(lambda w: f"{w.day} {'Jul' if w.month == 7 else 'Xyz'} {w.year} {w:%H:%M}", "2027-07-30")
    with pytest.raises(InputError, match=r"108 rows with values whose time cannot be read, as '1 Xyz 2027"):
        _read(tmp_path, text)


MONDAY = ("пн", "вт", "ср", "чт", "пт", "сб", "вс")
DAYS_OF_IRAN = {
    "1404/01/01 08:00": (2025, 3, 21), "1403/12/30 08:00": (2025, 3, 20), "1399/12/30 08:00": (2021, 3, 20),
    "1400/01/01 08:00": (2021, 3, 21), "1405/10/11 08:00": (2027, 1, 1), "1380/07/09 08:00": (2001, 10, 1),
}  # fmt: skip
SENIN = ("Senin", "Selasa", "Rabu", "Kamis", "Jumat", "Sabtu", "Minggu")


def _half(when, first, second):
    return first if when.hour < 12 else second


def _seconds(when, year):
    return f"{(when - datetime(year, 1, 1)).total_seconds():.0f}"


FORMS = {
    "points, seconds": ("Data;Ora", lambda w: f"{w:%d/%m/%Y;%H.%M.%S}"),
    "points, minutes": ("Tanggal;Jam", lambda w: f"{w:%d/%m/%Y;%H.%M}"),
    "digits": ("Date;Time", lambda w: f"{int(w.strftime('%d%m%Y'))};{int(w.strftime('%H%M%S'))}"),
    "day of the year": ("ID;Year;Day;HHMM", lambda w: f"101;{w.year};{w:%j};{int(w.strftime('%H%M'))}"),
    "year word": ("Дата", lambda w: f"{w:%d.%m.%Y} г. {w:%H:%M:%S}"),
    "controller": ("Stamp", lambda w: f"DT#{w:%Y-%m-%d-%H:%M:%S}"),
    "Indonesian day": ("Waktu", lambda w: f"{SENIN[w.weekday()]}, {w.day} Maret {w.year} {w:%H.%M}"),
    "Cyrillic day": ("Время", lambda w: f"{MONDAY[w.weekday()]} {w:%d.%m.%Y %H:%M}"),
    "Chinese day": ("时间", lambda w: f"{w:%Y-%m-%d} 星期{'一二三四五六日'[w.weekday()]} {w:%H:%M}"),
    "Japanese day": ("日時", lambda w: f"{w:%Y/%m/%d}({'月火水木金土日'[w.weekday()]}) {w:%H:%M}"),
    "half ahead": ("Time", lambda w: f"{w:%Y-%m-%d %p %I:%M:%S}"),
    "day behind": ("Time", lambda w: f"{w:%d/%m/%Y %a %H:%M:%S}"),
    "Iran": ("زمان", lambda w: f"1405/12/{w.day + 9} {w:%H:%M}"),
    "republic": ("日期", lambda w: f"{w.year - 1911}/{w:%m/%d %H:%M}"),
    "Malay": ("Masa", lambda w: f"{w:%d/%m/%Y} {w.hour % 12 or 12}:{w:%M:%S} {_half(w, 'PG', 'PTG')}"),
    "Persian": ("زمان", lambda w: f"{w:%Y/%m/%d} {w.hour % 12 or 12}:{w:%M} {_half(w, 'ق.ظ', 'ب.ظ')}"),
    "from and to": ("Interval", lambda w: f"{w:%d/%m/%Y %H:%M} - {w + timedelta(minutes=15):%H:%M}"),
    "from-to": ("Interval", lambda w: f"{w:%d/%m/%Y %H:%M}-{w + timedelta(minutes=15):%H:%M}"),
    "parts of days": ("Date;Time", lambda w: f"{w:%d/%m/%Y};{(w.hour * 60 + w.minute) / 1440:.6f}"),
    "year 0": ("datenum", lambda w: f"{(w - datetime(1, 1, 1)) / timedelta(days=1) + 367:.6f}"),
    "since 1904": ("Time (s since 1904-01-01 UTC)", lambda w: _seconds(w, 1904)),
    "since 2000": ("Seconds since 2000-01-01", lambda w: _seconds(w, 2000)),
    "billionths": ("ts", lambda w: f"{int(w.replace(tzinfo=UTC).timestamp())}000000000"),
}  # fmt: skip


@pytest.mark.parametrize("form", FORMS)
def test_times_in_a_shape_of_their_own(tmp_path, form):
    head, shape = FORMS[form]
    decimal = "," if form not in ("parts of days", "year 0") else "."
    assert _is_right(_read(tmp_path, _text(shape, head=head, decimal=decimal)))


def test_words_ahead_of_a_date_are_no_day_of_the_week():
    assert stamp("Printed 04/03/2027 10:00") is None
    assert stamp("Thu 04/03/2027 10:00") == stamp("04/03/2027 10:00")


def test_of_two_calendars_the_common_one_is_read(tmp_path):
    text = _text(lambda w: f"{w.year + 57}-{w:%m-%d};{w:%Y-%m-%d};{w:%H:%M}", head="Date (BS);Date (AD);Time")
    assert _is_right(_read(tmp_path, text))


def test_an_offset_is_no_end_of_an_interval(tmp_path):
    assert _is_right(_read(tmp_path, _text(lambda w: f"{w - timedelta(hours=5):%Y-%m-%d %H:%M:%S}-05:00")))


def test_seconds_that_give_a_strange_year_are_refused(tmp_path):
    def counted(when):
        return f"{(when - datetime(1904, 1, 1)).total_seconds():.0f}"

    with pytest.raises(InputError, match="from 1970 on, are of 2093"):
        _read(tmp_path, _text(counted, head="Timestamp"))
    assert sampling.plan(_text(counted, head="Timestamp").encode(), Context(zone="UTC", known=KNOWN)) is None


@pytest.mark.parametrize(
    ("letters", "zone"),
    [("CST", "Asia/Shanghai"), ("IST", "Asia/Kolkata"), ("IST", "Asia/Jerusalem"), ("EAT", "Africa/Nairobi"),
     ("WIB", "Asia/Jakarta"), ("PST", "Asia/Manila")],
)  # fmt: skip
def test_letters_behind_stamps_are_of_the_zone_told(tmp_path, letters, zone):
    text = _text(lambda w: f"{w:%Y-%m-%d %H:%M:%S} {letters}")
    assert _is_right(_read(tmp_path, text, zone), zone=zone)
    made = sampling.plan(text.encode(), Context(zone=zone, known=KNOWN))
    assert made is None or made.offset is not None


@pytest.mark.parametrize("letters", ["CST", "IST"])
def test_letters_of_several_places_are_asked_where_no_zone_is_told(tmp_path, letters):
    found = _read(tmp_path, _text(lambda w: f"{w:%Y-%m-%d %H:%M:%S} {letters}"), "")
    assert [one.field for one in found.doubts] == ["zone"]
    assert _is_right(found)


def _book(folder, rows, sheets=None):
    book = Workbook()
    book.remove(book.active)
    for name, some in (sheets or {"Data": rows}).items():
        sheet = book.create_sheet(name)
        for row in some:
            sheet.append(row)
    book.save(folder / "a.xlsx")
    return propose([folder / "a.xlsx"], Context(zone="UTC", known=KNOWN))


def _numbers(k):
    return [8 + k % 7 / 100, 4 + k % 5 / 100, 10 + k % 9 / 10]


def test_days_and_parts_of_days_apart_in_a_book(tmp_path):
    heads = ["Date", "Time", *HEADS.split(";")]
    for day in (lambda w: (w - datetime(1899, 12, 30)).days, lambda w: w.date()):
        rows = [[day(w), (w.hour * 60 + w.minute) / 1440, *_numbers(k)] for k, w in enumerate(_times())]
        assert _is_right(_book(tmp_path, [heads, *rows]))


def test_the_day_is_the_sheet(tmp_path):
    sheets: dict = {}
    for k, when in enumerate(_times()):
        sheet = sheets.setdefault(f"{when:%d.%m.%Y}", [["Time", *HEADS.split(";")]])
        sheet.append([when.time(), *_numbers(k)])
    found = _book(tmp_path, None, sheets)
    assert _is_right(found)
    assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())


def test_many_rows_of_one_time_are_refused(tmp_path):
    rows = [f"{(w - datetime(1899, 12, 30)).days};{k};{_values(k)}" for k, w in enumerate(_times())]
    with pytest.raises(InputError, match="with a time that a row before has with other values"):
        _read(tmp_path, "\n".join([f"Date;No;{HEADS}", *rows]) + "\n")


def test_a_counter_ahead_of_the_time_is_no_day_since_year_0(tmp_path):
    rows = [f"{735000 + 2.5 * k:.1f};{w:%Y-%m-%d %H:%M};{_values(k, '.')}" for k, w in enumerate(_times())]
    assert _is_right(_read(tmp_path, "\n".join([f"Total [m3];Time;{HEADS}", *rows]) + "\n"))


def test_days_of_iran():
    read = {text: found.parts for text in DAYS_OF_IRAN if (found := stamp(text)) is not None}
    assert read == DAYS_OF_IRAN
    assert stamp("1404/12/30 08:00") is None  # no leap year
    assert stamp("1403/07/31 08:00") is None


def test_the_sum_of_a_day_ahead_of_its_times_is_no_sample(tmp_path):
    rows: list[list[object]] = [["Rows", *HEADS.split(";")]]
    for k, when in enumerate(_times()):
        rows += [[f"{when:%d/%m/%Y}", 8.5, 4.5, 10.0]] if when.hour == when.minute == 0 else []
        rows.append([f"{when:%H:%M}", *_numbers(k)])
    assert _is_right(_book(tmp_path, rows))


def test_a_stamp_with_the_year_of_the_republic():
    for text in ("民國116年3月4日 10:00", "116/03/04 10:00"):
        read = stamp(text)
        assert read is not None
        assert read.parts == (2027, 3, 4)
    assert stamp("196/03/04 10:00") is None

"""Tables with times across, and tables of web pages and of spreadsheets written as XML."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import openpyxl
import pytest

from steadyhead.errors import InputError
from steadyhead.records.logger import Context, Known
from steadyhead.watch.reading import propose, proposing

FIRST = datetime(2027, 3, 4)
DAYS = 12
TOLD = Context(zone="UTC", known=Known(inlet=8e5, flow=0.01))


def _value(day, part):
    return 4 + (7 * day + part) % 9 / 100


def _matrix(parts=24, form="%d/%m/%Y", mark=";", decimal=",", behind=()):
    step = 1440 // parts
    hours = [f"{k * step // 60:02d}:{k * step % 60:02d}" for k in range(parts)]
    lines = [mark.join(("Date", *hours, *behind))]
    for day in range(DAYS):
        cells = [f"{_value(day, part):.2f}".replace(".", decimal) for part in range(parts)]
        lines.append(mark.join((f"{FIRST + timedelta(days=day):{form}}", *cells, *("1" for _ in behind))))
    return lines


def _read(folder, lines, name="a.csv"):
    path = folder / name
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return propose([path], TOLD)


def _is_right(found, parts=24):
    frame = next(lazy.collect() for one, lazy in found.channels if one.quantity == "outlet pressure")
    step = timedelta(minutes=1440 // parts)
    first = FIRST.replace(tzinfo=UTC)
    assert frame["t"].to_list() == [first + k * step for k in range(DAYS * parts)]
    wanted = [_value(day, part) * 1e5 for day in range(DAYS) for part in range(parts)]
    assert frame["v"].to_list() == pytest.approx(wanted)
    assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())
    assert "each of its cells is a sample" in " ".join(one.words for one in found.facts)
    return True


@pytest.mark.parametrize("parts", [24, 48, 96])
def test_times_across_are_read(parts, tmp_path):
    found = _read(tmp_path, ["Pression aval (bar)", *_matrix(parts)])
    assert _is_right(found, parts)
    assert found.doubts == ()


def test_what_stands_behind_the_times_is_told(tmp_path):
    found = _read(tmp_path, ["Pressure downstream [bar]", *_matrix(behind=("Min", "Max", "Mean"))])
    assert _is_right(found)
    assert "Not read are the columns behind: Min, Max, Mean." in " ".join(one.words for one in found.facts)


def test_names_of_days_ahead_are_no_matter(tmp_path):
    days = ("Thu", "Fri", "Sat", "Sun", "Mon", "Tue", "Wed")
    lines = _matrix()
    lines = [f"Day;{lines[0]}", *(f"{days[k % 7]};{one}" for k, one in enumerate(lines[1:]))]
    assert _is_right(_read(tmp_path, ["Outlet pressure bar", *lines]))


def test_days_across_are_read(tmp_path):
    heads = "Hour;" + ";".join(f"{FIRST + timedelta(days=day):%d/%m/%Y}" for day in range(DAYS))
    rows = [
        f"{hour:02d}:00;" + ";".join(f"{_value(day, hour):.2f}" for day in range(DAYS)) for hour in range(24)
    ]
    assert _is_right(_read(tmp_path, ["Outlet pressure (bar)", heads, *rows]))


def test_times_across_in_a_spreadsheet_are_read(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Outlet pressure (bar)"
    sheet.append(["Date", *(f"{hour:02d}:00" for hour in range(24))])
    for day in range(DAYS):
        sheet.append([FIRST + timedelta(days=day), *(_value(day, hour) for hour in range(24))])
    book.save(tmp_path / "a.xlsx")
    assert _is_right(propose([tmp_path / "a.xlsx"], TOLD))


@pytest.mark.parametrize("ahead", ["Channel", "Site"])
def test_several_channels_beside_times_across_are_refused(ahead, tmp_path):
    lines = _matrix()
    lines = [
        f"{ahead};{lines[0]}",
        *(f"{['inlet', 'outlet'][k % 2]} {k};{one}" for k, one in enumerate(lines[1:])),
    ]
    with pytest.raises(InputError, match="a column for each 60 minutes"):
        _read(tmp_path, lines)


@pytest.mark.parametrize("is_book", [True, False])
def test_a_table_turned_round_is_read(is_book, tmp_path):
    stamps = [FIRST + timedelta(minutes=15 * k) for k in range(60)]
    rows: list[list[object]] = [["Site K3"], ["Time", *stamps]]
    rows += [["P inlet (bar)", *(8 + k % 7 / 100 for k in range(60))]]
    rows += [["P outlet (bar)", *(4 + k % 5 / 100 for k in range(59))]]
    path = tmp_path / ("a.xlsx" if is_book else "a.csv")
    if is_book:
        book = openpyxl.Workbook()
        for row in rows:
            book.active.append(row)
        book.save(path)
    else:
        path.write_text("\n".join(";".join(map(str, row)) for row in rows) + "\n", "utf-8")
    found = propose([path], TOLD)
    frames = {one.quantity: lazy.collect() for one, lazy in found.channels}
    assert frames["inlet pressure"]["v"].to_list() == pytest.approx(
        [(8 + k % 7 / 100) * 1e5 for k in range(60)]
    )
    assert frames["outlet pressure"]["v"][58] == pytest.approx((4 + 58 % 5 / 100) * 1e5)
    assert frames["inlet pressure"]["t"].to_list() == [one.replace(tzinfo=UTC) for one in stamps]
    assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())
    assert "row numbers count columns" in " ".join(one.words for one in found.facts)


ROWS = [
    (FIRST + timedelta(minutes=15 * k), f"{8 + k % 7 / 100:.2f}", f"{4 + k % 5 / 100:.2f}")
    for k in range(200)
]


def _html():
    yield '<html><head><meta charset="windows-1252"><title>Größe</title></head><body>'
    yield "<table><tr><td>Station</td><td>Über&nbsp;Land</td></tr></table><p>text</p>"
    yield "<TABLE border=1><TR><TH colspan=1>Time</TH><TH>P inlet<br>(bar)</TH><TH>P outlet (bar)</TH></TR>"
    for when, inlet, outlet in ROWS:
        yield f"<TR><TD>{when:%d/%m/%Y %H:%M}<TD>{inlet}</TD><TD>&nbsp;{outlet}</TD></TR>"
    yield "</TABLE></body></html>"


def _xml():
    yield '<?xml version="1.0"?><?application of="sheets"?>'
    names = "urn:books-of-sheets:spreadsheet"
    yield f'<Workbook xmlns="{names}" xmlns:ss="{names}">'
    yield '<Worksheet ss:Name="Data"><Table>'
    heads = "".join(
        f'<Cell><Data ss:Type="String">{one}</Data></Cell>' for one in ("P inlet bar", "P outlet bar")
    )
    yield f'<Row ss:Index="3"><Cell><Data ss:Type="String">Time</Data></Cell>{heads}</Row>'
    for when, inlet, outlet in ROWS:
        stamp = f'<Cell><Data ss:Type="DateTime">{when:%Y-%m-%dT%H:%M:%S}.000</Data></Cell>'
        cells = "".join(
            f'<Cell ss:Index="{at}"><Data ss:Type="Number">{one}</Data></Cell>'
            for at, one in ((2, inlet), (3, outlet))
        )
        yield f"<Row>{stamp}{cells}</Row>"
    yield "</Table></Worksheet></Workbook>"


@pytest.mark.parametrize("lines", [_html, _xml])
@pytest.mark.parametrize("name", ["export.xls", "export.html"])
def test_a_table_of_markup_is_read(lines, name, tmp_path):
    path = tmp_path / name
    path.write_bytes("\n".join(lines()).encode("cp1252"))
    found = propose([path], TOLD)
    frames = {one.quantity: lazy.collect() for one, lazy in found.channels}
    assert frames["inlet pressure"]["v"].to_list() == pytest.approx([float(one) * 1e5 for _, one, _ in ROWS])
    assert frames["outlet pressure"]["v"].to_list() == pytest.approx([float(one) * 1e5 for *_, one in ROWS])
    assert frames["outlet pressure"]["t"].to_list() == [when.replace(tzinfo=UTC) for when, *_ in ROWS]
    assert {one.field for one in found.doubts} <= {"date order"}
    assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())


def test_a_page_without_a_table_is_refused_in_words(tmp_path):
    with pytest.raises(InputError, match="without a table"):
        _read(tmp_path, ["<html><body>Please sign in</body></html>"], "a.csv")


def test_a_long_page_is_read_as_a_whole(tmp_path, monkeypatch):
    monkeypatch.setattr(proposing, "LONG", 5000)
    path = tmp_path / "long.xls"
    path.write_text("\n".join(_html()), "cp1252")
    assert len(propose([path], TOLD).channels) == 2


@pytest.mark.parametrize(
    "text", ["<table><tr><td colspan=99999999>1", "<table>" * 500, "<table><tr><td colspan=-3>x"]
)
def test_broken_markup_ends_in_words(text, tmp_path):
    with pytest.raises(InputError):
        _read(tmp_path, [text])

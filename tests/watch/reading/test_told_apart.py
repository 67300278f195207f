"""Files whose headings, times or units are easily taken for others: read right, asked about, or refused."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta

import polars as pl
import pytest

from steadyhead.errors import InputError
from steadyhead.records.logger import Context
from steadyhead.services.logs.answering import told_before
from steadyhead.watch.reading import propose
from steadyhead.watch.reading.headings import said
from steadyhead.watch.reading.sources import decode
from steadyhead.watch.reading.stamps import DAY, stamp
from steadyhead.watch.reading.symbols import named, symbol

KINDS = ("maximum", "mean", "minimum")
ROWS = 60
START = datetime(2026, 6, 18)


def _when(k):
    return START + timedelta(minutes=15 * k)


def _cells(k):
    return f"{9 + k % 7 / 100:.2f}", f"{5 + k % 5 / 100:.2f}", f"{20 + k % 9 / 10:.1f}"


def _read(folder, text, *, name="a.csv", zone="UTC", encoding="utf-8", now=None):
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
    return propose([path], Context(zone=zone, now=now), None)


def _lines(heading, row, between=""):
    return heading + "\n" + between + "".join(row(k) + "\n" for k in range(ROWS))


def _most(found):
    """Return the largest value of each quantity (bar, m³/h), and how many samples it has."""
    factor = {"flow": 3600.0}
    return {
        channel.quantity: (
            round(frame.select(pl.col("v").max()).collect().item() * factor.get(channel.quantity, 1e-5), 3),
            frame.select(pl.len()).collect().item(),
        )
        for channel, frame in found.channels
    }


MOST = {"inlet pressure": (9.06, ROWS), "outlet pressure": (5.04, ROWS), "flow": (20.8, ROWS)}


def test_a_running_number_without_heading_shifts_no_column(tmp_path):
    def row(k):
        return f"{k + 1},{_when(k):%d/%m/%Y %H:%M},{','.join(_cells(k))}"

    found = _read(tmp_path, _lines("Date Time,Inlet (bar),Outlet (bar),Flow (m3/h)", row))
    assert {q: v for q, v in _most(found).items() if q != "other"} == MOST


def test_separators_behind_each_row_shift_no_column(tmp_path):
    def row(k):
        return f"{_when(k):%d.%m.%Y;%H:%M};{';'.join(_cells(k))};"

    found = _read(tmp_path, _lines("Datum;Ura;Vordruck bar;Hinterdruck bar;Durchfluss m³/h", row))
    assert _most(found) == MOST


def test_commas_between_columns_and_in_numbers_are_refused(tmp_path):
    def row(k):
        return f"{_when(k):%d.%m.%Y %H:%M}," + ",".join(one.replace(".", ",") for one in _cells(k))

    with pytest.raises(InputError, match="comma between its columns"):
        _read(tmp_path, _lines("Zeit,Eingang bar,Ausgang bar,Durchfluss m3/h", row))


def test_a_mark_behind_whole_numbers_is_no_decimal(tmp_path):
    def row(k):
        return f"{_when(k)},{900 + k % 7},{500 + k % 5},0"

    found = _most(_read(tmp_path, _lines("Time,Inlet (kPa),Outlet (kPa)", row)))
    assert (found["inlet pressure"], found["outlet pressure"]) == ((9.06, ROWS), (5.04, ROWS))


def test_rows_of_two_loggers_are_refused_with_their_names(tmp_path):
    def row(k):
        when = f"{_when(k):%d/%m/%Y %H:%M}"
        return f"PRV-A,{when},{','.join(_cells(k)[:2])}\nPRV-B,{when},7.11,3.11"

    with pytest.raises(InputError, match="PRV-A, PRV-B"):
        _read(tmp_path, _lines("Site,Date Time,Inlet (bar),Outlet (bar)", row))


def test_times_beside_dates_that_are_not_read_refuse_the_file(tmp_path):
    def row(k):
        return f"{_when(k):%d-%m-%Y};half {_when(k):%H} and {_when(k):%M};{';'.join(_cells(k))}"

    with pytest.raises(InputError, match="no time that can be read"):
        _read(tmp_path, _lines("Date;Clock;Inlet bar;Outlet bar;Flow m3/h", row))


def test_twelve_hours_without_a_mark_are_refused(tmp_path):
    def row(k):
        return f"{_when(k):%d-%b-%y %I:%M},{','.join(_cells(k))}"

    with pytest.raises(InputError, match=r"without a\.m\. or p\.m\."):
        _read(tmp_path, _lines("Time,Inlet bar,Outlet bar,Flow m3/h", row))


@pytest.mark.parametrize(
    "form",
    [
        "%y%m%d%H%M",
        "%G-W%V-%uT%H:%M",
        "%Y-%jT%H:%M:%SZ",
        "%Y;%j;%H%M",
        "%d-%m-%Y;kl. %H.%M",
        "%d/%m/%Y às %Hh%M",
    ],
)
def test_times_of_rarer_shapes_are_read(form, tmp_path):
    def row(k):
        return f"{_when(k):{form}};{';'.join(_cells(k))}"

    times = {
        "%Y;%j;%H%M": "Year;Day;HHMM",
        "%Y;%m;%d;%H;%M": "Year;Month;Day;Hour;Minute",
        "%d-%m-%Y;kl. %H.%M": "Date;Time",
    }.get(form, "Time")
    found = _read(tmp_path, _lines(f"{times};Inlet bar;Outlet bar;Flow m3/h", row))
    assert _most(found) == MOST
    first = found.channels[0][1].select(pl.col("t").min()).collect().item()
    assert first == START.replace(tzinfo=UTC)


def test_the_date_in_a_heading_of_each_day_holds_for_its_rows(tmp_path):
    text = ""
    for k in range(ROWS * 4):
        if k % 96 == 0:
            text += f"\n=== {_when(k):%A %d/%m/%Y} ===\nTime  Inlet bar  Outlet bar\n"
        text += f"{_when(k):%H:%M}  {_cells(k)[0]}  {_cells(k)[1]}\n"
    found = _read(tmp_path, text.replace("Inlet bar", "Inlet_bar").replace("Outlet bar", "Outlet_bar"))
    last = found.channels[0][1].select(pl.col("t").max()).collect().item()
    assert last == _when(ROWS * 4 - 1).replace(tzinfo=UTC)


def test_the_passes_of_an_hour_that_comes_twice_may_carry_letters():
    first, second = stamp("25.10.2026 02:15A"), stamp("25.10.2026 02:15B")
    assert first is not None
    assert first == second
    assert first.clock == DAY // 32 * 3
    assert stamp("25.10.2026 05:15A") is None


def test_a_last_m_beside_a_pressure_is_metres_of_head():
    assert said("Outlet Pressure m").unit == symbol("mH2O")
    assert said("p1 upstream/bar").unit == symbol("bar")
    assert said("PRS07.FT01.l_s").unit == symbol("L/s")
    assert said("Level m").unit is None


def test_pressures_without_a_unit_are_taken_for_the_same_one(tmp_path):
    def row(k):
        return f"{_when(k)},{89.0 + k % 7 / 10:.1f},{50 + k % 5 / 10:.1f}"

    found = _read(tmp_path, _lines("Time,Inlet,Outlet", row))
    assert {channel.unit_as_found for channel, _ in found.channels} == {"m head"}
    assert [one.field for one in found.doubts] == ["unit", "unit"]


def test_volumes_of_each_interval_are_a_flow():
    found = symbol("m3/15min")
    assert found is not None
    assert (found.name, round(found.factor * 900, 9)) == ("m³/15 min", 1.0)
    assert named("flow", found.name) == found


def test_files_that_name_their_channel_in_two_cells_are_not_mixed(tmp_path):
    paths = []
    for at, (name, unit) in enumerate(
        (("Inlet Pressure", "bar"), ("Outlet Pressure", "bar"), ("Flow", "m3/h"))
    ):
        body = "".join(f"{_when(k):%d/%m/%Y %H:%M},{_cells(k)[at]}\n" for k in range(ROWS))
        paths.append(tmp_path / f"{at}.csv")
        paths[-1].write_text(f"Site,Long Lane\nChannel,{name}\nUnits,{unit}\nDate,Value\n{body}", "utf-8")
    assert _most(propose(paths, Context(zone="UTC"), None)) == MOST


@pytest.mark.parametrize(
    "heading",
    [
        ",Upstream pressure (bar),,,Downstream pressure (bar),,,Flow (m3/h)\n"
        "Time,Min,Avg,Max,Min,Avg,Max,Avg",
        "Time,Inlet,,,Outlet,,,Flow\n,min [bar],avg [bar],max [bar],min [bar],avg [bar],max [bar],[m3/h]",
    ],
)
def test_names_over_several_columns_belong_to_each(heading, tmp_path):
    def row(k):
        a, b, c = _cells(k)
        return f"{_when(k)},{a},{a},{a},{b},{b},{b},{c}"

    found = _read(tmp_path, _lines(heading, row))
    assert sorted((one.quantity, one.statistic) for one, _ in found.channels) == [
        ("flow", "mean"),
        *(
            (f"{side} pressure", each)
            for side in ("inlet", "outlet")
            for each in ("maximum", "mean", "minimum")
        ),
    ]
    assert not found.doubts


def test_a_second_heading_in_another_unit_goes_on_with_its_channels(tmp_path):
    text = "Time,Inlet (bar),Outlet (bar)\n"
    for k in range(ROWS):
        a, b = (float(one) for one in _cells(k)[:2])
        if k == 30:
            text += "Restarted\nTime,Outlet (kPa),Inlet (kPa)\n"
        text += f"{_when(k)}," + (f"{a:.2f},{b:.2f}\n" if k < 30 else f"{b * 100:.0f},{a * 100:.0f}\n")
    found = _read(tmp_path, text)
    assert _most(found) == {q: MOST[q] for q in ("inlet pressure", "outlet pressure")}
    assert not found.doubts


def test_blanks_between_thousands_do_not_choose_the_encoding(tmp_path):
    text = "Horodate;Pression amont (bar);Débit moyen (l/h)\n"
    text += "".join(f"{_when(k)};{_cells(k)[0].replace('.', ',')};12\u00a0{400 + k}\n" for k in range(ROWS))
    assert decode(text.encode("latin-1"))[1] == "cp1252"
    assert decode("Ciśnienie wylot;Przepływ".encode("cp1250"))[0] == "Ciśnienie wylot;Przepływ"
    assert _most(_read(tmp_path, text, encoding="latin-1"))["flow"] == (12.459, ROWS)


def test_a_column_of_a_quantity_without_numbers_is_told(tmp_path):
    found = _read(
        tmp_path, _lines("Time;Inlet bar;Flow m3/h", lambda k: f"{_when(k)};{_cells(k)[0]};much and {k}")
    )
    assert [one.words for one in found.facts if one.code == "column not read"] == [
        "Nothing is read of the column 'Flow m3/h': 'much and 0' is no number."
    ]


def test_columns_of_which_nothing_is_known_are_asked_about(tmp_path):
    found = _read(tmp_path, _lines("Time;A;B", lambda k: f"{_when(k)};{';'.join(_cells(k)[:2])}"))
    assert [(one.field, one.taken) for one in found.doubts] == [
        ("quantity", "other, "),
        ("quantity", "other, "),
    ]


def test_samples_to_come_are_told(tmp_path):
    text = _lines("Time;Inlet bar", lambda k: f"{_when(k)};{_cells(k)[0]}")
    codes = {one.code for one in _read(tmp_path, text, now=datetime(2026, 6, 1, tzinfo=UTC)).facts}
    assert "in the future" in codes
    codes = {one.code for one in _read(tmp_path, text, now=datetime(2026, 7, 1, tzinfo=UTC)).facts}
    assert "in the future" not in codes


def test_a_zone_that_the_file_states_against_what_was_told_is_asked_about(tmp_path):
    text = "All times are GMT\n" + _lines("Time;Inlet bar", lambda k: f"{_when(k)};{_cells(k)[0]}")
    doubts = _read(tmp_path, text, zone="Europe/London").doubts
    assert [one.field for one in doubts] == ["zone stated"]
    assert told_before(Context(zone="Europe/London"), {"zone stated": "UTC"}).zone == "UTC"
    assert [one.question for one in doubts] == ["The file says UTC, told was Europe/London. Which is it?"]
    assert not _read(tmp_path, text, zone="UTC").doubts


@pytest.mark.parametrize("shape", ["units beside", "batches", "columns"])
def test_json_with_samples_inside(shape, tmp_path):
    names = ("inlet pressure", "outlet pressure", "flow")
    units = ("bar", "bar", "m3/h")
    stamps = [int(_when(k).replace(tzinfo=UTC).timestamp() * 1000) for k in range(ROWS)]
    values = [[float(_cells(k)[at]) for k in range(ROWS)] for at in range(3)]
    listed = list(zip(names, values, units, strict=True))
    if shape == "units beside":
        told = [
            {"id": "A7", "ts": stamps[k], "data": {n: {"value": v[k], "unit": u} for n, v, u in listed}}
            for k in range(ROWS)
        ]
        text = "\n".join(json.dumps(one) for one in told)
    elif shape == "batches":
        told = [
            {"channel": n, "unit": u, "samples": [[stamps[k], v[k]] for k in range(first, first + 20)]}
            for first in range(0, ROWS, 20) for n, v, u in listed
        ]  # fmt: skip
        text = "\n".join(json.dumps(one) for one in told)
    else:
        columns = {f"{n} ({u})": v for n, v, u in listed}
        text = json.dumps({"site": "K3", "time": [str(_when(k)) for k in range(ROWS)], **columns}, indent=1)
    assert _most(_read(tmp_path, text, name="a.json")) == MOST


@pytest.mark.parametrize(
    ("text", "said_"),
    [
        ("<?xml version='1.0'?><log><row>5</row></log>", "markup"),
        (json.dumps({"a": [1, 2], "b": {"c": 3}}, indent=1), "JSON"),
    ],
)
def test_pages_and_other_json_are_refused_by_name(text, said_, tmp_path):
    with pytest.raises(InputError, match=said_):
        _read(tmp_path, text)


def test_whole_lines_in_quotes_are_read(tmp_path):
    def row(k):
        return f'"{_when(k)},{",".join(_cells(k))}"'

    assert _most(_read(tmp_path, _lines('"Time,Inlet (bar),Outlet (bar),Flow (m3/h)"', row))) == MOST


@pytest.mark.parametrize(
    "heads",
    [
        ("Tid", "Inloppstryck [mvp]", "Utloppstryck [mvp]", "Flöde [m³/h]"),
        ("Tarih saat", "Giriş basıncı [mSS]", "Çıkış basıncı [mSS]", "Debi [m³/h]"),
        ("Data i godzina", "Ciśnienie wlot [mH2O]", "Ciśnienie wylot [mH2O]", "Przepływ [m³/h]"),
        ("Datum a čas", "Tlak před ventilem [m]", "Tlak za ventilem [m]", "Průtok [m³/h]"),
        ("Data e hora", "Pressão montante [mca]", "Pressão jusante [mca]", "Vazão [m³/h]"),
        ("Dato", "Tilgangstryk [mVS]", "Afgangstryk [mVS]", "Flow [m³/h]"),
        ("Dato", "Trykk inn [mVS]", "Trykk ut [mVS]", "Vannmengde [m³/h]"),
    ],
)
def test_more_languages(heads, tmp_path):
    found = _read(
        tmp_path, _lines(";".join(heads), lambda k: f"{_when(k)};91.{k % 9};51.{k % 7};{_cells(k)[2]}")
    )
    assert [(one.quantity, one.unit_as_found) for one, _ in found.channels] == [
        ("inlet pressure", "m head"), ("outlet pressure", "m head"), ("flow", "m³/h"),
    ]  # fmt: skip
    assert not found.doubts


def test_remarks_behind_the_last_number_cost_no_value(tmp_path):
    remarks = {5: " # visit, hatch open", 9: " // flushed 10 min"}

    def row(k):
        return f"{_when(k)}, {', '.join(_cells(k))}{remarks.get(k, '')}"

    found = _read(tmp_path, _lines("time, inlet [bar], outlet [bar], flow [m3/h]", row))
    assert not [one for one in found.facts if one.code == "missing marks"]
    assert _most(found) == MOST


@pytest.mark.parametrize(
    "legend",
    [
        "P1 = outlet\nP2 = inlet\nQ = flow in l/s; P in kPa",
        "Pressures in kPa, flow in l/s",
        "Units: kPa / l/s",
    ],
)
def test_units_that_a_line_ahead_states_are_taken(legend, tmp_path):
    text = _lines("Time,Inlet,Outlet,Q", lambda k: f"{_when(k)},{','.join(_cells(k))}")
    found = _read(tmp_path, f"{legend}\n{text}")
    assert [one.unit_as_found for one, _ in found.channels] == ["kPa", "kPa", "L/s"]
    assert not found.doubts


def test_of_a_file_without_samples_a_row_is_shown_and_no_zone_spoken_of(tmp_path):
    found = _read(tmp_path, "Time,one,two\nInlet,9.1,9.2\nOutlet,5.1,5.2\n")
    assert [one.words for one in found.facts] == [
        "a.csv holds no samples that can be read: no time is seen, as in row 2: 'Inlet 9.1 9.2'."
    ]
    assert not any("zone" in one for one in found.words)

"""What blind sets of files showed to be lost, or asked about without need."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta

import pytest

from steadyhead.errors import InputError
from steadyhead.records.logger import Context, Known
from steadyhead.services.logs.answering import told_before
from steadyhead.watch.reading import propose, proposing
from steadyhead.watch.reading.headings import said
from steadyhead.watch.reading.numbers import number
from steadyhead.watch.reading.stamps import stamp
from steadyhead.watch.reading.zones import stated_zone

FIRST = datetime(2027, 3, 4)
ROWS = 200
KNOWN = Known(inlet=8e5, lockup=4.2e5, flow=0.01)


def _when(k):
    return FIRST + timedelta(minutes=15 * k)


def _read(folder, text, name="a.csv", zone="UTC"):
    path = folder / name
    path.write_text(text, "utf-8")
    return propose([path], Context(zone=zone, known=KNOWN))


def _values(found):
    assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())
    out = {}
    for channel, lazy in found.channels:
        frame = lazy.collect()
        assert channel.quantity == "other" or frame["t"][0] == FIRST.replace(tzinfo=UTC)
        out[channel.quantity] = frame["v"].to_list()
    return out


def test_a_last_ft_of_a_tag_is_a_flow_and_the_unit_beside_it_counts(tmp_path):
    lines = ["TagName,DateTime,Value,EngUnits"]
    for k in range(ROWS):
        for tag, value, unit in (
            ("PRV3_PT_UP", 117 + k % 7, "psi"),
            ("PRV3_PT_DN", 57 + k % 5, "psi"),
            ("PRV3_FT", 84 + k % 9, "gpm"),
        ):
            lines.append(f"{tag},{_when(k):%Y-%m-%d %H:%M:%S},{value},{unit}")
    got = _values(_read(tmp_path, "\n".join(lines) + "\n"))
    assert got["flow"][1] == pytest.approx(85 * 6.30902e-5, rel=1e-5)
    assert set(got) == {"inlet pressure", "outlet pressure", "flow"}


@pytest.mark.parametrize(
    ("tag", "quantity", "unit"),
    [
        ("PRV3_FT", "flow", None),
        ("FT-101", "flow", None),
        ("HEAD_FT", None, "ft head"),
        ("K7.LT", "chamber level", None),
    ],
)
def test_letters_of_instruments(tag, quantity, unit):
    found = said(tag)
    assert found.quantity == quantity or (quantity is None and found.pressure)
    assert (found.unit.name if found.unit else None) == unit


def test_groups_of_lakhs_and_brackets_below_zero():
    assert [number(one, ".") for one in ("1,88,215.4", "12,34,567", "(10.3)", "(x)")] == [
        188215.4,
        1234567,
        -10.3,
        None,
    ]
    assert number("(10,3)", ",") == -10.3


def test_a_payload_in_a_cell_is_opened(tmp_path):
    lines = ["received_at,device,payload"]
    for k in range(ROWS):
        told = json.dumps({"pin_bar": 8 + k % 7 / 100, "pout": {"bar": 4 + k % 5 / 100}, "flow_lps": 10.5})
        quoted = told.replace('"', '""')
        lines.append(f'{_when(k):%Y-%m-%dT%H:%M:%SZ},0007,"{quoted}"')
    got = _values(_read(tmp_path, "\n".join(lines) + "\n"))
    assert got["inlet pressure"] == pytest.approx([(8 + k % 7 / 100) * 1e5 for k in range(ROWS)])
    assert got["outlet pressure"][3] == pytest.approx(4.03e5)
    assert got["flow"][0] == pytest.approx(0.0105)


def test_measurements_with_base_fields(tmp_path):
    """The fields of RFC 8428, 4.1: base name and time hold for the records behind them."""
    base = int(FIRST.replace(tzinfo=UTC).timestamp())
    records = []
    for k in range(ROWS):
        records += [
            {"n": "pressure_in", "u": "Pa", "v": 8e5 + k % 7, "t": 900 * k},
            {"n": "pressure_out", "u": "Pa", "v": 4e5 + k % 5, "t": 900 * k},
        ]
    records[0] |= {"bn": "urn:dev:ser:7:", "bt": base}
    got = _values(_read(tmp_path, json.dumps(records), "a.json"))
    assert got["inlet pressure"] == pytest.approx([8e5 + k % 7 for k in range(ROWS)])
    assert got["outlet pressure"][4] == pytest.approx(4e5 + 4)


def test_series_below_a_station_are_unrolled(tmp_path):
    series = [
        {
            "name": name,
            "unit": "bar",
            "data": [
                {"time": f"{_when(k):%Y-%m-%dT%H:%M:%S}", "value": low + k % 7 / 100} for k in range(ROWS)
            ],
        }
        for name, low in (("inlet pressure", 8), ("outlet pressure", 4))
    ]
    got = _values(
        _read(tmp_path, json.dumps({"station": "K 5", "from": "2027-03-04", "series": series}), "a.json")
    )
    assert got["outlet pressure"] == pytest.approx([(4 + k % 7 / 100) * 1e5 for k in range(ROWS)])
    assert len(got["inlet pressure"]) == ROWS


def test_a_remark_with_a_comma_between_the_samples_is_one(tmp_path):
    lines = ["Time,Inlet pressure (bar),Outlet pressure (bar)"]
    for k in range(ROWS):
        lines.append(f"{_when(k):%Y-%m-%d %H:%M},{8 + k % 7 / 100:.2f},{4 + k % 5 / 100:.2f}")
        if k in (20, 90):
            lines += ["# signal lost, buffered data follow", "# once more, twice"]
    found = _read(tmp_path, "\n".join(lines) + "\n")
    assert len(_values(found)["inlet pressure"]) == ROWS
    assert found.rows_left_out == {"header": 1, "event": 4}


PULSES = [
    ("Impulse", "Impulswertigkeit: 100 l/Imp", "flow", 0.1 / 900),
    ("Pulses (10 L/pulse)", "", "flow", 0.01 / 900),
    ("Pulse total (1 pulse = 10 L)", "", "meter index", 0.01),
]


@pytest.mark.parametrize(("heading", "ahead", "quantity", "one"), PULSES)
def test_pulses_whose_size_is_told_are_reckoned(heading, ahead, quantity, one, tmp_path):
    counts = [1000 + 7 * k if quantity == "meter index" else 90 - 13 * k % 40 for k in range(ROWS)]
    lines = (
        [ahead, f"Time;Outlet pressure bar;{heading}"] if ahead else [f"Time;Outlet pressure bar;{heading}"]
    )
    lines += [f"{_when(k):%Y-%m-%d %H:%M};4.0{k % 7};{counts[k]}" for k in range(ROWS)]
    found = _read(tmp_path, "\n".join(lines) + "\n")
    assert _values(found)[quantity] == pytest.approx([one * each for each in counts])
    assert [each.field for each in found.doubts] == ([] if quantity == "meter index" else ["quantity"])


@pytest.mark.parametrize("heading", ["Time (UTC)", "time_utc", "Timestamp UTC"])
def test_a_heading_that_says_utc_needs_no_question_where_no_zone_is_told(heading, tmp_path):
    lines = [f"{heading},Inlet pressure bar"]
    lines += [f"{_when(k):%Y-%m-%d %H:%M},8.0{k % 7}" for k in range(ROWS)]
    found = _read(tmp_path, "\n".join(lines) + "\n", zone="")
    assert _values(found)["inlet pressure"][1] == pytest.approx(8.01e5)
    assert found.doubts == ()
    assert "The heading of the times says UTC" in " ".join(found.words)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("令和9年3月4日", (2027, 3, 4)),
        ("平成39年3月4日", (2027, 3, 4)),
        ("令和元年5月1日", (2019, 5, 1)),
    ],
)
def test_years_of_the_eras_of_japan(text, day):
    found = stamp(text)
    assert found is not None
    assert found.parts == day


@pytest.mark.parametrize("long", [False, True])
@pytest.mark.parametrize("heading", ["Time (UTC)", "Time"])
def test_what_a_file_says_of_its_zone_is_assumed_and_asked_about(heading, long, tmp_path, monkeypatch):
    if long:
        monkeypatch.setattr(proposing, "LONG", 5000)
    summer = datetime(2026, 7, 1)
    lines = [] if "UTC" in heading else ["All times in CET (UTC+1), no summer time; time zone fixed"]
    lines += [f"{heading},Inlet pressure bar"]
    lines += [f"{summer + timedelta(minutes=15 * k):%Y-%m-%d %H:%M},8.0{k % 7}" for k in range(600)]
    path = tmp_path / "a.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    told = Context(zone="Europe/Berlin", known=KNOWN)
    found = propose([path], told)
    (doubt,) = found.doubts
    stated = "UTC" if "UTC" in heading else "UTC+1"
    assert (doubt.field, doubt.taken) == ("zone stated", stated)
    ahead = timedelta(hours=0 if stated == "UTC" else 1)
    assert found.channels[0][1].collect()["t"][0] == summer.replace(tzinfo=UTC) - ahead
    answered = propose([path], told_before(told, {"zone stated": "Europe/Berlin"}))
    assert answered.channels[0][1].collect()["t"][0] == summer.replace(tzinfo=UTC) - timedelta(hours=2)
    assert "zone stated" not in [one.field for one in answered.doubts]


@pytest.mark.parametrize("long", [False, True])
@pytest.mark.parametrize("form", ["%H:%M %d/%m/%Y", "%I:%M %p %d/%m/%Y", "%H:%M:%S, %Y-%m-%d"])
def test_a_time_of_day_ahead_of_its_date(form, long, tmp_path, monkeypatch):
    if long:
        monkeypatch.setattr(proposing, "LONG", 5000)
    rows = 2000
    lines = ["Thời gian;Áp lực đầu vào (bar);Lưu lượng (m3/h)"]
    lines += [f"{_when(k):{form}};8.0{k % 7};36.{k % 9}" for k in range(rows)]
    got = _values(_read(tmp_path, "\n".join(lines) + "\n"))
    assert got["inlet pressure"] == pytest.approx([8e5 + k % 7 * 1e3 for k in range(rows)])


@pytest.mark.parametrize("is_shared", [True, False])
def test_channels_with_a_list_of_values_each(is_shared, tmp_path):
    stamps = [f"{_when(k):%Y-%m-%dT%H:%M:%S}" for k in range(ROWS)]
    listed = [
        {"name": name, "unit": "kPa", "values": [low + k % 7 for k in range(ROWS)]}
        | ({} if is_shared else {"time": stamps})
        for name, low in (("Inlet pressure", 800), ("Outlet pressure", 400))
    ]
    whole = {"site": "S-12", "channels": listed} | ({"time": stamps} if is_shared else {})
    got = _values(_read(tmp_path, json.dumps(whole, indent=1), "a.json"))
    assert got["outlet pressure"] == pytest.approx([(400 + k % 7) * 1e3 for k in range(ROWS)])
    assert len(got["inlet pressure"]) == ROWS


HEADS = [
    "Zeitangaben;Winterzeit (UTC+1)",
    "Zeitbasis: MEZ",
    "Time base: UTC+1",
    "Clock: UTC+1 (no DST)",
    "Timestamps in UTC+1",
    "Zeitstempel in UTC+1",
    "Uhrzeit: Winterzeit, UTC+1",
    "Time reference UTC+1",
]


@pytest.mark.parametrize("line", HEADS)
def test_lines_on_the_clock_tell_its_zone(line):
    assert stated_zone(["Zeit"], [line]) == "UTC+1"


@pytest.mark.parametrize("line", ["Clock set 2027-03-01 10:00 UTC", "Logger time compared at 09:00:10 UTC"])
def test_a_moment_with_its_zone_is_no_zone_of_the_samples(line):
    assert stated_zone(["Time"], [line]) == ""


def test_a_paper_is_refused_by_its_name(tmp_path):
    (tmp_path / "a.csv").write_bytes(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj\n")
    with pytest.raises(InputError, match="is a PDF"):
        propose([tmp_path / "a.csv"], Context(zone="UTC"))

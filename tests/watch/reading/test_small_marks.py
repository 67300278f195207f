"""Last lines of a print, units of a minute, columns of faults, units in single cells."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from steadyhead.records.logger import Context, Known
from steadyhead.watch.reading import propose, sampling
from steadyhead.watch.reading.big import read_long
from steadyhead.watch.reading.headings import said
from steadyhead.watch.reading.stamps import stamp

HEADS = "Time;P inlet [bar];P outlet [bar]"


def _lines(count=300):
    for k in range(count):
        when = datetime(2027, 3, 4) + timedelta(minutes=10 * k)
        yield k, f"{when:%Y-%m-%d %H:%M}", f"{8 + k % 7 / 100:.2f}", f"{4 + k % 5 / 100:.2f}"


def _read(folder, lines, known=None):
    path = folder / "a.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return propose([path], Context(zone="UTC", known=known or Known()))


def _samples(found, quantity):
    return next(frame.collect() for one, frame in found.channels if one.quantity == quantity)


@pytest.mark.parametrize(
    "last", ["Printed 2027-03-08 10:00;;", "Printed 2027-03-08 10:00", "Gedruckt 08.03.2027 10:00;;"]
)
def test_a_stamp_amid_words_after_the_samples_is_a_footer(last, tmp_path):
    found = _read(tmp_path, [HEADS, *(";".join(one) for _, *one in _lines()), last])
    assert found.rows_left_out == {"header": 1, "footer": 1}
    assert _samples(found, "inlet pressure").height == 300


@pytest.mark.parametrize(
    "text",
    [
        "Do 04.03.2027 10:00",
        "Thu, 4 Mar 2027 10:00",
        "jeu. 04/03/2027 10:00",
        "Donnerstag, 4. März 2027 10:00",
    ],
)
def test_a_day_of_the_week_may_stand_before_a_date(text):
    assert stamp(text) is not None


@pytest.mark.parametrize("text", ["Printed 2027-03-04 10:00", "Ende 04.03.2027 10:00"])
def test_another_word_may_not(text):
    assert stamp(text) is None


@pytest.mark.parametrize("heading", ["Q m3/min", "Flow [m³/min]", "Durchfluss cbm/min", "Flow (m3/Min)"])
def test_a_minute_in_a_unit_is_no_minimum(heading):
    found = said(heading)
    assert found.statistic is None
    assert found.unit is not None
    assert found.unit.factor == pytest.approx(1 / 60)


def test_of_a_unit_that_is_not_read_a_minute_is_no_minimum_either():
    assert said("Flow kg/min").statistic is None
    assert said("Flow min [m3/h]").statistic == "minimum"
    assert said("Flow max (m3/min)").statistic == "maximum"


def _marked(folder, heading, usual, other):
    lines = [f"{HEADS};{heading}"]
    lines += [";".join((*one, other if k % 50 == 3 else usual)) for k, *one in _lines()]
    return int((_samples(_read(folder, lines), "inlet pressure")["flag"] > 0).sum())


@pytest.mark.parametrize(
    "heading",
    ["error code", "Fehler", "code d'erreur", "alarm", "fault", "Störung", "Errore", "Status alarm"],
)
@pytest.mark.parametrize("other", ["1", "17", "true", "E17"])
def test_under_a_fault_nought_is_good_and_all_else_marks(heading, other, tmp_path):
    assert _marked(tmp_path, heading, "0", other) == 6


@pytest.mark.parametrize("heading", ["valid", "quality", "Status", "ok", "Qualität", "data status"])
def test_under_a_quality_of_one_nought_marks(heading, tmp_path):
    assert _marked(tmp_path, heading, "1", "0") == 6


@pytest.mark.parametrize(
    ("heading", "usual", "other"),
    [
        ("status", "0", "1"),  # which is good is open
        ("error code", "1", "0"),
        ("pump alarm", "0", "1"),  # of another thing than the sample
        ("pump status", "1", "0"),
    ],
)
def test_what_is_open_marks_nothing(heading, usual, other, tmp_path):
    assert _marked(tmp_path, heading, usual, other) == 0


def test_faults_of_a_long_file_mark_alike(tmp_path, monkeypatch):
    for name, size in (("HEAD", 6000), ("PIECE", 500), ("TAIL", 2000)):
        monkeypatch.setattr(sampling, name, size)
    lines = [f"{HEADS};error code"]
    lines += [";".join((*one, "1" if k % 50 == 3 else "0")) for k, *one in _lines(6000)]
    path = tmp_path / "a.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    found = read_long([path], Context(zone="UTC"), tmp_path)
    assert found is not None
    assert int((_samples(found, "inlet pressure")["flag"] > 0).sum()) == 120


KNOWN = Known(lockup=4.2e5)


@pytest.mark.parametrize("heading", ["P outlet", "P outlet [bar]"])
@pytest.mark.parametrize(("of", "unit"), [(100, "kPa"), (14.5038, "psi"), (10.1972, "m")])
def test_cells_with_another_unit_are_turned_into_that_of_the_column(heading, of, unit, tmp_path):
    lines = [f"Time;P inlet [bar];{heading}"]
    for k, when, inlet, outlet in _lines():
        lines.append(f"{when};{inlet};{f'{float(outlet) * of:.2f} {unit}' if k % 100 == 50 else outlet}")
    found = _read(tmp_path, lines, KNOWN)
    values = _samples(found, "outlet pressure")["v"].to_list()
    assert values == pytest.approx([float(outlet) * 1e5 for *_, outlet in _lines()], rel=1e-3)
    assert f"3 numbers of {heading!r} in {unit} beside others; turned into its unit." in found.words


def test_cells_of_another_kind_are_no_value(tmp_path):
    lines = ["Time;P inlet [bar];P outlet [bar]"]
    lines += [f"{when};{inlet};{'12.1 V' if k == 50 else outlet}" for k, when, inlet, outlet in _lines()]
    found = _read(tmp_path, lines, KNOWN)
    assert _samples(found, "outlet pressure")["v"][50] is None
    assert any("1 of another kind" in one for one in found.words)


def test_a_few_bare_cells_beside_ones_with_a_unit_are_told(tmp_path):
    lines = ["Time;P inlet [bar];P outlet"]
    lines += [
        f"{when};{inlet};{outlet}{'' if k % 100 == 50 else ' bar'}" for k, when, inlet, outlet in _lines()
    ]
    found = _read(tmp_path, lines)
    assert "3 numbers of 'P outlet' without a unit, taken to be in bar." in found.words
    assert _samples(found, "outlet pressure")["v"].null_count() == 0


def test_a_long_file_turns_such_cells_alike(tmp_path, monkeypatch):
    for name, size in (("HEAD", 6000), ("PIECE", 500), ("TAIL", 2000)):
        monkeypatch.setattr(sampling, name, size)
    lines = ["Time;P inlet [bar];P outlet"]
    for k, when, inlet, outlet in _lines(6000):
        lines.append(f"{when};{inlet};{f'{float(outlet) * 100:.0f} kPa' if 3200 <= k < 3210 else outlet}")
    path = tmp_path / "a.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    found = read_long([path], Context(zone="UTC", known=KNOWN), tmp_path)
    assert found is not None
    assert _samples(found, "outlet pressure")["v"].max() == pytest.approx(4.04e5)

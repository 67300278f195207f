"""Stamps and numbers of other scripts and habits; tables read wrongly without a question before."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta

import polars as pl
import pytest

from steadyhead.errors import InputError
from steadyhead.records.logger import Context, Known
from steadyhead.watch.reading import propose, sampling
from steadyhead.watch.reading.headings import said
from steadyhead.watch.reading.stamps import stamp
from steadyhead.watch.reading.symbols import symbol

FIRST = datetime(2027, 3, 4)
KNOWN = Known(inlet=8e5, flow=0.01)
HEADS = "Time;P inlet [bar];P outlet [bar]"
_FAR = str.maketrans("0123456789.", "٠١٢٣٤٥٦٧٨٩٫")


def _lines(form, mark=";", count=300, decimal="."):
    for k in range(count):
        when = FIRST + timedelta(minutes=15 * k)
        cells = (form(when), f"{8 + k % 7 / 100:.2f}", f"{4 + k % 5 / 100:.2f}")
        yield mark.join((cells[0], *(one.replace(".", decimal) for one in cells[1:])))


def _read(folder, text, zone="UTC", name="a.csv"):
    path = folder / name
    path.write_text(text, "utf-8")
    return propose([path], Context(zone=zone, known=KNOWN))


def _is_right(found, count=300):
    for quantity, low, size in (("inlet pressure", 8e5, 7), ("outlet pressure", 4e5, 5)):
        frame = next(lazy.collect() for one, lazy in found.channels if one.quantity == quantity)
        assert frame["v"].to_list() == pytest.approx([low + k % size * 1e3 for k in range(count)])
        first = FIRST.replace(tzinfo=UTC)
        assert frame["t"][0] == first
        assert frame["t"][-1] == first + timedelta(minutes=15 * (count - 1))
    return True


def _half(when, am, pm):
    return f"{when.hour % 12 or 12}:{when:%M:%S}", am if when.hour < 12 else pm


FORMS = {
    "blanks": lambda w: f"{w.day}. {w.month}. {w.year} {w.hour}:{w:%M}",
    "dot behind": lambda w: f"{w:%d.%m.%Y}. {w:%H:%M}",
    "year last": lambda w: f"{w:%a %b} {w.day:2d} {w:%H:%M:%S %Y}",
    "Korean": lambda w: "{:%Y-%m-%d} {} {}".format(w, *_half(w, "오전", "오후")[::-1]),
    "Chinese": lambda w: "{}年{}月{}日 {}{}".format(w.year, w.month, w.day, *_half(w, "上午", "下午")[::-1]),
    "Greek": lambda w: "{:%d/%m/%Y} {} {}".format(w, *_half(w, "πμ", "μμ")),
    "Buddhist": lambda w: f"{w:%d/%m}/{w.year + 543} {w:%H:%M}",
}


@pytest.mark.parametrize("name", FORMS)
def test_a_form_of_stamps_is_read(name, tmp_path):
    assert _is_right(_read(tmp_path, "\n".join((HEADS, *_lines(FORMS[name]))) + "\n"))


@pytest.mark.parametrize("text", ["1448/09/25 10:00", "13/12/1405 10:00"])
def test_years_since_the_hijra_are_no_stamp(text):
    assert stamp(text) is None


@pytest.mark.parametrize("text", ["8.02 م", "8.02 SA", "15. 3", "8. 03"])
def test_a_number_with_letters_or_a_blank_is_no_time(text):
    assert stamp(text) is None


def test_digits_of_another_script_are_read(tmp_path):
    body = "\n".join(_lines(lambda w: f"{w:%Y/%m/%d %H:%M}")).translate(_FAR)
    assert _is_right(_read(tmp_path, f"{HEADS}\n{body}\n"))


def _kept(line):
    return ",".join(f'="{one}"' for one in line.split(","))


def test_texts_kept_by_formulas_below_broken_headings_are_read(tmp_path):
    heads = 'Time,"P\ninlet\n[bar]","P\noutlet\n[bar]"'
    body = "\n".join(map(_kept, _lines(lambda w: f"{w:%Y-%m-%d %H:%M}", ",")))
    assert _is_right(_read(tmp_path, f"{heads}\n{body}\n"))


def test_long_files_of_such_texts_are_not_read_lazily():
    body = "\n".join(map(_kept, _lines(lambda w: f"{w:%Y-%m-%d %H:%M}", ",")))
    assert sampling.plan(f"Time,Inlet [bar],Outlet [bar]\n{body}\n".encode(), Context(zone="UTC")) is None


def test_a_quote_for_inches_breaks_no_heading(tmp_path):
    text = f'Main 6"\nBranch 4"\n{HEADS}\n' + "\n".join(_lines(lambda w: f"{w:%Y-%m-%d %H:%M}")) + "\n"
    assert _is_right(_read(tmp_path, text))


def _columns():
    whens = [FIRST + timedelta(minutes=15 * k) for k in range(300)]
    return (
        whens,
        [round(8 + k % 7 / 100, 2) for k in range(300)],
        [round(4 + k % 5 / 100, 2) for k in range(300)],
    )


def test_one_object_of_columns_on_one_line_is_read(tmp_path):
    whens, inlet, outlet = _columns()
    whole = {
        "site": "a",
        "time": [f"{w:%Y-%m-%dT%H:%MZ}" for w in whens],
        "inlet_bar": inlet,
        "outlet_bar": outlet,
    }
    assert _is_right(_read(tmp_path, json.dumps(whole), name="a.json"))


def test_milliseconds_in_brackets_are_a_time_in_json(tmp_path):
    rows = [
        {"Stamp": f"/Date({int(w.replace(tzinfo=UTC).timestamp() * 1000)})/", "InletBar": a, "OutletBar": b}
        for w, a, b in zip(*_columns(), strict=True)
    ]
    assert _is_right(_read(tmp_path, json.dumps({"readings": rows}), name="a.json"))


def test_a_column_named_utc_is_asked_about_where_another_zone_was_told(tmp_path):
    whens, inlet, outlet = _columns()
    path = tmp_path / "a.parquet"
    pl.DataFrame({"time_utc": whens, "inlet_bar": inlet, "outlet_bar": outlet}).write_parquet(path)
    found = propose([path], Context(zone="America/Bogota", known=KNOWN))
    assert [one.field for one in found.doubts] == ["zone stated"]


@pytest.mark.parametrize("is_above", [True, False])
def test_a_row_of_factors_leads_to_a_question(is_above, tmp_path):
    rows = ["Factor;0.01;0.01", "Unit;bar;bar"]
    heads = ["Time;P inlet;P outlet", *(rows if is_above else rows[::-1])]
    body = "\n".join(_lines(lambda w: f"{w:%Y-%m-%d %H:%M}")).replace(";8.", ";8").replace(";4.", ";4")
    found = _read(tmp_path, "\n".join((*heads, body)) + "\n")
    assert [one.field for one in found.doubts] == ["unit", "unit"]
    assert _is_right(found)
    assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())


def test_commas_within_numbers_beside_a_date_and_a_time_are_refused(tmp_path):
    body = "\n".join(_lines(lambda w: f"{w:%d/%m/%Y,%H:%M}", ",", decimal=","))
    with pytest.raises(InputError, match="comma between its columns"):
        _read(tmp_path, f"Date,Time,P inlet (bar),P outlet (bar)\n{body}\n")


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("кгс/см²", "kgf/cm²"),
        ("м³/ч", "m³/h"),
        ("kl/h", "m³/h"),
        ("m3/sa", "m³/h"),
        ("бар", "bar"),
        ("л/с", "L/s"),
    ],
)
def test_units_of_other_countries_are_known(text, name):
    unit = symbol(text)
    assert unit is not None
    assert unit.name == name


@pytest.mark.parametrize(
    ("heading", "quantity"),
    [
        ("PRV U/S kPa", "inlet pressure"), ("PRV D/S kPa", "outlet pressure"),
        ("Presiune intrare (bar)", "inlet pressure"), ("Tekanan Keluar (bar)", "outlet pressure"),
    ],
)  # fmt: skip
def test_sides_of_other_countries_are_known(heading, quantity):
    assert said(heading).quantity == quantity

"""Text messages, logs and pages of markup as tables; words, units and questions of many lands."""

from __future__ import annotations

import gzip
import json
import zipfile
from datetime import UTC, datetime, timedelta

import pytest

from steadyhead.errors import InputError
from steadyhead.records.logger import Context, Known
from steadyhead.watch.reading import propose
from steadyhead.watch.reading.headings import said
from steadyhead.watch.reading.symbols import symbol

KNOWN = Known(lockup=4.2e5, inlet=8e5, flow=0.01)
FIRST, COUNT = datetime(2027, 3, 4), 200


def _rows():
    for k in range(COUNT):
        when = FIRST + timedelta(minutes=15 * k)
        yield when, f"{8 + k % 7 / 100:.2f}", f"{4 + k % 5 / 100:.2f}", f"{10 + k % 9 / 10:.1f}"


def _read(folder, text, zone="UTC", name="a.txt"):
    (folder / name).write_text(text, "utf-8")
    return propose([folder / name], Context(zone=zone, known=KNOWN))


def _is_right(found):
    wanted = (("inlet pressure", 8e5, 7, 1e3), ("outlet pressure", 4e5, 5, 1e3), ("flow", 1e-2, 9, 1e-4))
    for quantity, low, size, step in wanted:
        frame = next(lazy.collect() for one, lazy in found.channels if one.quantity == quantity)
        assert frame["v"].to_list() == pytest.approx([low + k % size * step for k in range(COUNT)])
        start = FIRST.replace(tzinfo=UTC)
        assert frame["t"].to_list() == [start + timedelta(minutes=15 * k) for k in range(COUNT)]
    assert len([one for one, _ in found.channels if one.quantity in {name for name, *_ in wanted}]) == 3
    assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())
    return True


LINES = {
    "message": "{w:%d/%m/%Y %H:%M:%S} From +000: PRV7 PIN={p}bar POUT={q}bar Q={f}l/s BAT=3.6V",
    "colons": "PRV7 {w:%d/%m/%Y %H:%M} PIN: {p} bar, POUT: {q} bar, Q: {f} l/s",
    "gateway": "[{w:%Y-%m-%d %H:%M:%S}] INFO node=7 inlet_bar={p} outlet_bar={q} flow_lps={f}",
    "measurement": "prv,site=7 inlet_bar={p},outlet_bar={q},flow_lps={f} {s:.0f}000000000",
    "object": '{w:%Y-%m-%d %H:%M:%S} rx {{"inlet_bar": {p}, "outlet_bar": {q}, "flow_lps": {f}}}',
    "counted": 'site/7 {{"ts": {s:.0f}, "inlet_bar": {p}, "outlet_bar": {q}, "flow_lps": {f}}}',
    "chat": "[{w:%d/%m/%y, %H:%M:%S}] Turno: entrada={p} bar salida={q} bar caudal={f} l/s",
    "two times": "{late:%Y-%m-%d %H:%M:%S} got {w:%Y-%m-%d %H:%M} PIN={p}bar POUT={q}bar Q={f}l/s",
}


@pytest.mark.parametrize("kind", LINES)
def test_lines_of_names_and_values(tmp_path, kind):
    lines = [
        LINES[kind].format(
            w=w, p=p, q=q, f=f, s=w.replace(tzinfo=UTC).timestamp(), late=w + timedelta(minutes=3)
        )
        for w, p, q, f in _rows()
    ]
    lines[7:7] = ["modem: no signal"]
    assert _is_right(_read(tmp_path, "\n".join(lines) + "\n"))


def test_several_samples_in_a_message_are_not_read_as_one(tmp_path):
    lines = [f"{w:%d/%m/%Y %H:%M} P1:{p},{p},{p} P2:{q},{q},{q} Q:{f},{f},{f}" for w, p, q, f in _rows()]
    assert not _read(tmp_path, "\n".join(lines) + "\n").channels


def test_a_table_that_was_passed_on_by_mail(tmp_path):
    table = [f"> {w:%Y-%m-%d %H:%M},{p},{q},{f}" for w, p, q, f in _rows()]
    lines = ["See below", "", "> > Station 3", "> ", "> Time,Inlet (bar),Outlet (bar),Flow (l/s)", *table]
    assert _is_right(_read(tmp_path, "\n".join(lines) + "\n"))


def test_a_page_of_markup_with_a_table(tmp_path):
    cells = "".join(
        f"<tr><td>{w:%d/%m/%Y %H:%M}</td><td>{p}</td><td>{q}</td><td>{f}</td></tr>\n"
        for w, p, q, f in _rows()
    ).replace(".", ",")
    head = "<tr><th>Fecha</th><th>Entrada (bar)</th><th>Salida (bar)</th><th>Caudal (l/s)</th></tr>"
    page = f"<html><title>x</title><table><tr><td colspan=4>Informe</td></tr>{head}{cells}</table></html>"
    assert _is_right(_read(tmp_path, page, name="a.xls"))


def test_a_workbook_in_one_xml(tmp_path):
    def row(*cells):
        return "<Row>" + "".join(f"<Cell><Data>{one}</Data></Cell>" for one in cells) + "</Row>\n"

    table = "".join(row(f"{w:%Y-%m-%dT%H:%M:%S}.000", *values) for w, *values in _rows())
    head = row("Time", "Inlet (bar)", "Outlet (bar)", "Flow (l/s)")
    assert _is_right(
        _read(tmp_path, f'<?xml version="1.0"?><Workbook><Table>{head}{table}</Table></Workbook>')
    )


def test_a_page_without_a_table_is_refused(tmp_path):
    with pytest.raises(InputError, match="web page without a table"):
        _read(tmp_path, "<html><body><p>Please sign in at 08:00</p></body></html>")


def test_columns_of_json_a_level_down(tmp_path):
    rows = list(_rows())
    data: dict = {"timestamps": [f"{w:%Y-%m-%dT%H:%M:%SZ}" for w, *_ in rows]}
    for at, name in enumerate(("inlet_bar", "outlet_bar", "flow_lps"), 1):
        data[name] = [float(row[at]) for row in rows]
    assert _is_right(_read(tmp_path, json.dumps({"status": "ok", "data": data})))


def test_json_with_the_times_as_names(tmp_path):
    records = {
        f"{w:%Y-%m-%dT%H:%M:%SZ}": {"inlet_bar": float(p), "outlet_bar": float(q), "flow_lps": float(f)}
        for w, p, q, f in _rows()
    }
    assert _is_right(_read(tmp_path, json.dumps(records)))


def _records():
    names = ["time", "inlet_bar", "outlet_bar", "flow_lps"]
    return names, [[f"{w:%Y-%m-%dT%H:%M:%SZ}", float(p), float(q), float(f)] for w, p, q, f in _rows()]


SHAPES = {
    "rows under names": lambda names, rows: [names, *rows],
    "names and data": lambda names, rows: {"columns": names, "index": list(range(len(rows))), "data": rows},
    "an answer": lambda names, rows: {
        "results": [{"series": [{"name": "p", "columns": names, "values": rows}]}]
    },
    "by number": lambda names, rows: {
        name: {str(k): row[at] for k, row in enumerate(rows)} for at, name in enumerate(names)
    },
}


@pytest.mark.parametrize("shape", SHAPES)
def test_tables_in_json(tmp_path, shape):
    assert _is_right(_read(tmp_path, json.dumps(SHAPES[shape](*_records()))))


def test_check_sums_behind_lines_are_no_part_of_a_number(tmp_path):
    rows = [f"$P,{w:%Y-%m-%d %H:%M},{p},{q},{f}*{k % 256:02X}" for k, (w, p, q, f) in enumerate(_rows())]
    assert _is_right(_read(tmp_path, "\n".join(["$H,time,inlet_bar,outlet_bar,flow_lps", *rows]) + "\n"))


def test_packed_files_are_named_so(tmp_path):
    (tmp_path / "a.gz").write_bytes(gzip.compress(b"Time,Inlet (bar)\n"))
    with zipfile.ZipFile(tmp_path / "a.zip", "w") as source:
        source.writestr("data.csv", "Time,Inlet (bar)\n")
    for name, inside in (("a.gz", "is a packed file."), ("a.zip", "with data.csv in it")):
        with pytest.raises(InputError, match=inside):
            propose([tmp_path / name], Context(zone="UTC", known=KNOWN))


@pytest.mark.parametrize(
    ("heading", "statistic"),
    [("Inlet pressure (bar) - 15 min avg", "mean"), ("Flow (l/s) 1 min max", "maximum"),
     ("Inlet min", "minimum"), ("Inlet 15min [bar]", None)],
)  # fmt: skip
def test_how_long_an_interval_is_names_no_minimum(heading, statistic):
    assert said(heading).statistic == statistic


def test_pulses_are_asked_about(tmp_path):
    rows = [f"{w:%Y-%m-%d %H:%M},{p},{q},{80 + k % 9}" for k, (w, p, q, _) in enumerate(_rows())]
    found = _read(tmp_path, "\n".join(["Time,Inlet (bar),Outlet (bar),Pulses per 15 min", *rows]) + "\n")
    assert [(one.field, one.taken) for one in found.doubts] == [("quantity", "other, ")]


def _table(heads, more):
    rows = [f"{w:%Y-%m-%d %H:%M},{p},{q},{f},{more(k)}" for k, (w, p, q, f) in enumerate(_rows())]
    return "\n".join([heads, *rows]) + "\n"


@pytest.mark.parametrize(
    "name",
    ["Diferencial (bar)", "PRV Downstream Pressure SP (bar)", "压差(bar)", "Перепад, бар", "Selisih (bar)"],
)
def test_a_difference_is_no_second_outlet_pressure(tmp_path, name):
    text = _table(f"Time,Inlet (bar),Outlet (bar),Flow (l/s),{name}", lambda k: f"{4 + k % 3 / 100:.2f}")
    found = _read(tmp_path, text.replace("Перепад, бар", '"Перепад, бар"'))
    assert _is_right(found)
    assert not found.doubts


def test_a_pressure_without_words_beside_all_that_are_named_is_asked(tmp_path):
    text = _table("Time,Inlet (bar),Outlet (bar),Flow (l/s),Zq (bar)", lambda k: f"{4 + k % 3 / 100:.2f}")
    found = _read(tmp_path, text)
    assert _is_right(found)
    assert [(one.field, one.taken) for one in found.doubts] == [("quantity", "other, bar")]
    assert "outlet pressure, bar" in [one.value for one in found.doubts[0].choices]


@pytest.mark.parametrize("name", ["fcnt", "f_cnt", "", "Zq"])
def test_a_running_number_is_no_flow_or_pressure(tmp_path, name):
    found = _read(tmp_path, _table(f"Time,Inlet (bar),Outlet (bar),Flow (l/s),{name}", lambda k: 4000 + k))
    assert _is_right(found)
    assert not found.doubts


def test_a_question_what_a_column_measures_can_be_answered_with_nothing(tmp_path):
    rows = [f"{w:%Y-%m-%d %H:%M},{p},{p},{q}" for w, p, q, _ in _rows()]
    found = _read(tmp_path, "\n".join(["Time,A,B,C", *rows]) + "\n")
    asked = [one for one in found.doubts if one.field == "quantity" and one.taken]
    assert asked
    assert all(any(each.value.startswith("other, ") for each in one.choices) for one in asked)


def test_a_flow_far_off_what_is_known_is_asked(tmp_path):
    rows = [f"{w:%Y-%m-%d %H:%M},{p},{q},{k % 9 / 1000 + 0.35:.3f}" for k, (w, p, q, _) in enumerate(_rows())]
    found = _read(tmp_path, "\n".join(["Time,Inlet (bar),Outlet (bar),Qz (zzz)", *rows]) + "\n")
    flows = [one for one, _ in found.channels if one.quantity == "flow"]
    assert not flows or found.doubts


WORDS = {
    "进口压力(MPa)": "inlet pressure", "阀后压力": "outlet pressure", "瞬时流量(t/h)": "flow",
    "一次側圧力": "inlet pressure",
    "2차압력(kgf/cm2)": "outlet pressure", "Давление на входе, МПа": "inlet pressure",
    "Тиск після регулятора, бар": "outlet pressure", "Витрата, м³/год": "flow",
    "ضغط الدخول (بار)": "inlet pressure",
    "دبی (لیتر/ثانیه)": "flow", "לחץ יציאה": "outlet pressure", "แรงดันขาเข้า": "inlet pressure",
    "อัตราการไหล (ลบ.ม./ชม.)": "flow", "Πίεση εξόδου (bar)": "outlet pressure", "电池电压(V)": "battery",
    "Flow Rev (m3/h)": "other", "Flow Fwd (m3/h)": "flow", "Caudal inverso (l/s)": "other",
    "Ciśnienie na wejściu kPa": "inlet pressure", "Ciśnienie na wyjściu kPa": "outlet pressure",
    "Уставка, бар": "other", "Pritisak izlaz [bar]": "outlet pressure", "Discharge (cusec)": "flow",
}  # fmt: skip


@pytest.mark.parametrize("heading", WORDS)
def test_headings_of_many_scripts(heading):
    assert said(heading).quantity == WORDS[heading]


def test_a_counter_in_litres():
    unit = said("Totalizador (l)").unit
    assert unit is not None
    assert unit.name == "L"


def test_units_of_many_lands():
    names = ("м3/год", "ลบ.ม./ชม.", "لتر/ث", "Kg/Sq.cm", "KLPH", "cusec", "ML/day", "кгс/кв.см")
    found = [symbol(one) for one in names]
    assert [one.name for one in found if one] == [
        "m³/h",
        "m³/h",
        "L/s",
        "kgf/cm²",
        "m³/h",
        "cfs",
        "Ml/d",
        "kgf/cm²",
    ]

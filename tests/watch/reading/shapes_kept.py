"""Spreadsheets, JSON, Parquet, several loggers."""

from __future__ import annotations

import io
import random
from dataclasses import replace
from datetime import timedelta

import openpyxl
import polars as pl

from tests.watch.reading.shapes import ZONE, cells, comma, german, local, one_file, shape
from tests.watch.reading.truth import Expected, Shape, berlin, channels, context, record


@shape
def workbook_with_two_sheets_and_hidden_rows():
    rows = record(300)
    wb = openpyxl.Workbook()
    ws = wb.active
    ws.title = "Info"
    ws.append(["Report", "weir"])
    ws.append(["Serial", 4711])
    for nm, part in (("A", rows[:150]), ("B", rows[150:])):
        s = wb.create_sheet(nm)
        s.append(["Weekly"])
        s.append([])
        s.append(["Zeit", "Vordruck [bar]", "Hinterdruck [bar]", "Durchfluss [m³/h]"])
        for r in part:
            s.append([r.t.astimezone(ZONE).replace(tzinfo=None), r.inlet, r.outlet, r.flow])
        s.row_dimensions[20].hidden = True
        s.append(["Mittel", 9.2, 4.2, 30])
    b = io.BytesIO()
    wb.save(b)
    return Shape(
        "xl", {"a.xlsx": b.getvalue()}, berlin(rows), channels(rows, "in", "out", "flow"), {"hidden rows"}
    )


@shape
def workbook_with_text_and_merged_heads():
    rows = record(300)
    wb = openpyxl.Workbook()
    s = wb.active
    s.append(["Site report", None, None, None])
    s.merge_cells("A1:D1")
    s.append([None, "Pressure [bar]", None, "Flow"])
    s.merge_cells("B2:C2")
    s.append(["Date", "Inlet", "Outlet", "m³/h"])
    for r in rows:
        s.append([f"{r.t:%d/%m/%Y %H:%M:%S}", *german(r)[:3]])
    b = io.BytesIO()
    wb.save(b)
    return Shape("xl", {"a.xlsx": b.getvalue()}, context(rows), channels(rows, "in", "out", "flow"))


@shape
def workbook_with_date_and_time_cells():
    rows = record(300)
    wb = openpyxl.Workbook()
    s = wb.active
    s.append(["Date", "Time", "P1 (bar)", "P3 (bar)", "Q (L/s)"])
    for r in rows:
        w = r.t.astimezone(ZONE).replace(tzinfo=None)
        s.append([w.date(), w.time(), r.inlet, r.outlet, round(r.flow / 3.6, 3)])
    b = io.BytesIO()
    wb.save(b)
    return Shape(
        "xl",
        {"a.xlsx": b.getvalue()},
        berlin(rows),
        [
            *channels(rows, "in", "out"),
            Expected("flow", "L/s", [(r.t, round(r.flow / 3.6, 3)) for r in rows], "mean"),
        ],
    )


@shape
def two_loggers_alike():
    rows = record(250)
    a = "Logger A\nTime;Pressure [bar]\n" + "".join(
        f"{local(r, '%d.%m.%Y %H:%M')};{german(r)[0]}\n" for r in rows
    )
    b = "Logger B\nTime;Pressure [bar]\n" + "".join(
        f"{local(r, '%d.%m.%Y %H:%M')};{german(r)[1]}\n" for r in rows
    )
    return Shape("x", {"a.csv": a.encode(), "b.csv": b.encode()}, berlin(rows), channels(rows, "in", "out"))


@shape
def by_exception_in_wide_rows():
    rows = record(500, 60)
    t = "Zeit;Vordruck [bar];Nachdruck [bar]\n"
    A = []
    B = []
    rnd = random.Random(1)
    now = rows[0].t
    for r in rows:
        now += timedelta(seconds=rnd.randint(5, 400))
        q = r.__class__(now, r.inlet, r.outlet, r.flow, r.travel, 0)
        if rnd.random() < 0.5:
            A.append(q)
            t += f"{local(q, '%d.%m.%Y %H:%M:%S')};{german(q)[0]};\n"
        else:
            B.append(q)
            t += f"{local(q, '%d.%m.%Y %H:%M:%S')};;{german(q)[1]}\n"
    return one_file("x", t, berlin(rows, 60), channels(A, "in") + channels(B, "out"), facts={"by exception"})


@shape
def columns_of_a_parquet_file():
    rows = record(250)
    b = io.BytesIO()
    pl.DataFrame(
        {
            "time": [r.t.replace(tzinfo=None) for r in rows],
            "P_in [bar]": [r.inlet for r in rows],
            "Q [L/s]": [r.flow / 3.6 for r in rows],
        }
    ).write_parquet(b)
    return Shape(
        "x",
        {"a.parquet": b.getvalue()},
        context(rows),
        [*channels(rows, "in"), Expected("flow", "L/s", [(r.t, r.flow / 3.6) for r in rows], "mean")],
    )


@shape
def json_lines_in_long_form():
    rows = record(100)
    t = "".join(
        f'{{"time":"{r.t:%Y-%m-%dT%H:%M:%SZ}","channel":"{n}","value":{v}}}\n'
        for r in rows
        for n, v in (("pressure_in", r.inlet), ("pressure_out", r.outlet))
    )
    return one_file("x", t, context(rows), channels(rows, "in", "out"))


@shape
def start_and_interval_with_row_numbers() -> Shape:
    rows = record(200)
    t = "Start;04.03.2027 00:00:00\nIntervall;5 min\n\nNr;Vordruck [bar];Nachdruck [bar]\n" + "".join(
        f"{k + 1};{';'.join(german(r)[:2])}\n" for k, r in enumerate(rows)
    )
    return one_file(
        "x",
        t,
        berlin(rows),
        [
            *channels(rows, "in", "out"),
            Expected("other", "", [(r.t, float(k + 1)) for k, r in enumerate(rows)]),
        ],
    )


@shape
def minutes_since_a_start() -> Shape:
    rows = record(200)
    t = "Start: 2027-03-03 23:00:00\nElapsed (min),P inlet [bar],P outlet [bar]\n" + "".join(
        f"{k * 5},{','.join(cells(r)[:2])}\n" for k, r in enumerate(rows)
    )
    return one_file("x", t, context(rows), channels(rows, "in", "out"))


@shape
def every_row_twice() -> Shape:
    rows = record(200)
    t = "Time,P inlet [bar],P outlet [bar]\n" + "".join(
        2 * f"{r.t:%Y-%m-%d %H:%M},{','.join(cells(r)[:2])}\n" for k, r in enumerate(rows)
    )
    return one_file("x", t, context(rows), channels(rows, "in", "out"))


@shape
def pressures_numbered_against_their_order() -> Shape:
    rows = record(200)
    t = "Time,Pressure 2 [bar],Pressure 1 [bar]\n" + "".join(
        f"{r.t:%Y-%m-%d %H:%M},{cells(r)[1]},{cells(r)[0]}\n" for k, r in enumerate(rows)
    )
    return one_file("x", t, context(rows), channels(rows, "in", "out"))


@shape
def quality_as_a_number() -> Shape:
    rows = record(200)
    t = "Time,P inlet [bar],Q_P inlet,P outlet [bar],Q_P outlet\n" + "".join(
        f"{r.t:%Y-%m-%d %H:%M},{cells(r)[0]},{'64' if k == 5 else '192'},{cells(r)[1]},192\n"
        for k, r in enumerate(rows)
    )
    return one_file("x", t, context(rows), channels(rows, "in", "out"))


@shape
def tags_of_a_control_system() -> Shape:
    rows = record(120)
    t = "Timestamp;TagName;Value;Quality\n" + "".join(
        f"{r.t:%Y-%m-%dT%H:%M:%S.000Z};STN07.{n}.PV;{v};192\n"
        for r in rows
        for n, v in (("PT_IN", cells(r)[0]), ("PT_OUT", cells(r)[1]), ("FT_FLOW", cells(r)[2]))
    )
    return one_file("x", t, context(rows), channels(rows, "in", "out", "flow"))


@shape
def statistics_below() -> Shape:
    rows = record(200)
    t = (
        "Time;P inlet [bar];P outlet [bar]\n"
        + "".join(f"{local(r, '%d.%m.%Y %H:%M')};{';'.join(german(r)[:2])}\n" for r in rows)
        + "\nMin;8,9;4,1\nMax;9,9;4,4\nMittel;9,2;4,3\n04.03.2027 17:00;Export beendet\n"
    )
    return one_file("x", t, berlin(rows), channels(rows, "in", "out"))


@shape
def exponents_and_flow_backwards() -> Shape:
    rows = [replace(r, flow=round(r.flow - 35, 2)) for r in record(200)]
    t = "Time;P inlet [bar];Flow [m³/h]\n" + "".join(
        f"{r.t:%Y-%m-%d %H:%M};{r.inlet:.4E};{r.flow}\n" for r in rows
    )
    return one_file(
        "x",
        t,
        context(rows),
        [
            Expected("inlet pressure", "bar", [(r.t, float(f"{r.inlet:.4E}")) for r in rows]),
            *channels(rows, "flow"),
        ],
    )


@shape
def typographic_minus_and_blanks() -> Shape:
    rows = [replace(r, flow=round(r.flow - 35, 2)) for r in record(200)]
    t = "Zeit;Vordruck [mbar];Durchfluss [m³/h]\n" + "".join(
        f"{local(r, '%d.%m.%Y %H:%M')};{int(r.inlet * 1000):,}".replace(",", "\u00a0")
        + f";{comma(r.flow, 2).replace('-', '−')}\n"
        for r in rows
    )
    return one_file(
        "x",
        t,
        berlin(rows),
        [
            Expected("inlet pressure", "mbar", [(r.t, float(int(r.inlet * 1000))) for r in rows]),
            *channels(rows, "flow"),
        ],
    )

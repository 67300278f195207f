"""Odd file shapes: several languages, packed stamps, names in headers and sheets, failures in words."""

from __future__ import annotations

import io
import random
import zipfile
from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import openpyxl

from tests.watch.reading.shapes import ZONE, cells, comma, german, local, one_file, shape
from tests.watch.reading.truth import Expected, Shape, berlin, channels, context, record

OFFICE = "urn:oasis:names:tc:opendocument:xmlns"
ODS = "application/vnd.oasis.opendocument.spreadsheet"


def table_cell(kind: str, name: str, value: object) -> str:
    of = f' office:{name}="{value}"' if name else ""
    return f'<table:table-cell office:value-type="{kind}"{of}><text:p>{value}</text:p></table:table-cell>'


@shape
def open_document_with_a_hidden_row() -> Shape:
    rows = record(120)
    heads = ("Zeit", "Vordruck [bar]", "Nachdruck [bar]")
    body = (
        "<table:table-row>" + "".join(table_cell("string", "", one) for one in heads) + "</table:table-row>"
    )
    for k, r in enumerate(rows):
        hidden = ' table:visibility="collapse"' if k == 9 else ""
        row = table_cell("date", "date-value", local(r, "%Y-%m-%dT%H:%M:%S"))
        row += table_cell("float", "value", r.inlet) + table_cell("float", "value", r.outlet)
        body += f"<table:table-row{hidden}>{row}</table:table-row>"
    spaces = " ".join(f'xmlns:{one}="{OFFICE}:{one}:1.0"' for one in ("office", "table", "text"))
    text = f'<office:document-content {spaces} office:version="1.2"><office:body><office:spreadsheet>'
    text += f'<table:table table:name="A">{body}</table:table>'
    text += "</office:spreadsheet></office:body></office:document-content>"
    listed = f'<manifest:manifest xmlns:manifest="{OFFICE}:manifest:1.0">'
    listed += f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{ODS}"/></manifest:manifest>'
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as packed:
        packed.writestr("mimetype", ODS)
        packed.writestr("content.xml", text)
        packed.writestr("META-INF/manifest.xml", listed)
    return Shape(
        "ods", {"a.ods": made.getvalue()}, berlin(rows), channels(rows, "in", "out"), {"hidden rows"}
    )


@shape
def several_values_on_each_line() -> Shape:
    rows = record(240)
    t = "Channel: P outlet [bar]\nStart: 04.03.2027 00:00\nInterval: 5 min\n"
    for k in range(0, 240, 12):
        t += " ".join(f"{r.outlet:.3f}" for r in rows[k : k + 12]) + "\n"
    return one_file("x", t, berlin(rows), channels(rows, "out"))


@shape
def words_of_failure_in_a_lone_column() -> Shape:
    rows = record(200)
    bad = {4: "Err 12", 9: "FAULT", 33: "OVL"}
    t = "Time,P outlet [bar]\n" + "".join(
        f"{r.t:%Y-%m-%d %H:%M},{bad.get(k, cells(r)[1])}\n" for k, r in enumerate(rows)
    )
    return one_file(
        "x",
        t,
        context(rows),
        [
            Expected(
                "outlet pressure", "bar", [(r.t, None if k in bad else r.outlet) for k, r in enumerate(rows)]
            )
        ],
    )


@shape
def events_with_a_running_number() -> Shape:
    rows = record(200)
    t = "Nr;Zeit;Vordruck [bar];Nachdruck [bar];Durchfluss [m³/h]\n"
    n = 0
    ex = []
    for k, r in enumerate(rows):
        n += 1
        t += f"{n};{local(r, '%d.%m.%Y %H:%M:%S')};{';'.join(german(r)[:3])}\n"
        ex.append((r.t, float(n)))
        if k % 50 == 20:
            n += 1
            t += f"{n};{local(r, '%d.%m.%Y %H:%M:%S')};Deckel offen;;\n"
    return one_file(
        "x",
        t,
        berlin(rows),
        [*channels(rows, "in", "out", "flow"), Expected("other", "", ex)],
        facts={"event rows"},
    )


@shape
def channels_named_in_the_header() -> Shape:
    rows = record(200)
    t = (
        "DATA LOG\n[Channel 1]\n  Identification  =PRESSURE INLET\n  Range  =16 bar\n[Channel 2]"
        "\n  Identification  =PRESSURE OUTLET\n  Range  =10 bar\n[Data]\n200\n"
    )
    t += (
        "".join(f"{r.t:%Y/%m/%d %H:%M:%S}.0 {cells(r)[0]:>12} {cells(r)[1]:>12}\n" for r in rows)
        + "END OF DATA\n"
    )
    return one_file("x", t, context(rows), channels(rows, "in", "out"))


@shape
def dutch_with_quoted_commas() -> Shape:
    rows = record(300)
    t = (
        '"Datum","Tijd","Voordruk (bar)","Nadruk (bar)","Debiet (m3/u)","Klepstand (%)","Afsluiter dicht"\n'
        + "".join(
            f'"{local(r, "%d-%m-%Y")}","{local(r, "%H:%M:%S")}","{german(r)[0]}","{german(r)[1]}",'
            f'"{german(r)[2]}","{german(r)[3]}","0"\n'
            for r in rows
        )
    )
    return one_file("x", t, berlin(rows), channels(rows))


@shape
def french_hours_with_h() -> Shape:
    rows = record(300)
    t = "Date;Heure;P amont;P aval;Débit;Ouverture;FDC fermé\nunité;;bar;bar;m3/h;%;\n" + "".join(
        f"{local(r, '%d/%m/%y')};{local(r, '%Hh%M')};{';'.join(german(r))}\n" for r in rows
    )
    return one_file("x", t, berlin(rows), channels(rows), "cp1252")


@shape
def italian_clock_with_dots() -> Shape:
    rows = record(300)
    t = (
        "Data ora;Pressione ingresso [bar];Pressione uscita [bar];Portata media [m³/h];"
        "Apertura valvola [%];Valvola di blocco chiusa [0/1]\n"
        + "".join(f"{local(r, '%d/%m/%Y %H.%M.%S')};{';'.join(german(r))}\n" for r in rows)
    )
    return one_file("x", t, berlin(rows), channels(rows))


@shape
def spanish_long_form() -> Shape:
    rows = record(100)
    t = "Canal;Fecha;Valor;Unidad;Calidad\n" + "".join(
        f"{n};{local(r, '%d/%m/%Y %H:%M:%S')};{german(r)[k]};{u};OK\n"
        for r in rows
        for k, (n, u) in enumerate(
            (
                ("Presión entrada", "bar"),
                ("Presión salida", "bar"),
                ("Caudal", "m3/h"),
                ("Posición válvula", "%"),
            )
        )
    )
    return one_file("x", t, berlin(rows), channels(rows, "in", "out", "flow", "travel"))


@shape
def german_words_apart() -> Shape:
    rows = record(300)
    t = (
        "Zeitstempel;Druck Eingang (bar);Druck Ausgang (bar);Durchfluss (m³/h);Ventilstellung (%);SAV zu\n"
        + "".join(f"{local(r, '%d.%m.%Y %H:%M:%S')};{';'.join(german(r))}\n" for r in rows)
    )
    return one_file("x", t, berlin(rows), channels(rows))


@shape
def taps_and_litres_a_minute() -> Shape:
    rows = record(300)
    t = "Time,T0 [bar],T2 [bar],T3 [bar],Q [L/min]\n" + "".join(
        f"{r.t:%Y-%m-%dT%H:%M:%S+00:00},{r.inlet:.3f},{r.inlet - 0.1:.3f},{r.outlet:.3f},"
        f"{r.flow * 16.667:.1f}\n"
        for r in rows
    )
    return one_file(
        "x",
        t,
        context(rows),
        [
            *channels(rows, "in", "out"),
            Expected(
                "pressure between the valves", "bar", [(r.t, float(f"{r.inlet - 0.1:.3f}")) for r in rows]
            ),
            Expected("flow", "L/min", [(r.t, float(f"{r.flow * 16.667:.1f}")) for r in rows], "mean"),
        ],
    )


@shape
def epoch_milliseconds_with_tabs() -> Shape:
    rows = record(300)
    t = "ts\tpressure_inlet_mbar\tpressure_outlet_mbar\n" + "".join(
        f"{int(r.t.timestamp() * 1000)}\t{r.inlet * 1000:.0f}\t{r.outlet * 1000:.0f}\n" for r in rows
    )
    return one_file(
        "x",
        t,
        berlin(rows),
        [
            Expected("inlet pressure", "mbar", [(r.t, float(f"{r.inlet * 1000:.0f}")) for r in rows]),
            Expected("outlet pressure", "mbar", [(r.t, float(f"{r.outlet * 1000:.0f}")) for r in rows]),
        ],
    )


@shape
def silent_units_told_by_visits() -> Shape:
    rows = record(300)
    t = "Time,P in,P out,Flow\n" + "".join(
        f"{r.t:%Y-%m-%d %H:%M:%S},{r.inlet * 10.197:.2f},{r.outlet * 10.197:.2f},{r.flow * 4.4029:.1f}\n"
        for r in rows
    )
    return one_file(
        "x",
        t,
        context(rows),
        [
            Expected("inlet pressure", "m head", [(r.t, float(f"{r.inlet * 10.197:.2f}")) for r in rows]),
            Expected("outlet pressure", "m head", [(r.t, float(f"{r.outlet * 10.197:.2f}")) for r in rows]),
            Expected("flow", "US gpm", [(r.t, float(f"{r.flow * 4.4029:.1f}")) for r in rows], "mean"),
        ],
    )


@shape
def silent_units_told_by_the_station() -> Shape:
    rows = record(300)
    t = "Time,P in,P out,Flow\n" + "".join(
        f"{r.t:%Y-%m-%d %H:%M:%S},{r.inlet * 14.504:.2f},{r.outlet * 14.504:.2f},{r.flow / 3.6:.2f}\n"
        for r in rows
    )
    return one_file(
        "x",
        t,
        replace(context(rows), visits=()),
        [
            Expected("inlet pressure", "psi", [(r.t, float(f"{r.inlet * 14.504:.2f}")) for r in rows]),
            Expected("outlet pressure", "psi", [(r.t, float(f"{r.outlet * 14.504:.2f}")) for r in rows]),
            Expected("flow", "L/s", [(r.t, float(f"{r.flow / 3.6:.2f}")) for r in rows], "mean"),
        ],
    )


@shape
def pairs_of_serial_days() -> Shape:
    rows = record(300)
    zero = datetime(1899, 12, 30)
    f = rows[::2]

    def sd(r):
        return comma((r.t.astimezone(ZONE).replace(tzinfo=None) - zero).total_seconds() / 86400, 8)

    t = "Zeit;Vordruck [bar];Zeit;Nachdruck [bar]\n" + "".join(
        f"{sd(r)};{german(r)[0]};{sd(f[k]) + ';' + german(f[k])[1] if k < len(f) else ';'}\n"
        for k, r in enumerate(rows)
    )
    return one_file("x", t, berlin(rows), channels(rows, "in") + channels(f, "out"))


@shape
def pairs_with_date_and_time() -> Shape:
    rows = record(300)
    t = "Date,Time,P in [bar],Date,Time,P out [bar]\n" + "".join(
        f"{r.t:%d/%m/%Y},{r.t:%H:%M:%S},{cells(r)[0]},{r.t:%d/%m/%Y},{r.t:%H:%M:%S},{cells(r)[1]}\n"
        for r in rows
    )
    return one_file("x", t, context(rows), channels(rows, "in", "out"))


@shape
def stamp_of_reception_beside() -> Shape:
    rows = record(300)
    t = "Received;Device time;P in [bar];P out [bar]\n" + "".join(
        f"{r.t + timedelta(seconds=40 + k % 7):%Y-%m-%d %H:%M:%S};{r.t:%Y-%m-%d %H:%M:%S};{cells(r)[0]};"
        f"{cells(r)[1]}\n"
        for k, r in enumerate(rows)
    )
    return one_file("x", t, context(rows), channels(rows, "in", "out"))


@shape
def cut_within_the_last_stamp() -> Shape:
    rows = record(300)
    t = (
        "Time;P in [bar];P out [bar]\n"
        + "".join(f"{r.t:%Y-%m-%d %H:%M:%S};{cells(r)[0]};{cells(r)[1]}\n" for k, r in enumerate(rows))
        + "2027-03-0"
    )
    return one_file("x", t, context(rows), channels(rows, "in", "out"), facts={"file cut off"})


@shape
def milliseconds_after_a_comma() -> Shape:
    rows = [
        replace(r, t=r.t + timedelta(milliseconds=137 * k % 900)) for k, r in enumerate(record(300, step=1))
    ]
    t = "Time;P in [bar];P out [bar]\n" + "".join(
        f"{r.t:%Y-%m-%d %H:%M:%S},{r.t.microsecond // 1000:03d};{german(r)[0]};{german(r)[1]}\n"
        for k, r in enumerate(rows)
    )
    return one_file("x", t, context(rows, interval=1), channels(rows, "in", "out"))


@shape
def american_hour_twice() -> Shape:
    rows = record(600, start="2027-11-07T00:00:00")
    Z = ZoneInfo("America/New_York")
    t = "Time,P in [psi],P out [psi]\n" + "".join(
        f"{r.t.astimezone(Z):%m/%d/%Y %H:%M},{r.inlet * 14.5:.2f},{r.outlet * 14.5:.2f}\n" for r in rows
    )
    return one_file(
        "x",
        t,
        context(rows, "America/New_York", "station local time America/New_York, clock changes followed"),
        [
            Expected("inlet pressure", "psi", [(r.t, float(f"{r.inlet * 14.5:.2f}")) for r in rows]),
            Expected("outlet pressure", "psi", [(r.t, float(f"{r.outlet * 14.5:.2f}")) for r in rows]),
        ],
        facts={"hour twice"},
    )


@shape
def missing_marks_everywhere() -> Shape:
    rows = record(500)
    rnd = random.Random(4)
    t = "Time;P in [bar];P out [bar];Q [m³/h]\n"
    ex: list[list[tuple[datetime, float | None]]] = [[], [], []]
    for r in rows:
        c = german(r)[:3]
        for k, v in enumerate((r.inlet, r.outlet, r.flow)):
            if rnd.random() < 0.06:
                c[k] = rnd.choice(["", "-", "---", "NaN", "#N/A", "9999", "-999,9", "Err"])
                ex[k].append((r.t, None))
            else:
                ex[k].append((r.t, v))
        t += f"{local(r, '%d.%m.%Y %H:%M')};{';'.join(c)}\n"
    return one_file(
        "x",
        t,
        berlin(rows),
        [
            Expected("inlet pressure", "bar", ex[0]),
            Expected("outlet pressure", "bar", ex[1]),
            Expected("flow", "m³/h", ex[2], "mean"),
        ],
    )


@shape
def gaps_are_no_rule() -> Shape:
    rows = [r for k, r in enumerate(record(500)) if not 100 < k < 140 and k % 17]
    t = "Time;P in [bar];P out [bar]\n" + "".join(
        f"{local(r, '%d.%m.%Y %H:%M')};{';'.join(german(r)[:2])}\n" for r in rows
    )
    return one_file("x", t, berlin(rows), channels(rows, "in", "out"))


@shape
def date_and_time_packed() -> Shape:
    rows = record(300)
    t = "Datum;Uhrzeit;Vordruck bar;Nachdruck bar\n" + "".join(
        f"{local(r, '%Y%m%d')};{local(r, '%H%M')};{';'.join(german(r)[:2])}\n" for r in rows
    )
    return one_file("x", t, berlin(rows), channels(rows, "in", "out"))


@shape
def units_behind_each_number() -> Shape:
    rows = record(300)
    t = "Zeit;Vordruck;Nachdruck;Durchfluss\n" + "".join(
        f"{local(r, '%d.%m.%Y %H:%M')};{german(r)[0]} bar;{german(r)[1]} bar;{german(r)[2]} m³/h\n"
        for r in rows
    )
    return one_file("x", t, berlin(rows), channels(rows, "in", "out", "flow"))


@shape
def a_sheet_for_each_channel() -> Shape:
    rows = record(150)
    wb = openpyxl.Workbook()
    wb.remove(wb.active)
    for n, u, k in (
        ("Vordruck", "bar", "inlet"),
        ("Hinterdruck", "bar", "outlet"),
        ("Durchfluss", "m³/h", "flow"),
    ):
        s = wb.create_sheet(n)
        s.append(["Zeit", f"Wert [{u}]"])
        for r in rows:
            s.append([r.t.astimezone(ZONE).replace(tzinfo=None), getattr(r, k)])
    b = io.BytesIO()
    wb.save(b)
    return Shape("x", {"a.xlsx": b.getvalue()}, berlin(rows), channels(rows, "in", "out", "flow"))


@shape
def date_in_the_header_alone() -> Shape:
    rows = record(400)
    t = "Station: weir\nDate: 04.03.2027\nTime;P in [bar];P out [bar]\n" + "".join(
        f"{local(r, '%H:%M:%S')};{';'.join(german(r)[:2])}\n" for r in rows
    )
    return one_file("x", t, berlin(rows), channels(rows, "in", "out"))


@shape
def a_row_for_each_new_day() -> Shape:
    rows = record(400)
    last = ""
    t = "Time;P in [bar];P out [bar]\n"
    for r in rows:
        d = local(r, "%d.%m.%Y")
        if d != last:
            t += f"{d}\n"
            last = d
        t += f"{local(r, '%H:%M')};{';'.join(german(r)[:2])}\n"
    return one_file("x", t, berlin(rows), channels(rows, "in", "out"))


@shape
def a_file_for_each_channel() -> Shape:
    rows = record(200)

    def f(n, u, k):
        return (
            f"Channel: {n}\nUnit: {u}\n\nTime;Value\n"
            + "".join(f"{local(r, '%d.%m.%Y %H:%M')};{german(r)[k]}\n" for r in rows)
        ).encode()

    return Shape(
        "x",
        {"1.txt": f("P inlet", "bar", 0), "2.txt": f("P outlet", "bar", 1), "3.txt": f("Flow", "m³/h", 2)},
        berlin(rows),
        channels(rows, "in", "out", "flow"),
    )


@shape
def switch_on_change_beside_a_pressure() -> Shape:
    rows = record(300)
    ev = [(rows[0].t, 0), (rows[100].t + timedelta(seconds=13), 1), (rows[140].t + timedelta(seconds=7), 0)]
    t = "Time;P out [bar];Time;SO closed [0/1]\n"
    for k, r in enumerate(rows):
        t += (
            f"{local(r, '%d.%m.%Y %H:%M:%S')};{german(r)[1]};"
            + (f"{ev[k][0].astimezone(ZONE):%d.%m.%Y %H:%M:%S};{ev[k][1]}" if k < 3 else ";")
            + "\n"
        )
    return one_file(
        "x",
        t,
        berlin(rows),
        [*channels(rows, "out"), Expected("shut-off closed", "state", [(a, float(b)) for a, b in ev])],
    )

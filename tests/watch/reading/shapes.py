"""File shapes of the trade in our own words: the text of each file and the channels that must come out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from tests.watch.reading.truth import Expected, Sample, Shape, berlin, channels, context, record

Made = Callable[[], Shape]
ZONE = ZoneInfo("Europe/Berlin")
SHAPES: list[Made] = []


def shape(made: Made) -> Made:
    """Put a shape on the list; its function's name is the shape's name."""
    SHAPES.append(made)
    return made


def local(one: Sample, form: str) -> str:
    return one.t.astimezone(ZONE).strftime(form)


def comma(value: float, places: int) -> str:
    return f"{value:.{places}f}".replace(".", ",")


def one_file(name: str, text: str, told, expected, encoding="utf-8", **more) -> Shape:
    return Shape(name, {"a.txt": text.encode(encoding)}, told, expected, **more)


def cells(one: Sample) -> list[str]:
    return [f"{one.inlet:.3f}", f"{one.outlet:.3f}", f"{one.flow:.2f}", f"{one.travel:.1f}", str(one.closed)]


def german(one: Sample) -> list[str]:
    return [each.replace(".", ",") for each in cells(one)]


@shape
def plain_commas() -> Shape:
    rows = record()
    text = "Time,P inlet [bar],P outlet [bar],Flow [m³/h],Valve travel [%],Shut-off closed [0/1]\n"
    text += "".join(f"{r.t:%Y-%m-%dT%H:%M:%SZ},{','.join(cells(r))}\n" for r in rows)
    return one_file("plain commas", text, context(rows), channels(rows))


@shape
def german_with_junk_and_latin1() -> Shape:
    rows = record()
    junk = "Messstelle;Schacht am Wehr\r\nSeriennummer;004711\r\nBatterie;3,58 V\r\n"
    junk += "Bemerkung;Deckel klemmt / lid stuck\r\n"
    junk += "Messbeginn;04.03.2027 00:00:00\r\nIntervall;00:05:00\r\n\r\n"
    head = "Datum/Uhrzeit;Vordruck;Hinterdruck;Durchfluss;Öffnungsgrad;SAV geschlossen;\r\n"
    head += ";bar;bar;m³/h;%;0/1;\r\n"
    body = "".join(f"{local(r, '%d.%m.%Y %H:%M:%S')};{';'.join(german(r))};\r\n" for r in rows)
    return one_file("german", junk + head + body, berlin(rows), channels(rows), "latin-1")


@shape
def utf16_tabs_and_quotes() -> Shape:
    rows = record()
    text = '"Horodatage"\t"Pression amont (bar)"\t"Pression aval (bar)"\t"Débit (m3/h)"\r\n'
    text += "".join(
        f'"{local(r, "%d/%m/%Y %H:%M")}"\t"{german(r)[0]}"\t"{german(r)[1]}"\t"{german(r)[2]}"\r\n'
        for r in rows
    )
    return one_file("utf-16", text, berlin(rows), channels(rows, "in", "out", "flow"), "utf-16")


@shape
def american_half_days() -> Shape:
    rows = record()
    text = "Date,Time,Upstream (psi),Downstream (psi),Flow (gpm)\n"
    text += "".join(
        f"{r.t:%m/%d/%Y},{r.t:%I:%M:%S %p},"
        f"{r.inlet * 14.5038:.1f},{r.outlet * 14.5038:.1f},{r.flow * 4.4029:.1f}\n"
        for r in rows
    )
    psi = [
        Expected("inlet pressure", "psi", [(r.t, float(f"{r.inlet * 14.5038:.1f}")) for r in rows]),
        Expected("outlet pressure", "psi", [(r.t, float(f"{r.outlet * 14.5038:.1f}")) for r in rows]),
        Expected("flow", "US gpm", [(r.t, float(f"{r.flow * 4.4029:.1f}")) for r in rows], "mean"),
    ]  # fmt: skip
    return one_file("american", text, context(rows), psi)


@shape
def twenty_four_hundred() -> Shape:
    rows = record()

    def stamped(r: Sample) -> str:
        when = r.t.astimezone(ZONE)
        if when.hour == 0 and when.minute == 0:
            return f"{when - timedelta(days=1):%d.%m.%Y} 24:00"
        return f"{when:%d.%m.%Y %H:%M}"

    text = "Zeit;Eingangsdruck [bar];Ausgangsdruck [bar]\n" + "".join(
        f"{stamped(r)};{';'.join(german(r)[:2])}\n" for r in rows
    )
    return one_file("24:00", text, berlin(rows), channels(rows, "in", "out"))


@shape
def date_only_on_the_first_row_of_a_day() -> Shape:
    rows = record()
    text, last = "Fecha;Hora;Presión aguas arriba (bar);Presión aguas abajo (bar);Caudal (m3/h)\n", ""
    for r in rows:
        day = local(r, "%d/%m/%Y")
        text += f"{day if day != last else ''};{local(r, '%H:%M')};{';'.join(german(r)[:3])}\n"
        last = day
    return one_file("date once", text, berlin(rows), channels(rows, "in", "out", "flow"))


@shape
def one_column_with_the_date_once() -> Shape:
    rows = record()
    text, last = "Tijdstip;Voordruk (bar);Nadruk (bar)\n", ""
    for r in rows:
        day = local(r, "%d-%m-%Y")
        text += f"{day + ' ' if day != last else ''}{local(r, '%H:%M:%S')};{';'.join(german(r)[:2])}\n"
        last = day
    return one_file("date once in the column", text, berlin(rows), channels(rows, "in", "out"))


@shape
def pairs_with_own_lengths() -> Shape:
    rows = record(160)
    few = rows[::3]
    text = "Time;P in [bar];Time;P out [bar];Time;Flow [m³/h]\n"
    for k in range(160):
        a = f"{local(rows[k], '%d.%m.%Y %H:%M:%S')};{german(rows[k])[0]}"
        b = f"{local(rows[k], '%d.%m.%Y %H:%M:%S')};{german(rows[k])[1]}" if k < 120 else ";"
        c = f"{local(few[k], '%d.%m.%Y %H:%M:%S')};{german(few[k])[2]}" if k < len(few) else ";"
        text += f"{a};{b};{c}\n"
    expected = channels(rows, "in") + channels(rows[:120], "out") + channels(few, "flow")
    return one_file("pairs", text, berlin(rows), expected)


@shape
def long_with_quality() -> Shape:
    rows = record(80)
    text = "timestamp,tag,value,unit,quality\n"
    for r in rows:
        for name, unit, value in zip(
            ("P_in", "P_out", "Flow"), ("bar", "bar", "m3/h"), cells(r), strict=False
        ):
            quality = "Bad" if r is rows[7] and name == "P_in" else "Good"
            text += f"{r.t:%Y-%m-%d %H:%M:%S},{name},{value},{unit},{quality}\n"
    return one_file(
        "long", text, context(rows), channels(rows, "in", "out", "flow"), facts={"flagged samples"}
    )


@shape
def long_sorted_by_channel() -> Shape:
    rows = record(90)
    text = "Kanal;Zeit;Messwert\n"
    for at, name in enumerate(("Vordruck [bar]", "Nachdruck [bar]", "Durchfluss [m³/h]")):
        text += "".join(f"{name};{local(r, '%d.%m.%Y %H:%M')};{german(r)[at]}\n" for r in rows)
    return one_file("long by channel", text, berlin(rows), channels(rows, "in", "out", "flow"))


@shape
def start_and_interval() -> Shape:
    rows = record()
    text = (
        "Station: weir chamber\nStart: 2027-03-04 00:00:00\nInterval: 300 s\nP inlet [bar];P outlet [bar]\n"
    )
    text += "".join(f"{';'.join(german(r)[:2])}\n" for r in rows)
    return one_file("start", text, berlin(rows), channels(rows, "in", "out"))


@shape
def one_bare_column() -> Shape:
    rows = record()
    text = "Channel: P outlet [bar]\nStart time: 03/03/2027 23:00\nSample interval: 5 min\n"
    text += "Samples: 200\nValues:\n"
    text += "".join(f"{r.outlet:.3f}\n" for r in rows)
    return one_file("bare column", text, context(rows), channels(rows, "out"))


@shape
def seconds_since_start() -> Shape:
    rows = record(step=10)
    text = "# started 2027-03-03 23:00:00\nElapsed (s),P_up (kPa),P_down (kPa)\n"
    text += "".join(f"{k * 10},{r.inlet * 100:.1f},{r.outlet * 100:.1f}\n" for k, r in enumerate(rows))
    return one_file("elapsed", text, context(rows, interval=10), kilo(rows))


def kilo(rows: list[Sample]) -> list[Expected]:
    return [
        Expected("inlet pressure", "kPa", [(r.t, float(f"{r.inlet * 100:.1f}")) for r in rows]),
        Expected("outlet pressure", "kPa", [(r.t, float(f"{r.outlet * 100:.1f}")) for r in rows]),
    ]


@shape
def serial_days() -> Shape:
    rows = record()
    zero = datetime(1899, 12, 30)
    text = "Datum;Vordruck bar;Hinterdruck bar\n"
    for r in rows:
        wall = r.t.astimezone(ZONE).replace(tzinfo=None)
        text += f"{comma((wall - zero).total_seconds() / 86400, 6)};{';'.join(german(r)[:2])}\n"
    return one_file("serial", text, berlin(rows), channels(rows, "in", "out"))


@shape
def epoch_seconds() -> Shape:
    rows = record()
    text = "epoch,p_in_bar,p_out_bar,flow_m3h\n"
    text += "".join(f"{int(r.t.timestamp())},{','.join(cells(r)[:3])}\n" for r in rows)
    return one_file("epoch s", text, berlin(rows), channels(rows, "in", "out", "flow"))


@shape
def epoch_milliseconds_as_json_lines() -> Shape:
    rows = record()
    text = "".join(
        f'{{"ts": {int(r.t.timestamp() * 1000)}, "inlet_pressure_bar": {r.inlet}, '
        f'"flow_m3h": {r.flow}, "outlet": {{"pressure_bar": {r.outlet}}}}}\n'
        for r in rows
    )
    return one_file("json lines", text, context(rows), channels(rows, "in", "out", "flow"))


@shape
def hour_twice() -> Shape:
    rows = record(120, start="2027-10-30T20:00:00")
    text = "Zeit;Vordruck [bar];Nachdruck [bar]\n" + "".join(
        f"{local(r, '%d.%m.%Y %H:%M')};{';'.join(german(r)[:2])}\n" for r in rows
    )
    return one_file("hour twice", text, berlin(rows), channels(rows, "in", "out"), facts={"hour twice"})


@shape
def hour_missing() -> Shape:
    rows = record(120, start="2027-03-27T20:00:00")
    text = "Zeit;Vordruck [bar];Nachdruck [bar]\n" + "".join(
        f"{local(r, '%d.%m.%Y %H:%M')};{';'.join(german(r)[:2])}\n" for r in rows
    )
    return one_file("hour missing", text, berlin(rows), channels(rows, "in", "out"), facts={"hour missing"})


@shape
def standard_time_all_year() -> Shape:
    rows = record(120, start="2027-10-30T20:00:00")
    text = "Zeit;Vordruck [bar];Nachdruck [bar]\n" + "".join(
        f"{r.t + timedelta(hours=1):%d.%m.%Y %H:%M};{';'.join(german(r)[:2])}\n" for r in rows
    )
    told = context(rows, "Europe/Berlin", "logger keeps standard time all year, clock changes not followed")
    return one_file("standard time", text, told, channels(rows, "in", "out"))


@shape
def offsets_in_the_stamps() -> Shape:
    rows = record(120, start="2027-10-30T20:00:00")
    text = '"when","p_in (bar)","p_out (bar)"\r\n' + "".join(
        f'"{r.t.astimezone(ZONE).strftime("%d/%m/%Y %H:%M:%S %z")[:-2]}:00",'
        f'"{german(r)[0]}","{german(r)[1]}"\r\n'
        for r in rows
    )
    return one_file("offsets", text, berlin(rows), channels(rows, "in", "out"))


@shape
def stamps_change_after_new_firmware() -> Shape:
    rows = record()
    text = "Time;P inlet [bar];P outlet [bar]\n"
    for k, r in enumerate(rows):
        form = "%d.%m.%Y %H:%M" if k < 90 else "%Y-%m-%d %H:%M:%S"
        text += f"{local(r, form)};{';'.join(german(r)[:2] if k < 90 else cells(r)[:2])}\n"
    return one_file("firmware", text, berlin(rows), channels(rows, "in", "out"), facts={"change of format"})


@shape
def second_header_after_a_restart() -> Shape:
    rows = record()
    head = "Site: weir chamber\nTime,P inlet [bar],P outlet [bar],Flow [m³/h]\n"
    text = head
    for k, r in enumerate(rows):
        if k == 70:
            text += "\nRestarted by watchdog\n" + head
        text += f"{r.t:%Y-%m-%d %H:%M:%S},{','.join(cells(r)[:3])}\n"
    return one_file(
        "restart", text, context(rows), channels(rows, "in", "out", "flow"), facts={"second header"}
    )


@shape
def second_header_with_other_columns() -> Shape:
    rows = record()
    text = "Time,P inlet [bar],P outlet [bar]\n"
    for k, r in enumerate(rows):
        if k == 70:
            text += "Time,P outlet [bar],P inlet [bar]\n"
        first, second = cells(r)[:2] if k < 70 else cells(r)[1::-1]
        text += f"{r.t:%Y-%m-%d %H:%M:%S},{first},{second}\n"
    return one_file(
        "other columns", text, context(rows), channels(rows, "in", "out"), facts={"second header"}
    )


@shape
def event_rows_and_footer() -> Shape:
    rows = record()
    text = "Time;P inlet [bar];P outlet [bar]\n"
    for k, r in enumerate(rows):
        if k in (40, 41, 120):
            text += f"{local(r, '%d.%m.%Y %H:%M')};door open;\n" if k < 100 else "*** battery changed ***\n"
        text += f"{local(r, '%d.%m.%Y %H:%M')};{';'.join(german(r)[:2])}\n"
    text += "Mittelwert;9,2;4,2\nAnzahl;200;200\nEnde der Datei\n"
    return one_file(
        "events",
        text,
        berlin(rows),
        channels(rows, "in", "out"),
        facts={"event rows", "footer"},
    )


@shape
def missing_marks_of_all_kinds() -> Shape:
    rows = record()
    marks = {5: "---", 9: "NaN", 22: "", 30: "#N/A", 31: "9999", 60: "-999.9", 77: "Err"}
    text = "Time,P inlet [bar],P outlet [bar]\n"
    for k, r in enumerate(rows):
        text += f"{r.t:%Y-%m-%d %H:%M},{cells(r)[0]},{marks.get(k, cells(r)[1])}\n"
    out = Expected(
        "outlet pressure", "bar", [(r.t, None if k in marks else r.outlet) for k, r in enumerate(rows)]
    )
    return one_file("missing", text, context(rows), [*channels(rows, "in"), out], facts={"missing marks"})


@shape
def flags_and_stars() -> Shape:
    rows = record()
    text = "Time;P in [bar];Status;P out [bar];Status\n"
    for k, r in enumerate(rows):
        text += f"{r.t:%Y-%m-%d %H:%M};{cells(r)[0]};{'*' if k in (8, 9) else 'OK'};{cells(r)[1]};OK\n"
    return one_file("flags", text, context(rows), channels(rows, "in", "out"), facts={"flagged samples"})


@shape
def cut_in_the_last_row() -> Shape:
    rows = record()
    text = "Time,P inlet [bar],P outlet [bar],Flow [m³/h]\n"
    text += "".join(f"{r.t:%Y-%m-%d %H:%M},{','.join(cells(r)[:3])}\n" for r in rows)[:-10]
    return one_file(
        "cut", text, context(rows), channels(rows[:-1], "in", "out", "flow"), facts={"file cut off"}
    )


@shape
def cut_within_the_last_number() -> Shape:
    rows = record()
    text = "Time,P inlet [bar],P outlet [bar]\n"
    text += "".join(f"{r.t:%Y-%m-%d %H:%M},{','.join(cells(r)[:2])}\n" for r in rows)[:-3]
    return one_file(
        "cut number", text, context(rows), channels(rows[:-1], "in", "out"), facts={"file cut off"}
    )


@shape
def fixed_width_with_blanks() -> Shape:
    rows = record()
    text = (
        "LOGGER 7   CHAMBER WEIR\n\n"
        + f"{'DATE':<12}{'TIME':<10}{'P-IN bar':>10}{'P-OUT bar':>12}{'Q m3/h':>10}\n"
    )
    for k, r in enumerate(rows):
        flow = "" if k in (17, 18) else f"{r.flow:.2f}"
        text += f"{local(r, '%d.%m.%Y'):<12}{local(r, '%H:%M:%S'):<10}"
        text += f"{r.inlet:>10.3f}{r.outlet:>12.3f}{flow:>10}\n"
    flow_ = Expected(
        "flow", "m³/h", [(r.t, None if k in (17, 18) else r.flow) for k, r in enumerate(rows)], "mean"
    )
    return one_file("fixed width", text, berlin(rows), [*channels(rows, "in", "out"), flow_])


@shape
def blanks_between() -> Shape:
    rows = record()
    text = "% time p_in p_out\n" + "".join(
        f"{r.t:%Y-%m-%dT%H:%M:%S} {' '.join(cells(r)[:2])}\n" for r in rows
    )
    return one_file("blanks", text, context(rows), channels(rows, "in", "out"))


@shape
def by_exception() -> Shape:
    rows, last = record(400, 60), -9.0
    kept: list[Sample] = []
    for r in rows:
        if abs(r.outlet - last) > 0.006:
            kept.append(replace(r, t=r.t + timedelta(seconds=(len(kept) * 17) % 41)))
            last = r.outlet
    text = "timestamp;tag;value\n" + "".join(
        f"{r.t:%Y-%m-%d %H:%M:%S};PT outlet pressure bar;{r.outlet:.3f}\n" for r in kept
    )
    return one_file(
        "by exception", text, context(rows, interval=60), channels(kept, "out"), facts={"by exception"}
    )

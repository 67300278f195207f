"""More file shapes: order, duplicates, silent headings, spreadsheets, changes within a file."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from tests.watch.reading.shapes import ZONE, cells, comma, german, kilo, local, one_file, shape
from tests.watch.reading.truth import Expected, Sample, Shape, berlin, channels, context, record


@shape
def newest_first() -> Shape:
    rows = record()
    text = "Zeit;Vordruck [bar];Nachdruck [bar]\n" + "".join(
        f"{local(r, '%d.%m.%Y %H:%M')};{';'.join(german(r)[:2])}\n" for r in reversed(rows)
    )
    return one_file("newest first", text, berlin(rows), channels(rows, "in", "out"), facts={"descending"})


@shape
def blocks_out_of_order_with_duplicates() -> Shape:
    rows = record()
    order = rows[100:] + rows[:130]
    text = "Time,P inlet [bar],P outlet [bar]\n"
    text += "".join(f"{r.t:%Y-%m-%d %H:%M},{','.join(cells(r)[:2])}\n" for r in order)
    return one_file(
        "blocks", text, context(rows), channels(rows, "in", "out"), facts={"out of order", "overlap"}
    )


@shape
def monthly_files_overlap() -> Shape:
    rows = record()
    head = "Time,P inlet [bar],P outlet [bar]\n"

    def part(some: list[Sample]) -> bytes:
        return (head + "".join(f"{r.t:%Y-%m-%d %H:%M},{','.join(cells(r)[:2])}\n" for r in some)).encode()

    return Shape(
        "monthly",
        {"b.csv": part(rows[90:]), "a.csv": part(rows[:110])},
        context(rows),
        channels(rows, "in", "out"),
        {"overlap"},
    )


@shape
def silent_units_in_kilopascal() -> Shape:
    rows = record()
    text = "Time,Pressure up,Pressure down,Flow\n"
    text += "".join(
        f"{r.t:%Y-%m-%d %H:%M},{r.inlet * 100:.1f},{r.outlet * 100:.1f},{r.flow / 3.6:.3f}\n" for r in rows
    )
    flow = Expected("flow", "L/s", [(r.t, float(f"{r.flow / 3.6:.3f}")) for r in rows], "mean")
    return one_file("silent", text, context(rows), [*kilo(rows), flow])


@shape
def silent_headings() -> Shape:
    rows = record()
    text = "Time,Ch1,Ch2,Ch3\n"
    text += "".join(f"{r.t:%Y-%m-%d %H:%M},{cells(r)[1]},{cells(r)[0]},{cells(r)[2]}\n" for r in rows)
    return one_file("silent headings", text, context(rows), channels(rows, "in", "out", "flow"))


@shape
def minimum_mean_maximum() -> Shape:
    rows = record()
    text = "Zeit;Nachdruck;;;Durchfluss\n;Min;Mittel;Max;Mittel\n;[bar];[bar];[bar];[m³/h]\n"
    for r in rows:
        low, mid, high, flow = r.outlet - 0.05, r.outlet, r.outlet + 0.07, r.flow
        text += f"{local(r, '%d.%m.%Y %H:%M')};{comma(low, 3)};"
        text += f"{comma(mid, 3)};{comma(high, 3)};{comma(flow, 2)}\n"
    expected = [
        Expected("outlet pressure", "bar", [(r.t, round(r.outlet + add, 3)) for r in rows], name)
        for add, name in ((-0.05, "minimum"), (0.0, "mean"), (0.07, "maximum"))
    ]
    return one_file("min mean max", text, berlin(rows), expected + channels(rows, "flow"))


@shape
def thousands_with_blanks() -> Shape:
    rows = record()
    text = "Zeit;Vordruck [mbar];Nachdruck [mbar];Zählerstand [m³]\n"
    for k, r in enumerate(rows):
        high, low = f"{r.inlet * 1000:,.1f}", f"{r.outlet * 1000:,.1f}"
        high, low = (one.replace(",", " ").replace(".", ",") for one in (high, low))
        index = f"{1234567.25 + k * 2.5:,.2f}".replace(",", " ").replace(".", ",")
        text += f"{local(r, '%d.%m.%Y %H:%M')};{high};{low};{index}\n"
    expected = [
        Expected("inlet pressure", "mbar", [(r.t, round(r.inlet * 1000, 1)) for r in rows]),
        Expected("outlet pressure", "mbar", [(r.t, round(r.outlet * 1000, 1)) for r in rows]),
        Expected("meter index", "m³", [(r.t, 1234567.25 + k * 2.5) for k, r in enumerate(rows)]),
    ]
    return one_file("thousands", text, berlin(rows), expected)


@shape
def date_order_shown_by_midnight() -> Shape:
    rows = record(700, start="2027-03-03T22:00:00")
    text = "Time,P inlet [bar],P outlet [bar]\n"
    text += "".join(f"{r.t:%d/%m/%Y %H:%M},{','.join(cells(r)[:2])}\n" for r in rows)
    return one_file(
        "order by midnight",
        text,
        replace(context(rows), visits=()),
        channels(rows, "in", "out"),
        order_told=True,
    )


@shape
def date_order_open() -> Shape:
    rows = record(100, start="2027-03-04T08:00:00")
    text = "Time,P inlet [bar],P outlet [bar]\n"
    text += "".join(f"{r.t:%d/%m/%Y %H:%M},{','.join(cells(r)[:2])}\n" for r in rows)
    told = replace(context(rows), visits=())
    return one_file("order open", text, told, channels(rows, "in", "out"), asked={"date order"})


@shape
def month_names_in_spanish() -> Shape:
    rows = record()
    months = dict(
        zip(
            range(1, 13),
            ["ene", "feb", "mar", "abr", "may", "jun", "jul", "ago", "sep", "oct", "nov", "dic"],
            strict=True,
        )
    )
    text = "Fecha y hora;Presión de entrada (mca);Presión de salida (mca)\n"
    for r in rows:
        text += f"{r.t:%d}-{months[r.t.month]}-{r.t:%Y %H:%M};"
        text += f"{comma(r.inlet * 10.197, 2)};{comma(r.outlet * 10.197, 2)}\n"
    expected = [
        Expected("inlet pressure", "m head", [(r.t, float(f"{r.inlet * 10.197:.2f}")) for r in rows]),
        Expected("outlet pressure", "m head", [(r.t, float(f"{r.outlet * 10.197:.2f}")) for r in rows]),
    ]
    return one_file("spanish", text, context(rows), expected)


@shape
def stamps_without_their_seconds() -> Shape:
    rows = record(300, 10, "2027-03-03T23:00:30")
    text = "Time,P inlet [bar],P outlet [bar]\n"
    text += "".join(f"{r.t:%Y-%m-%d %H:%M},{','.join(cells(r)[:2])}\n" for r in rows)
    return one_file(
        "cut stamps", text, context(rows, interval=10), channels(rows, "in", "out"), facts={"stamps cut"}
    )


@shape
def switch_in_words() -> Shape:
    rows = [replace(r, closed=int(60 <= k < 90)) for k, r in enumerate(record())]
    text = "Ora;Pressione a monte (bar);Pressione a valle (bar);Finecorsa blocco\n"
    text += "".join(
        f"{local(r, '%d/%m/%Y %H:%M')};{';'.join(german(r)[:2])};{'chiuso' if r.closed else 'aperto'}\n"
        for r in rows
    )
    return one_file("switch", text, berlin(rows), channels(rows, "in", "out", "closed"))


@shape
def nothing_in_it() -> Shape:
    rows = record()
    text = "Time,P inlet [bar],P outlet [bar]\nno data in the period chosen\n"
    return one_file("nothing", text, context(rows), [], facts={"nothing in it"})


@shape
def american_stamps_over_a_clock_change():
    rows = record(900, start="2027-03-01T05:00:00")
    t = "Date/Time,Upstream Pressure (psi),Downstream Pressure (psi),Flow (gpm)\n"
    t += "".join(
        f"{r.t.astimezone(ZoneInfo('America/New_York')):%m/%d/%Y %I:%M %p},{r.inlet * 14.5:.1f},"
        f"{r.outlet * 14.5:.1f},{r.flow * 4.4:.1f}\n"
        for r in rows
    )
    return one_file(
        "x",
        t,
        context(rows, "America/New_York", "local, clock changes followed"),
        [
            Expected("inlet pressure", "psi", [(r.t, float(f"{r.inlet * 14.5:.1f}")) for r in rows]),
            Expected("outlet pressure", "psi", [(r.t, float(f"{r.outlet * 14.5:.1f}")) for r in rows]),
            Expected("flow", "US gpm", [(r.t, float(f"{r.flow * 4.4:.1f}")) for r in rows], "mean"),
        ],
    )


@shape
def serial_days_with_few_decimals():
    rows = record(300)
    zero = datetime(1899, 12, 30)
    t = "Timestamp\tPin\tPout\n" + "".join(
        f"{((r.t.astimezone(ZONE).replace(tzinfo=None) - zero).total_seconds() / 86400):.5f}"
        f"\t{cells(r)[0]}\t{cells(r)[1]}\n"
        for r in rows
    )
    return one_file("x", t, berlin(rows), channels(rows, "in", "out"))


@shape
def two_digit_years():
    rows = record(900)
    t = "Zeit;P1;P2;Q\n" + "".join(f"{local(r, '%d.%m.%y %H:%M')};{';'.join(german(r)[:3])}\n" for r in rows)
    return one_file("x", t, berlin(rows), channels(rows, "in", "out", "flow"))


@shape
def running_number_temperature_battery():
    rows = record(250)
    t = "No.;Date;Time;P inlet (bar);Temp (°C);P outlet (bar);Batt (V)\n" + "".join(
        f"{k + 1};{r.t:%Y/%m/%d};{r.t:%H:%M:%S};{cells(r)[0]};{11 + k % 3 * 0.1:.1f};{cells(r)[1]};3.6\n"
        for k, r in enumerate(rows)
    )
    return one_file(
        "x",
        t,
        context(rows),
        [
            *channels(rows, "in", "out"),
            Expected("temperature", "°C", [(r.t, round(11 + k % 3 * 0.1, 1)) for k, r in enumerate(rows)]),
            Expected("battery", "V", [(r.t, 3.6) for r in rows]),
            Expected("other", "", [(r.t, float(k + 1)) for k, r in enumerate(rows)]),
        ],
    )


@shape
def bars_and_a_bit_mask():
    rows = record(250)
    t = "ts|p_in|p_out|status\n|bar|bar|\n" + "".join(
        f"{r.t:%Y-%m-%d %H:%M:%S}|{cells(r)[0]}|{cells(r)[1]}|{'0x0004' if k == 7 else '0x0000'}\n"
        for k, r in enumerate(rows)
    )
    return one_file("x", t, context(rows), channels(rows, "in", "out"), facts={"flagged samples"})


@shape
def ruled_header_over_blanks():
    rows = record(250)
    t = (
        "=" * 60
        + "\nWATER LOGGER EXPORT / EXPORT ENREGISTREUR\n"
        + "=" * 60
        + "\nSite : weir\nFirmware : 2.13\nCreated : 05.03.2027 12:00:00\nChannels : 2\n"
        + "-" * 60
        + "\n"
    )
    t += "Date       Heure     P amont   P aval\n                     [bar]     [bar]\n"
    t += (
        "".join(
            f"{local(r, '%d.%m.%Y')} {local(r, '%H:%M:%S')}  {german(r)[0]:>7}  {german(r)[1]:>7}\n"
            for r in rows
        )
        + "-" * 60
        + "\nFin\n"
    )
    return one_file("x", t, berlin(rows), channels(rows, "in", "out"))


@shape
def letters_of_an_old_code_page():
    rows = record(250)
    t = "Zeit;Eingangsdruck [bar];Durchfluß [m³/h];Öffnung [%]\n" + "".join(
        f"{local(r, '%d.%m.%Y %H:%M')};{german(r)[0]};{german(r)[2]};{german(r)[3]}\n" for r in rows
    )
    return one_file("x", t, berlin(rows), channels(rows, "in", "flow", "travel"), "cp850")


@shape
def a_block_for_each_channel():
    rows = record(300)
    t = ""
    for nm, k in (("P inlet [bar]", 0), ("P outlet [bar]", 1)):
        t += (
            f"Channel: {nm}\nStart: 04.03.2027 00:00:00\nInterval: 00:05:00\n"
            + "".join(german(r)[k] + "\n" for r in rows)
            + "\n"
        )
    return one_file("x", t, berlin(rows), channels(rows, "in", "out"))


@shape
def pairs_with_the_hour_twice():
    rows = record(300, start="2027-10-30T20:00:00")
    t = "Zeit;Vordruck bar;Zeit;Nachdruck bar\n" + "".join(
        f"{local(r, '%d.%m.%Y %H:%M')};{german(r)[0]};{local(r, '%d.%m.%Y %H:%M')};{german(r)[1]}\n"
        for r in rows
    )
    return one_file("x", t, berlin(rows), channels(rows, "in", "out"), facts={"hour twice"})


@shape
def newest_first_with_the_hour_twice():
    rows = record(300, start="2027-10-30T20:00:00")
    t = "Zeit;Vordruck bar;Nachdruck bar\n" + "".join(
        f"{local(r, '%d.%m.%Y %H:%M')};{german(r)[0]};{german(r)[1]}\n" for r in reversed(rows)
    )
    return one_file("x", t, berlin(rows), channels(rows, "in", "out"), facts={"hour twice"})


@shape
def long_with_the_hour_twice():
    rows = record(300, start="2027-10-30T20:00:00")
    t = "Zeit;Kanal;Wert\n" + "".join(
        f"{local(r, '%d.%m.%Y %H:%M')};{n};{german(r)[k]}\n"
        for r in rows
        for k, n in enumerate(("Vordruck bar", "Nachdruck bar"))
    )
    return one_file("x", t, berlin(rows), channels(rows, "in", "out"), facts={"hour twice"})


@shape
def day_and_month_change_places():
    rows = record(900)
    t = "Time,P inlet [bar],P outlet [bar]\n" + "".join(
        f"{r.t.strftime('%d/%m/%Y %H:%M' if k < 400 else '%m/%d/%Y %I:%M:%S %p')},{cells(r)[0]},"
        f"{cells(r)[1]}\n"
        for k, r in enumerate(rows)
    )
    return one_file("x", t, context(rows), channels(rows, "in", "out"), facts={"change of format"})


@shape
def separator_changes():
    rows = record(250)
    t = "Time,P inlet [bar],P outlet [bar],Flow [m³/h]\n" + "".join(
        (
            f"{r.t:%Y-%m-%d %H:%M},{','.join(cells(r)[:3])}\n"
            if k < 200
            else f"{r.t:%Y-%m-%d %H:%M};{';'.join(german(r)[:3])}\n"
        )
        for k, r in enumerate(rows)
    )
    return one_file("x", t, context(rows), channels(rows, "in", "out", "flow"), facts={"change of format"})


@shape
def no_heading_at_all():
    rows = record(300)
    t = "".join(f"{r.t:%Y-%m-%d %H:%M:%S},{','.join(cells(r)[:3])}\n" for k, r in enumerate(rows))
    return one_file("x", t, context(rows), channels(rows, "in", "out", "flow"))


@shape
def a_row_twice_and_blanks():
    rows = record(300)
    miss = set(range(100, 160))
    t = "Time;Pe (bar);Ps (bar)\n" + "".join(
        f"{r.t:%d/%m/%Y %H:%M:%S};{'' if k in miss else german(r)[0]};{german(r)[1]}\n"
        + (f"{r.t:%d/%m/%Y %H:%M:%S};{german(r)[0]};{german(r)[1]}\n" if k == 50 else "")
        for k, r in enumerate(rows)
    )
    return one_file(
        "x",
        t,
        context(rows),
        [
            Expected(
                "inlet pressure", "bar", [(r.t, None if k in miss else r.inlet) for k, r in enumerate(rows)]
            ),
            *channels(rows, "out"),
        ],
    )


@shape
def statistics_in_the_names():
    rows = record(300)
    t = "DateTime;PIN_MIN;PIN_AVG;PIN_MAX;Q_AVG\n;kPa;kPa;kPa;l/s\n" + "".join(
        f"{r.t:%Y-%m-%d %H:%M:%S};{r.inlet * 100 - 3:.1f};{r.inlet * 100:.1f};{r.inlet * 100 + 4:.1f};"
        f"{r.flow / 3.6:.2f}\n"
        for r in rows
    )
    return one_file(
        "x",
        t,
        context(rows),
        [
            Expected("inlet pressure", "kPa", [(r.t, float(f"{r.inlet * 100 + d:.1f}")) for r in rows], n)
            for d, n in ((-3, "minimum"), (0, "mean"), (4, "maximum"))
        ]
        + [Expected("flow", "L/s", [(r.t, float(f"{r.flow / 3.6:.2f}")) for r in rows], "mean")],
    )


@shape
def compact_stamps_and_inverted_switch():
    rows = record(300)
    t = "t;P upstream MPa;Valve opening [0-1];SO open\n" + "".join(
        f"{r.t:%Y%m%d%H%M%S};{r.inlet / 10:.4f};{r.travel / 100:.3f};1\n" for r in rows
    )
    return one_file(
        "x",
        t,
        context(rows),
        [
            Expected("inlet pressure", "MPa", [(r.t, float(f"{r.inlet / 10:.4f}")) for r in rows]),
            Expected("travel", "fraction", [(r.t, float(f"{r.travel / 100:.3f}")) for r in rows]),
            Expected("shut-off closed", "state", [(r.t, 1.0) for r in rows]),
        ],
    )


@shape
def one_day_told_by_visits():
    rows = record(288, start="2027-03-04T00:00:00")
    t = "Time;P inlet [bar];P outlet [bar]\n" + "".join(
        f"{r.t:%d/%m/%Y %H:%M:%S};{german(r)[0]};{german(r)[1]}\n" for r in rows
    )
    return one_file("x", t, context(rows), channels(rows, "in", "out"))

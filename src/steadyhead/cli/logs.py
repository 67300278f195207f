"""``steadyhead logs``: files of loggers read, listed, judged, undone."""

from __future__ import annotations

from typing import Annotated

import typer

from steadyhead.cli.options import AsJson, LoggerFolder, Pdf, Units

app = typer.Typer(
    help="Read the files of loggers, judge what they hold, undo what was taken in.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
Folder = Annotated[
    str,
    typer.Option(
        "--register",
        metavar="FOLDER",
        help="Its folder, or postgresql://…; yours where left out.",
    ),
]
By = Annotated[str, typer.Option("--by", metavar="NAME", help="Who does it; asked for where left out.")]
Key = Annotated[str, typer.Argument(metavar="STATION", help="Key of the station.")]


@app.command()
def read(
    files: Annotated[list[str], typer.Argument(metavar="FILE…", help="Files of one logger, in any order.")],
    station: Annotated[str, typer.Option("--station", metavar="KEY", help="Whose they are.")],
    source: Annotated[
        str,
        typer.Option(
            "--source", metavar="NAME", help="Which logger; how its files are read is remembered under it."
        ),
    ] = "",
    answer: Annotated[
        list[str] | None,
        typer.Option("--answer", metavar="FIELD=VALUE", help="Answer to a question; may be repeated."),
    ] = None,
    zone: Annotated[
        str,
        typer.Option("--zone", metavar="ZONE", help="Zone of the stamps, as --answer zone=ZONE."),
    ] = "",
    interval: Annotated[
        float, typer.Option("--interval", metavar="SECONDS", help="Time between samples, where it is known.")
    ] = 0.0,
    look: Annotated[bool, typer.Option("--look", help="Say how they would be read; keep nothing.")] = False,
    by: By = "",
    units: Units = "",
    register: Folder = "",
    data: LoggerFolder = "",
    json: AsJson = False,
) -> int:
    """Read files of a logger, say how, and take them in.

    Files that are kept already add nothing. A question is asked only where nothing can be assumed.

    Exit status 0: taken in, or kept already; 1: a question is open, nothing is kept; 2: they cannot be read.
    """
    from steadyhead.cli.logs_text import Asked, do_read

    asked = Asked(tuple(files), station, source, tuple(answer or ()), zone, interval, look, by, units)
    return do_read(asked, register, data, json)


@app.command(name="list")
def list_(
    station: Key,
    every: Annotated[
        bool, typer.Option("--all", help="List earlier judgements of the same samples, too.")
    ] = False,
    units: Units = "",
    register: Folder = "",
    json: AsJson = False,
) -> int:
    """List the imports of a station, the channels they give, and what was judged of them."""
    from steadyhead.cli.logs_text import do_list

    return do_list(station, register, json, every=every, units=units)


@app.command()
def judge(
    stations: Annotated[
        list[str] | None, typer.Argument(metavar="STATION…", help="Keys of stations, one or more.")
    ] = None,
    every: Annotated[
        bool, typer.Option("--every", help="Every station for which logger data are kept.")
    ] = False,
    from_: Annotated[
        str, typer.Option("--from", metavar="TIME", help="Begin, UTC, as 2027-03-01 or 2027-03-01T06:00.")
    ] = "",
    to: Annotated[str, typer.Option("--to", metavar="TIME", help="End, UTC; it is not part of it.")] = "",
    by: Annotated[str, typer.Option("--by", metavar="NAME", help="Who judges; keeps it as a record.")] = "",
    cluster: Annotated[
        str,
        typer.Option(
            "--cluster", metavar="ADDRESS", help="Judge stations on a Dask cluster; 'local' starts one here."
        ),
    ] = "",
    tables: Annotated[
        bool, typer.Option("--tables", help="Print the curves of measures, too: by hour, by flow.")
    ] = False,
    units: Units = "",
    register: Folder = "",
    data: LoggerFolder = "",
    json: AsJson = False,
) -> int:
    """Judge the logger data of a period: what is wrong with the data, what happened, the measures.

    With --by it is kept as a dated record beside the data, which stay as they are and were unseen till then.
    What nothing touched since it was judged is not worked out again; a judgement cut off goes on from there.
    Of several stations a few lines each are told, as each is finished; with --json one line each.

    Exit status 0: no defect is seen; 1: some are; 2: there are no data.
    """
    from steadyhead.cli.logs_judged import do_judge, do_judge_many

    span, where = (from_, to), (register, data)
    if stations and len(stations) == 1 and not every and not cluster:
        return do_judge(stations[0], span, by, where, json, tables=tables, units=units)
    return do_judge_many(tuple(stations or ()), every, span, by, cluster, where, json)


@app.command()
def tell(
    station: Key,
    at: Annotated[str, typer.Option("--at", metavar="TIME", help="About when, UTC, as 2027-03-06T12:00.")],
    pdf: Pdf = "",
    units: Units = "",
    register: Folder = "",
    data: LoggerFolder = "",
    json: AsJson = False,
) -> int:
    """Tell the event about a time: in which order, how it may be read, what the record does not show.

    Exit status 0: it is told; 1: no event is told within six hours of that time; 2: there are no data.
    """
    from steadyhead.cli.logs_told import do_tell

    return do_tell(station, at, pdf, (register, data), json, units=units)


@app.command()
def draw(
    station: Key,
    from_: Annotated[
        str,
        typer.Option("--from", metavar="TIME", help="Begin, UTC; left out: of all data, or the last year."),
    ] = "",
    to: Annotated[str, typer.Option("--to", metavar="TIME", help="End, UTC.")] = "",
    channel: Annotated[
        list[str] | None,
        typer.Option("--channel", metavar="NAME", help="Which channel, as list names it; may be repeated."),
    ] = None,
    year: Annotated[bool, typer.Option("--year", help="A year at a glance, by day and hour.")] = False,
    svg: Annotated[str, typer.Option("--svg", metavar="OUT", help="Write the picture to this file.")] = "",
    pdf: Pdf = "",
    csv: Annotated[str, typer.Option("--csv", metavar="OUT", help="Write the rows as CSV.")] = "",
    parquet: Annotated[str, typer.Option("--parquet", metavar="OUT", help="Write the rows as Parquet.")] = "",
    units: Units = "",
    register: Folder = "",
    data: LoggerFolder = "",
    json: AsJson = False,
) -> int:
    """Draw a window of logger data, or a year at a glance, with its words; give its rows out.

    Exit status 0: drawn; 2: there are no data, or a file cannot be written.
    """
    from steadyhead.cli.logs_drawn import Asked, do_draw

    asked = Asked(station, (from_, to), tuple(channel or ()), year, svg, pdf, csv, parquet, units)
    return do_draw(asked, (register, data), json)


@app.command()
def watch(
    folder: Annotated[str, typer.Argument(metavar="FOLDER", help="Where files of one logger are laid.")],
    station: Annotated[str, typer.Option("--station", metavar="KEY", help="Whose they are.")],
    source: Annotated[str, typer.Option("--source", metavar="NAME", help="Which logger, as for read.")] = "",
    every: Annotated[
        float, typer.Option("--every", metavar="SECONDS", min=0.1, help="How often it is looked into.")
    ] = 30.0,
    once: Annotated[bool, typer.Option("--once", help="Look into it once and end.")] = False,
    by: By = "",
    register: Folder = "",
    data: LoggerFolder = "",
) -> int:
    """Take in each file that is laid into a folder, once it stands still; files are left where they are.

    A file with a question that must be answered is left aside and said; read it once by hand, and the answer
    is remembered for its source.

    Exit status 0: ended by you, or nothing was left aside; 1: with --once, something was; 2: it cannot begin.
    """
    from steadyhead.cli.logs_watching import do_watch

    return do_watch(folder, station, source, (every, once), by, (register, data))


@app.command()
def listen(
    file: Annotated[str, typer.Argument(metavar="FILE", help="What is heard, from which broker (TOML).")],
    folder: Annotated[
        str, typer.Argument(metavar="FOLDER", help="Where messages lie until they are taken in.")
    ],
    status: Annotated[bool, typer.Option("--status", help="Say how it goes and end.")] = False,
    by: By = "",
    register: Folder = "",
    data: LoggerFolder = "",
) -> int:
    """Listen to a broker (MQTT) and take in what loggers send there; the manual shows the file.

    The broker is told of a message only when it is on the disk here.

    Exit status 0: ended by you; 2: it cannot begin or go on.
    """
    from steadyhead.cli.logs_watching import do_listen

    return do_listen(file, folder, status, by, (register, data))


@app.command()
def keys(
    station: Key,
    make: Annotated[str, typer.Option("--make", metavar="LOGGER", help="Make one for this logger.")] = "",
    end: Annotated[str, typer.Option("--end", metavar="ID", help="End this one, as the list names it.")] = "",
    by: By = "",
    register: Folder = "",
    json: AsJson = False,
) -> int:
    """List the keys by which loggers send files of a station; make one, which is shown once; or end one."""
    from steadyhead.cli.logs_keys import do_keys

    return do_keys(station, (make, end), by, register, json)


@app.command()
def undo(
    id_: Annotated[str, typer.Argument(metavar="ID", help="Number of the import, as list names it.")],
    reason: Annotated[str, typer.Option("--reason", metavar="WORDS", help="Why.")] = "",
    by: By = "",
    register: Folder = "",
    data: LoggerFolder = "",
    json: AsJson = False,
) -> int:
    """Undo an import: its samples are shown no more; its files stay as they were given."""
    from steadyhead.cli.logs_text import do_undo

    return do_undo(id_, reason, by, (register, data), json)

"""Commands of the transient twin: what happens in time, what is proved, how quiet and how likely it is."""

from __future__ import annotations

from typing import Annotated

import typer

from steadyhead.cli.options import AsJson, BaselineName, StationFile, Units

EVENT_NAMES = (
    "demand-falls",
    "demand-rises",
    "supply-rises",
    "supply-falls",
    "fails-open",
    "pilot-stuck",
    "diaphragm-torn",
    "inlet-valve-closed",
    "outlet-valve-closed",
    "screw-turned",
    "opening",
    "restart",
    "air-in-chamber",
)
"""Events of every station, written out so that asking for help loads nothing; a test holds them together."""


app = typer.Typer(rich_markup_mode=None)


@app.command()
def prove(file: StationFile, json: AsJson = False, units: Units = "") -> int:
    """Prove what the shut-off protects: each failure with its mains, and how long it may take to close.

    Seconds to a minute the first time; the proof is then kept for this very file.

    Exit status 0: every limit holds in every credited failure; 1: one is passed, or no closing time holds
    them all; 2: the file cannot be used.
    """
    from steadyhead.cli.proof_text import do_prove

    return do_prove(file, json, units)


@app.command()
def surge(
    file: StationFile,
    event: Annotated[
        str,
        typer.Option(
            "--event",
            metavar="NAME",
            help=(
                "Which event, or one run of it, e.g. restart-shut-sound; all where left out. Every station: "
                f"{', '.join(EVENT_NAMES)}. And the ids under events of the file."
            ),
        ),
    ] = "",
    within: Annotated[
        str,
        typer.Option(
            "--within",
            metavar="TIME",
            help=(
                "Time it takes, with its unit, e.g. '3 s'. Where left out: demand, supply and a screw 1 s; a "
                "failing reducer as credited, else 5 s; an isolating valve 1 s a turn."
            ),
        ),
    ] = "",
    way: Annotated[
        str, typer.Option("--way", metavar="ID", help="One way through the station, or together; else all.")
    ] = "",
    json: AsJson = False,
    csv: Annotated[
        str,
        typer.Option(
            "--csv", metavar="OUT", help="Write the trace of one run as a table, its units in the heads."
        ),
    ] = "",
    svg: Annotated[
        str,
        typer.Option("--svg", metavar="OUT", help="Draw the trace of one run, its limits and the mains."),
    ] = "",
    width: Annotated[
        int,
        typer.Option("--width", min=320, max=4000, help="Width of the picture in pixels; 390 for a phone."),
    ] = 1360,
    units: Units = "",
    baseline: BaselineName = "",
) -> int:
    """Run events in time: demand, supply, a reducer that fails, valves moved, restart, and those of the file.

    Exit status 0: no limit is passed but in a failure that nobody credits; 1: one is, or may be by the wave
    thrown back once the shut-off is shut (SUR-27, unless it is answered), or hangs on a main that is not
    stated (SUR-62, SUR-63); 2: the file or the event cannot be used; 130: stopped by hand, what was finished
    is shown.
    """
    from steadyhead.cli.surge_text import do_surge

    return do_surge(file, event, within, way, json, csv, svg, units, width, baseline)


@app.command()
def stability(
    file: StationFile,
    way: Annotated[
        str, typer.Option("--way", metavar="ID", help="One way through the station; all where left out.")
    ] = "",
    seed: Annotated[int, typer.Option("--seed", min=0, help="What the members are drawn with.")] = 1,
    json: AsJson = False,
    units: Units = "",
) -> int:
    """Say how quiet each reducer is with its mains, as a band over what nobody has measured.

    48 members of the band at typical inlet pressure; where the file states under observed what was seen of a
    reducer, those that agree with it.

    It forbids nothing: the exit status is 0, or 2 where the file cannot be used.
    """
    from steadyhead.cli.stability_text import do_stability

    return do_stability(file, way, seed, json, units)


@app.command()
def chances(
    file: StationFile,
    event: Annotated[
        str,
        typer.Option(
            "--event", metavar="NAME", help="One run of one event, as surge has them: restart-shut-sound."
        ),
    ],
    runs: Annotated[int, typer.Option("--runs", metavar="N", help="How many runs, 16 to 100,000.")] = 1000,
    seed: Annotated[int, typer.Option("--seed", min=0, help="What the sample is drawn with.")] = 1,
    way: Annotated[
        str, typer.Option("--way", metavar="ID", help="The way through the station, where there are several.")
    ] = "",
    keep: Annotated[
        str, typer.Option("--keep", metavar="FILE", help="Keep finished runs there, and go on from them.")
    ] = "",
    cluster: Annotated[
        str,
        typer.Option("--cluster", metavar="ADDRESS", help="Run on a Dask cluster; 'local' starts one here."),
    ] = "",
    json: AsJson = False,
    units: Units = "",
) -> int:
    """Run one event many times over the tolerances of the file: how often a limit is passed, and why.

    Tolerances are the plus_minus of the file's values, else defaults, which the manual lists. The same seed
    gives the same figures; 1,000 runs take about half a minute on two cores.

    Exit status 0, 2 where the file or the event cannot be used, 130 where it was stopped.
    """
    from steadyhead.cli.stability_text import do_chances

    return do_chances(file, event, way, runs, seed, keep, cluster, json, units)


@app.command()
def bench(
    full: Annotated[
        bool, typer.Option("--full", help="More rounds, and all runs: some minutes instead of one.")
    ] = False,
    json: AsJson = False,
) -> int:
    """Measure how fast the transient twin is on this machine, each figure with its spread and its aim.

    It judges nothing: the exit status is 0, or 130 where it was stopped; what was finished is shown.
    """
    from steadyhead.cli.bench_text import do_bench

    return do_bench(full, json)

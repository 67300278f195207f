"""The commands of ``steadyhead``; every heavy import happens inside the command that needs it."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from typing import Annotated

import typer

from steadyhead import __version__
from steadyhead.cli.streams import NO_ROOM
from steadyhead.errors import InputError, InputErrors, StationError

FINE, FORBIDDEN, UNUSABLE, FAULT = 0, 1, 2, 3
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


app = typer.Typer(
    name="steadyhead",
    help=(
        "Design, prove and look after pressure-reducing stations with an overpressure shut-off. "
        "Supports planning, calculation and record keeping; it authorises nothing."
    ),
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)

StationFile = Annotated[
    str, typer.Argument(metavar="FILE", help="Station file (YAML); - reads standard input.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print the full typed result as JSON.")]
Units = Annotated[
    str,
    typer.Option(
        "--units",
        metavar="UNITS",
        help=(
            "metric | metric-m3h | metric-kpa | uk | us, or two as us+metric; yours where left out. "
            "Nothing computed changes."
        ),
    ),
]
WithoutProof = Annotated[
    bool,
    typer.Option("--without-proof", help="Leave the protection proof out; the overshoot is then lumped."),
]
Pdf = Annotated[str, typer.Option("--pdf", metavar="OUT", help="Write the paper to this PDF file.")]


def run(arguments: Sequence[str]) -> int:
    """Run one command and return its exit status; errors are said on standard error.

    With ``--json`` what cannot be used is told on standard output too, as data.
    """
    try:
        result = app(args=list(arguments) or ["--help"], standalone_mode=False)
        if not arguments:
            return UNUSABLE
        return result if isinstance(result, int) else FINE
    except SystemExit as leaving:
        if isinstance(leaving.__context__, BrokenPipeError):
            raise leaving.__context__ from None
        raise
    except typer.Abort:
        return 130
    except typer.TyperException as error:
        remedy = "Run 'steadyhead --help', or a command with --help."
        return _unusable(arguments, [InputError("command line", error.format_message(), remedy)])
    except InputErrors as errors:
        return _unusable(arguments, errors.errors, errors.where, counted=True)
    except InputError as error:
        return _unusable(arguments, [error])
    except StationError as error:
        return _unusable(arguments, [InputError("", str(error), "")])
    except (BrokenPipeError, KeyboardInterrupt):
        raise
    except Exception as fault:
        if isinstance(fault, OSError) and fault.filename is None and fault.errno in NO_ROOM:
            raise
        if os.environ.get("STEADYHEAD_TRACEBACK") == "1":
            raise
        print(
            f"steadyhead {__version__} met a fault of its own ({type(fault).__name__}: {fault}).\n"
            "    No file was changed. Set STEADYHEAD_TRACEBACK=1 and run again to see where, and report it.",
            file=sys.stderr,
        )
        return FAULT


def _unusable(
    arguments: Sequence[str], errors: Sequence[InputError], where: str = "", *, counted: bool = False
) -> int:
    """Say what cannot be used, to a person and with ``--json`` to a program; return the exit status."""
    from steadyhead.cli.showing import show_errors, show_errors_json

    show_errors(errors, where, counted=counted)
    if "--json" in arguments:
        show_errors_json(errors)
    return UNUSABLE


def say_no_room(problem: OSError) -> int:
    """Say that standard output takes nothing more, and return the exit status."""
    with suppress(OSError):
        print(
            f"standard output: cannot be written: {problem.strerror or problem}.\n"
            "    Make room, or send it to another place. Papers already named as written are whole.",
            file=sys.stderr,
        )
    return UNUSABLE


@app.callback(invoke_without_command=True)
def everything(
    version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
) -> None:
    """Options that belong to no command."""
    if version:
        print(f"steadyhead {__version__}")
        raise typer.Exit


@app.command()
def example(
    name: Annotated[str, typer.Argument(metavar="NAME", help="Which one; none lists them.")] = "",
    json: AsJson = False,
) -> None:
    """List the example stations, or print one station file."""
    from steadyhead.cli.commands import do_example

    do_example(name, json)


@app.command()
def new(
    layout: Annotated[str, typer.Argument(metavar="LAYOUT", help="Which layout; none lists them.")] = "",
    json: AsJson = False,
) -> None:
    """Print a commented station file to fill in."""
    from steadyhead.cli.commands import do_new

    do_new(layout, json)


@app.command()
def check(
    file: StationFile,
    json: AsJson = False,
    units: Units = "",
    pdf: Pdf = "",
    without_proof: WithoutProof = False,
) -> int:
    """Judge a station file: pressures, trip window, protection proof, sizing, findings.

    Exit status 0: nothing forbids release; 1: findings forbid it; 2: the file cannot be used.
    """
    from steadyhead.cli.commands import do_check

    return do_check(file, json, units, pdf, without_proof)


@app.command()
def plan(
    file: StationFile,
    for_: Annotated[
        str,
        typer.Option(
            "--for",
            metavar="VISIT",
            help="first | yearly | after-repair=ITEM | new-setting | return-to-service",
        ),
    ],
    json: AsJson = False,
    units: Units = "",
    pdf: Pdf = "",
    without_proof: WithoutProof = False,
) -> int:
    """Write the test plan of this station for one visit."""
    from steadyhead.cli.commands import do_plan

    return do_plan(file, for_, json, units, pdf, without_proof)


@app.command()
def release(
    file: StationFile,
    by: Annotated[str, typer.Option("--by", help="Who releases the design; asked for where left out.")] = "",
    folder: Annotated[
        str, typer.Option("--folder", help="Where the release goes; beside the file where left out.")
    ] = "",
    again: Annotated[
        bool, typer.Option("--again", help="Make a new revision of an unchanged file too.")
    ] = False,
    json: AsJson = False,
    without_proof: WithoutProof = False,
) -> int:
    """Freeze a design: revision, hash, findings, who and when, in one file."""
    from steadyhead.cli.commands import do_release

    return do_release(file, by, folder, again, json, without_proof)


@app.command()
def card(
    file: StationFile,
    pdf: Pdf = "",
    json: AsJson = False,
    units: Units = "",
    without_proof: WithoutProof = False,
) -> int:
    """Write the station card that hangs in the chamber."""
    from steadyhead.cli.commands import do_card

    return do_card(file, pdf, json, units, without_proof)


@app.command()
def why(
    file: StationFile,
    code: Annotated[str, typer.Argument(metavar="CODE", help="Finding code, as check prints it.")],
    json: AsJson = False,
    units: Units = "",
    without_proof: WithoutProof = False,
) -> int:
    """Explain a finding: inputs with their sources, the relation, where it comes from."""
    from steadyhead.cli.commands import do_why

    return do_why(file, code, json, units, without_proof)


@app.command()
def draw(
    file: StationFile,
    picture: Annotated[str, typer.Argument(metavar="PICTURE", help="strip | ladder | map")],
    svg: Annotated[
        str, typer.Option("--svg", metavar="OUT", help="Write here; standard output where left out.")
    ] = "",
    width: Annotated[int, typer.Option("--width", min=320, max=4000, help="Width in pixels.")] = 1360,
    reducer: Annotated[
        str, typer.Option("--reducer", metavar="ID", help="Whose map; the first one where left out.")
    ] = "",
    json: AsJson = False,
    units: Units = "",
    without_proof: WithoutProof = False,
) -> int:
    """Draw the station strip, the pressure ladder or a capacity map as an SVG file."""
    from steadyhead.cli.commands import do_draw

    return do_draw(file, picture, svg, width, json, units, reducer, without_proof)


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
) -> int:
    """Run events in time: demand, supply, a reducer that fails, valves moved, restart, and those of the file.

    Exit status 0: no limit is passed but in a failure that nobody credits; 1: one is, or may be by the wave
    thrown back once the shut-off is shut (SUR-27, unless it is answered), or hangs on a main that is not
    stated (SUR-62, SUR-63); 2: the file or the event cannot be used; 130: stopped by hand, what was finished
    is shown.
    """
    from steadyhead.cli.surge_text import do_surge

    return do_surge(file, event, within, way, json, csv, svg, units, width)


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
def valve(
    file: Annotated[
        str, typer.Argument(metavar="[SHEET]", help="A valve data sheet; left out: list the library.")
    ] = "",
    keep: Annotated[
        bool, typer.Option("--keep", help="Put it into your library, for station files to name.")
    ] = False,
    json: AsJson = False,
) -> int:
    """Check a valve data sheet, keep it in your library, or list the library."""
    from steadyhead.cli.commands import do_valve

    return do_valve(file, keep, json)


@app.command()
def units(
    choice: Annotated[
        str, typer.Argument(metavar="SET", help="Units to keep as yours; none shows them.")
    ] = "",
    forget: Annotated[bool, typer.Option("--forget", help="Forget yours.")] = False,
    json: AsJson = False,
) -> int:
    """Show the sets of units, and which is yours; keep one as yours."""
    from steadyhead.cli.units_text import do_units

    return do_units(choice, forget, json)


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


@app.command()
def schema(
    json: Annotated[bool, typer.Option("--json", help="The schema is JSON with or without it.")] = True,
) -> None:
    """Print the JSON Schema of the station file."""
    from steadyhead.cli.commands import do_schema

    do_schema()

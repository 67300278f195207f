"""The commands of ``steadyhead``; every heavy import happens inside the command that needs it."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from typing import Annotated

import typer

from steadyhead import __version__
from steadyhead.cli.logs import app as logs_commands
from steadyhead.cli.options import AsJson, BaselineName, LoggerFolder, Pdf, StationFile, Units, WithoutProof
from steadyhead.cli.running import app as run_commands
from steadyhead.cli.serving import app as serve_commands
from steadyhead.cli.streams import NO_ROOM
from steadyhead.cli.twin import app as twin_commands
from steadyhead.errors import InputError, InputErrors, StationError

FINE, FORBIDDEN, UNUSABLE, FAULT = 0, 1, 2, 3

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
app.add_typer(run_commands, name="run")
app.add_typer(logs_commands, name="logs")
app.add_typer(twin_commands)
app.add_typer(serve_commands)


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
    baseline: BaselineName = "",
) -> int:
    """Judge a station file: pressures, trip window, protection proof, sizing, findings.

    Exit status 0: nothing forbids release; 1: findings forbid it; 2: the file cannot be used.
    """
    from steadyhead.cli.commands import do_check

    return do_check(file, json, units, pdf, without_proof, baseline)


@app.command()
def plan(
    file: StationFile,
    for_: Annotated[
        str,
        typer.Option(
            "--for",
            metavar="VISIT",
            help="first | yearly | after-repair=ITEM | new-setting | return-to-service | restart",
        ),
    ],
    json: AsJson = False,
    units: Units = "",
    pdf: Pdf = "",
    without_proof: WithoutProof = False,
    save: Annotated[
        str, typer.Option("--save", metavar="NAME.plan", help="Keep the plan, to judge its run by.")
    ] = "",
    baseline: BaselineName = "",
) -> int:
    """Write the test plan of this station for one visit."""
    from steadyhead.cli.commands import do_plan

    return do_plan(file, for_, json, units, pdf, without_proof, save, baseline)


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
    certificate: Annotated[
        str,
        typer.Option(
            "--certificate", metavar="CERT.pdf", help="Take as-left values and screw heights from it."
        ),
    ] = "",
    baseline: BaselineName = "",
) -> int:
    """Write the station card that hangs in the chamber."""
    from steadyhead.cli.commands import do_card

    return do_card(file, pdf, json, units, without_proof, certificate, baseline)


@app.command()
def why(
    file: StationFile,
    code: Annotated[str, typer.Argument(metavar="CODE", help="Finding code, as check prints it.")],
    json: AsJson = False,
    units: Units = "",
    without_proof: WithoutProof = False,
    baseline: BaselineName = "",
) -> int:
    """Explain a finding: inputs with their sources, the relation, where it comes from."""
    from steadyhead.cli.commands import do_why

    return do_why(file, code, json, units, without_proof, baseline)


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
def verify(
    file: Annotated[
        str, typer.Argument(metavar="WHAT", help="Certificate, folder of a register, archive, or hand-over.")
    ],
    sig: Annotated[
        str, typer.Option("--sig", metavar="FILE", help="Its signature, kept apart; else the one inside.")
    ] = "",
    key: Annotated[
        str, typer.Option("--key", metavar="FILE", help="Public key; else this installation's.")
    ] = "",
    entries: Annotated[
        str, typer.Option("--entries", metavar="FILE", help="Entries a hand-over is held against.")
    ] = "",
    plan: Annotated[
        str, typer.Option("--plan", metavar="FILE", help="Plan of the visit a hand-over is judged by.")
    ] = "",
    data: LoggerFolder = "",
    json: AsJson = False,
) -> int:
    """Prove a certificate, or hold a whole register or archive against its own chain.

    Of a certificate: which of record and page is what was signed, and by which key. Of a register or archive:
    the first link that does not hold, and everything else that is not as it was kept; nothing is changed.
    Of a hand-over, a statement or its page: whether those entries are here, unchanged, whether they bear out
    what it claims, what cannot be checked without the plan, and what came since.

    Exit status 0: all of it is what was signed, by the key compared, or as it was kept; 1: it is not, or no
    key is known; 2: it cannot be used.
    """
    from steadyhead.cli.certifying import do_verify
    from steadyhead.cli.handing import do_verify_hand_over, is_hand_over
    from steadyhead.cli.keeping import do_verify_register, is_register

    if is_register(file):
        return do_verify_register(file, json, data)
    if is_hand_over(file):
        return do_verify_hand_over(file, entries, json, plan)

    return do_verify(file, sig, key, json)


@app.command()
def export(
    folder: Annotated[
        str, typer.Argument(metavar="FOLDER", help="Folder of the register, or postgresql://…")
    ],
    out: Annotated[str, typer.Argument(metavar="OUT.zip", help="Archive to write.")],
    data: LoggerFolder = "",
) -> int:
    """Write everything of a register into one archive that can be read without the program."""
    from steadyhead.cli.keeping import do_export

    return do_export(folder, out, data)


@app.command(name="import")
def import_(
    archive: Annotated[str, typer.Argument(metavar="ARCHIVE", help="Archive that export wrote.")],
    folder: Annotated[
        str, typer.Argument(metavar="FOLDER", help="Folder of a register to be made, or postgresql://…")
    ],
    data: LoggerFolder = "",
) -> int:
    """Make a register again out of an archive; the folder must hold none, or an empty one.

    Nothing is half taken in: the archive is checked, its files are made anew from the register and compared.
    """
    from steadyhead.cli.keeping import do_import

    return do_import(archive, folder, data)


@app.command()
def due(
    folder: Annotated[
        str, typer.Argument(metavar="FOLDER", help="Folder of the register, or postgresql://…")
    ],
    until: Annotated[
        str, typer.Option("--until", metavar="DAY", help="Last day of the span, as 2027-06-30; 3 months on.")
    ] = "",
    show: Annotated[
        str,
        typer.Option("--show", metavar="WHICH", help="work | protection | overdue | deferred | looks | all"),
    ] = "work",
    json: AsJson = False,
    ics: Annotated[
        bool, typer.Option("--ics", help="Print a calendar of the coming year instead (iCalendar).")
    ] = False,
) -> int:
    """List what is due at every station: why before when, grouped by isolation.

    Exit status 0: nothing of it is overdue; 1: something is; 2: the register cannot be used.
    """
    from steadyhead.cli.due_text import do_due

    return do_due(folder, until, show, json, ics)


@app.command()
def key(
    make: Annotated[bool, typer.Option("--make", help="Make one where there is none.")] = False,
    public: Annotated[
        str, typer.Option("--public", metavar="OUT.pem", help="Write its public half, to be given away.")
    ] = "",
    json: AsJson = False,
) -> int:
    """Show the fingerprint of the key that certificates are signed with, and where it lies."""
    from steadyhead.cli.certifying import do_key

    return do_key(make, public, json)


@app.command()
def schema(
    json: Annotated[bool, typer.Option("--json", help="The schema is JSON with or without it.")] = True,
) -> None:
    """Print the JSON Schema of the station file."""
    from steadyhead.cli.commands import do_schema

    do_schema()

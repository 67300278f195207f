"""The commands of ``steadyhead run``: what the entries made on site amount to, and what comes next."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from itertools import takewhile
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperCommand

from steadyhead.cli.streams import put_file
from steadyhead.errors import InputError

if TYPE_CHECKING:
    from steadyhead.services.running import JudgedRun
    from steadyhead.units import UnitSet

FINE, FORBIDDEN = 0, 1
app = typer.Typer(
    help="Judge the entries of a run by its plan; say what comes next.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
PlanName = Annotated[str, typer.Argument(metavar="NAME.plan", help="Plan, as plan --save wrote it.")]
EntriesName = Annotated[
    str, typer.Argument(metavar="ENTRIES.jsonl", help="Entries, one a line; - reads standard input.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print the full typed result as JSON.")]
Units = Annotated[str, typer.Option("--units", metavar="UNITS", help="As for check; yours where left out.")]
Now = Annotated[
    str,
    typer.Option("--now", metavar="TIME", help="Time of judging with its offset; the clock where left out."),
]


@app.command("judge")
def judge_command(
    plan: PlanName, entries: EntriesName, json: AsJson = False, units: Units = "", now: Now = ""
) -> int:
    """Say for every step and proof where it stands, and what stands against *final*.

    Exit status 0: nothing stands against final; 1: something does; 2: a file cannot be used.
    """
    from steadyhead.cli.running_text import judged_text
    from steadyhead.cli.showing import show_json
    from steadyhead.services.running import judged_data

    run, mine = _judged(plan, entries, units, now)
    if json:
        show_json(judged_data(run))
    else:
        put_file(judged_text(run, mine))
    return FINE if run.is_final else FORBIDDEN


@app.command("next")
def next_command(
    plan: PlanName, entries: EntriesName, json: AsJson = False, units: Units = "", now: Now = ""
) -> int:
    """Print the next step with its bands, cautions and stop rules.

    Exit status 0: there is a step to be done; 1: nothing is left, or nothing can be done now.
    """
    from steadyhead.cli.running_text import next_data, next_text
    from steadyhead.cli.showing import show_json

    run, mine = _judged(plan, entries, units, now, begun=False)
    if json:
        show_json(next_data(run))
    else:
        put_file(next_text(run, mine))
    return FINE if run.judgement.next else FORBIDDEN


@app.command("advise")
def advise_command(
    plan: PlanName,
    entries: EntriesName,
    json: AsJson = False,
    units: Units = "",
    now: Now = "",
    valve: Annotated[str, typer.Option("--valve", metavar="ID", help="Only this valve's screw.")] = "",
) -> int:
    """Advise the next turn of each pilot screw, with its expected reading and its risk.

    Exit status 0: a turn is advised, or the setting is reached; 1: no turn, and why; 2: unusable files.
    """
    from steadyhead.cli.advise_text import advised_text
    from steadyhead.cli.showing import show_json
    from steadyhead.services.advising import advise_run, advised_data, is_fine

    run, mine = _judged(plan, entries, units, now)
    found = advise_run(run, valve)
    if json:
        show_json(advised_data(found))
    else:
        put_file(advised_text(found, mine))
    return FINE if is_fine(found[0]) else FORBIDDEN


@app.command("audit")
def audit_command(
    sheet: Annotated[str, typer.Argument(metavar="SHEET.yaml", help="Sheet of the job: its numbers.")],
    entries: EntriesName,
    json: AsJson = False,
    units: Units = "",
) -> int:
    """Read a finished record a second time, also one kept on paper, and name every breach with its entry.

    Exit status 0: nothing stands against final; 1: something does; 2: a file cannot be used.
    """
    from steadyhead.cli.audit_text import audited_text
    from steadyhead.cli.commands import units_for
    from steadyhead.cli.showing import show_json
    from steadyhead.services.auditing import audit_record, audited_data
    from steadyhead.services.files import read_file

    mine, stated = units_for(units), read_file(sheet)
    audited = audit_record(stated, _entries(entries), sheet_name=sheet, entries_name=entries)
    if json:
        show_json(audited_data(audited))
    else:
        put_file(audited_text(audited, mine))
    return FINE if audited.allows_final else FORBIDDEN


class EnterCommand(TyperCommand):
    """Entering; a name of two words without quotes is refused, not signed by half. Help lists the acts."""

    def format_help(self, ctx: Any, formatter: Any) -> None:
        """Write the help with every act that *do* may name."""
        from steadyhead.records.entry import VERBS

        self.epilog = f"Acts, STEP do ACT thing=PART.ASPECT: {', '.join(VERBS)}."
        super().format_help(ctx, formatter)

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Refuse words that follow the value of an option without a NAME of their own."""
        for at, option in enumerate(args):
            after = args[at + 2 : at + 3]
            follows = option in ("--who", "--device", "--at") and len([*_words(args[:at])]) > 2
            if follows and after and "=" not in after[0] and not after[0].startswith("-"):
                value = " ".join(args[at + 1 : at + 3])
                remedy = f'Put it in quotes: {option} "{value}". Or write the words of the entry before it.'
                raise InputError(option, f"got {args[at + 1]!r:.40}, and then {after[0]!r:.40}.", remedy)
        return super().parse_args(ctx, args)


def _words(args: list[str]) -> Iterator[str]:
    """Yield what stands before the first option: files and words of the entry."""
    yield from takewhile(lambda arg: not arg.startswith("--"), args)


@app.command("enter", cls=EnterCommand)
def enter_command(
    plan: PlanName,
    entries: EntriesName,
    words: Annotated[
        list[str],
        typer.Argument(
            metavar="STEP NAME=VALUE ...",
            help="What was read, seen or done: F1.SO hold=5.17 bar with=TG-07, A4 air=yes, A7 done, "
            "ES6.SO do tighten nut thing=SO.nut, E0.SO choose set, position IV1=shut, note WORDS, "
            "begin purpose=WORDS, person, instrument, deviation, sign final; "
            "correct N value=5.12 bar reason=WORDS, void N. A note that ends with one of these answers a "
            "trial outside: raised too fast, raised in too large steps, read too late, gauge misread, gauge "
            "not steady, air in the line, pilot stuck at first, closing medium slow, dirt on the pilot seat, "
            "watch started late, water still drawn, cause not found.",
        ),
    ],
    who: Annotated[
        str, typer.Option("--who", metavar="NAME", help="Who enters it; as last time where left out.")
    ] = "",
    at: Annotated[
        str, typer.Option("--at", metavar="TIME", help="When it was, where it is entered afterwards.")
    ] = "",
    device: Annotated[
        str, typer.Option("--device", metavar="NAME", help="Name of this device; this machine's left out.")
    ] = "",
    json: AsJson = False,
    units: Units = "",
) -> int:
    """Add to the entries of a run, and say at once what it means.

    Exit status 0: entered; 1: entered, and something stands against final by it; 2: nothing was entered.
    """
    from steadyhead.cli.entering import Asked, do_enter

    return do_enter(Asked(plan, entries, tuple(words), who, at, device), units, json)


@app.command("show")
def show_command(
    plan: PlanName,
    entries: EntriesName,
    step: Annotated[str, typer.Argument(metavar="[STEP]", help="Only the entries of this step.")] = "",
    json: AsJson = False,
    units: Units = "",
) -> int:
    """Print the entries of a run by number, as correct and void name them."""
    from steadyhead.cli.entering import do_show

    return do_show(plan, entries, step, units, json)


StationName = Annotated[
    str, typer.Option("--station", metavar="FILE", help="Station file the plan was made from.")
]
ReleaseName = Annotated[str, typer.Option("--release", metavar="FILE", help="Record of its release.")]
KeyName = Annotated[
    str, typer.Option("--key", metavar="FILE", help="Signing key; that of this installation where left out.")
]


@app.command("certify")
def certify_command(
    plan: PlanName,
    entries: EntriesName,
    pdf: Annotated[str, typer.Option("--pdf", metavar="OUT", help="Write the certificate here.")] = "",
    station: StationName = "",
    release: ReleaseName = "",
    replaces: Annotated[
        str, typer.Option("--replaces", metavar="OLD.pdf", help="Certificate this one takes the place of.")
    ] = "",
    key: KeyName = "",
    json: AsJson = False,
    units: Units = "",
    without_proof: Annotated[
        bool, typer.Option("--without-proof", help="Leave the protection proof out, as for check.")
    ] = False,
) -> int:
    """Write the certificate of a signed run: final or provisional, signed, with its record inside.

    Exit status 0: written; 1: none can be made, and why; 2: a file cannot be used.
    """
    from steadyhead.cli.certifying import Asked, do_certify

    return do_certify(Asked(plan, entries, station, release, replaces, key, units, without_proof), pdf, json)


@app.command("handover")
def handover_command(
    certificate: Annotated[str, typer.Argument(metavar="CERT.pdf", help="Certificate, as certify wrote it.")],
    zip_: Annotated[str, typer.Option("--zip", metavar="OUT", help="Write the pack here.")],
    station: StationName = "",
    release: ReleaseName = "",
    key: Annotated[
        str, typer.Option("--key", metavar="FILE", help="Public key; else this installation's.")
    ] = "",
    units: Units = "",
    without_proof: Annotated[
        bool, typer.Option("--without-proof", help="Leave the protection proof out, as for check.")
    ] = False,
) -> int:
    """Write the handover pack: certificate, design sheet, card, notes, and all data in open formats.

    Exit status 0: written; 2: the certificate is not proved, or a file cannot be used.
    """
    from steadyhead.cli.certifying import Asked, do_handover

    asked = Asked(certificate, "", station, release, "", key, units, without_proof)
    return do_handover(asked, zip_)


def entries_of(name: str) -> bytes:
    """Return the bytes of a file of entries, or of standard input for ``-``."""
    return _entries(name)


@app.command("fit")
def fit_command(
    plan: PlanName,
    entries: EntriesName,
    station: Annotated[
        str, typer.Option("--station", metavar="FILE", help="Station file the plan was made from.")
    ],
    save: Annotated[
        str,
        typer.Option("--save", metavar="NAME.baseline.json", help="Keep the baseline, for --baseline."),
    ] = "",
    baseline: Annotated[
        str,
        typer.Option(
            "--baseline", metavar="NAME.baseline.json", help="Of the run before: what is left open keeps it."
        ),
    ] = "",
    json: AsJson = False,
    units: Units = "",
    now: Now = "",
) -> int:
    """Fit the twin to the readings of a run: each value with its interval, and what is left open.

    Exit status 0: a value is determined; 1: none is; 2: a file cannot be used.
    """
    from steadyhead.cli.commands import baseline_of
    from steadyhead.cli.fit_text import fitted_text
    from steadyhead.cli.showing import show_json
    from steadyhead.services.baselines import fit_run, fitted_data
    from steadyhead.services.files import read_file, write_paper
    from steadyhead.services.measured import BEGINS, ENDING, baseline_file

    run, mine = _judged(plan, entries, units, now)
    found = fit_run(run, read_file(station), station, baseline_of(baseline))
    if save:
        content = baseline_file(found.baseline)
        if not save.endswith(ENDING):
            raise InputError("--save", f"got {save!r}.", f"Give a name that ends in {ENDING}.")
        place, was_there = write_paper(
            save, content, option="--save", ending=".json", begins=BEGINS, source=station
        )
        print(f"Baseline {'replaced' if was_there else 'written'}: {place}", file=sys.stderr)
    if json:
        show_json(fitted_data(found))
    elif not save:
        put_file(fitted_text(found, mine))
    return FINE if found.baseline.fitted else FORBIDDEN


BEGIN = "Begin it with who takes part: steadyhead run enter NAME.plan {} person name=… role=… --who …"


def _entries(name: str, *, begun: bool = True) -> bytes:
    """Return the bytes of a file of entries; one that is not there is told how it is begun, or is empty."""
    from pathlib import Path

    from steadyhead.services.files import read_file, read_stream
    from steadyhead.services.running import LARGEST_ENTRIES

    if name != "-" and not Path(name).exists():
        if not begun:
            print(f"{name} is not there yet. {BEGIN.format(name)}\n", file=sys.stderr)
            return b""
        raise InputError(name, "is not there.", BEGIN.format(name))

    if name == "-":
        return read_stream(None if sys.stdin is None else sys.stdin.buffer, "standard input", LARGEST_ENTRIES)
    return read_file(name, LARGEST_ENTRIES)


def _judged(
    plan: str, entries: str, units: str, now: str, *, begun: bool = True
) -> tuple[JudgedRun, UnitSet]:
    from datetime import UTC, datetime

    from steadyhead.cli.commands import units_for
    from steadyhead.services.files import read_file
    from steadyhead.services.running import judge_run, time_of

    mine = units_for(units)
    moment = time_of(now) if now else datetime.now(UTC).timestamp()
    stored, given = read_file(plan), _entries(entries, begun=begun)
    return judge_run(stored, given, moment, plan_name=plan, entries_name=entries), mine

"""Surge runs as text: a line for each event, a paragraph for one, then what they are worth."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from steadyhead.cli.progress import say, watched
from steadyhead.cli.showing import finding_lines, paragraph, show_json
from steadyhead.services.studies.surge_rows import HEADS, cells
from steadyhead.services.studies.surge_words import is_proved_elsewhere, run_words, way_named
from steadyhead.units import UnitSet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steadyhead.records.surge import SurgeRun
    from steadyhead.services.surge import SurgeAnswer

FINE, FORBIDDEN, STOPPED = 0, 1, 130
FOOT = (
    "Computed run of the transient twin: full pipes, no air, walls by their wave speed, valves not "
    "calibrated. It authorises nothing; local codes, supplier's instructions and licensed practice go "
    "first."
)


def do_surge(
    file: str,
    event: str,
    within: str,
    way: str,
    json: bool,
    table: str,
    svg: str,
    units: str,
    width: int = 1360,
    baseline: str = "",
) -> int:
    """Run events and show what they come to; Ctrl-C shows what is finished."""
    from steadyhead.cli.commands import baseline_of, read_source, tell_version, units_for
    from steadyhead.services.first_use import tell_first_use
    from steadyhead.services.surge import run_surge, surge_data

    mine = units_for(units)
    source, measured = read_source(file), baseline_of(baseline)
    tell_first_use(say)
    shown = "standard input" if file == "-" else file
    with watched() as progress:
        answer = run_surge(
            source, shown, event, within, way, baseline=measured, progress=progress, cancel=progress.cancel
        )
    tell_version(answer.loaded)
    if not answer.runs:
        print("Stopped; nothing is finished.", file=sys.stderr)
        return STOPPED
    _write(answer, file, table, svg, mine, width)
    if json:
        show_json(surge_data(answer))
    else:
        print(surge_text(answer, mine, is_overview=not event))
    if answer.left_out:
        print(f"Stopped; not run: {', '.join(answer.left_out)}.", file=sys.stderr)
        return STOPPED
    return FINE if answer.is_inside else FORBIDDEN


def _write(answer: SurgeAnswer, file: str, table: str, svg: str, units: UnitSet, width: int) -> None:
    """Write the table and the picture that were asked for."""
    from steadyhead.services.files import write_paper
    from steadyhead.services.surge import only_run, surge_csv, surge_picture

    if table:
        text = surge_csv(only_run(answer, "--csv"), units)
        write_paper(
            table, text.encode("utf-8"), begins=b"time [s]", option="--csv", ending=".csv", source=file
        )
        print(f"Table: {table}", file=sys.stderr)
    if svg:
        from steadyhead.drawings.palette import screen
        from steadyhead.drawings.surge import draw_surge

        picture = surge_picture(answer, only_run(answer, "--svg"), units)
        drawn = draw_surge(picture, screen(embed=True), float(width)).encode("utf-8")
        write_paper(svg, drawn, begins=b"<", option="--svg", ending=".svg", source=file)
        print(f"Picture: {svg}", file=sys.stderr)


def surge_text(answer: SurgeAnswer, units: UnitSet, *, is_overview: bool = False) -> str:
    """Return the runs in words: an overview of events, or the paragraphs of one; then the findings."""
    who = answer.loaded.station.station
    lines = [f"{who.name} ({who.id}): surge", ""]
    if is_overview:
        lines += [*_overview(answer, units), ""]
    else:
        for runs in answer.events:
            lines += [paragraph(run_words(runs[0], units)), ""]
            if len(runs) > 1:
                said = f"That is the worst of {len(runs)} runs, and the verdict of the event."
                lines += [paragraph(said), *_table([(run, run.event) for run in runs], units), ""]
    if answer.findings:
        lines += ["Findings", *(finding_lines(finding, units) for finding in answer.findings), ""]
    return "\n".join([*lines, paragraph(FOOT)])


def _overview(answer: SurgeAnswer, units: UnitSet) -> list[str]:
    """Return a line for each event, by way, and how one is told in full."""
    ways = list(dict.fromkeys(runs[0].way for runs in answer.events))
    lines: list[str] = []
    for way in ways:
        if way:
            lines.append(f"{'' if not lines else chr(10)}On {way_named(way)}")
        rows = [(runs[0], _of_many(runs)) for runs in answer.events if runs[0].way == way]
        lines += _table(rows, units)
    said = (
        "sees and bears: highest pressure at the component nearest its limit, at datum; where: how far from "
        "the station that side is highest; lowest: anywhere in the mains, at its own level; trips and shut: "
        "seconds after the beginning and after the trip; thrown back over it: only the wave thrown back once "
        "the shut-off is shut passes a limit; no verdict: the column parts, or a main is not stated, what "
        f"follows is not judged. In words: --event {answer.worst.group}."
    )
    if any(len(runs) > 1 for runs in answer.events):
        said += " ×2 and more: the worst of so many runs."
    if any(run.is_uncredited for run in answer.runs):
        said += " uncredited: a failure nobody credits the shut-off with, to be heeded as in the proof."
    if any(is_proved_elsewhere(run) for run in answer.runs):
        said += (
            " A line of a failing reducer is one run as stated, not the proof that the shut-off protects: "
            "steadyhead prove."
        )
    return [*lines, "", paragraph(said, indent=2)]


def _of_many(runs: Sequence[SurgeRun]) -> str:
    return runs[0].group if len(runs) == 1 else f"{runs[0].group} ×{len(runs)}"


def _table(rows: Sequence[tuple[SurgeRun, str]], units: UnitSet) -> list[str]:
    """Return runs as lines of a table under their heads."""
    unit = "/".join(one.unit("pressure") for one in units.each("pressure"))
    heads = [f"{head}, {unit}" if head in ("sees", "bears", "lowest") else head for head in HEADS]
    table = [heads, *(cells(run, name, units) for run, name in rows)]
    widths = [max(len(row[column]) for row in table) for column in range(len(heads))]
    lines = []
    for row in table:
        told = [row[0].ljust(widths[0])]
        told += [text.rjust(width) for text, width in zip(row[1:-1], widths[1:-1], strict=True)]
        lines.append(f"  {'  '.join([*told, row[-1]])}".rstrip())
    return lines

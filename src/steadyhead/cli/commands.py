"""What each command does once its words are parsed: read, call one service, show, write."""

from __future__ import annotations

import sys
from dataclasses import asdict
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from steadyhead.cli.proving import STOPPED, StoppedByHandError, proof_for
from steadyhead.cli.showing import finding_lines, show_json
from steadyhead.cli.streams import put_file
from steadyhead.errors import InputError
from steadyhead.services.files import STATION_FILE, read_file, read_stream, write_paper

if TYPE_CHECKING:
    from steadyhead.records.baseline import Baseline
    from steadyhead.records.station import Station
    from steadyhead.reports.card_left import AsLeft
    from steadyhead.services.release import Released
    from steadyhead.station.load import Loaded
    from steadyhead.station.valve_sheets import SheetFile
    from steadyhead.units import UnitSet

FINE, FORBIDDEN = 0, 1


def read_source(file: str) -> bytes:
    """Return the bytes of a station file, or of standard input for ``-``."""
    if file == "-":
        return read_stream(None if sys.stdin is None else sys.stdin.buffer, "standard input")
    return read_file(file, instead=STATION_FILE)


def baseline_of(name: str) -> Baseline | None:
    """Return the baseline of a file a person named; None where none is."""
    if not name:
        return None
    from steadyhead.services.measured import read_baseline

    return read_baseline(read_file(name), name)


def tell_version(loaded: Loaded) -> None:
    """Say so where a baseline was fitted with another version of the station file."""
    measured = loaded.baseline
    if measured is not None and measured.station_sha256 != loaded.sha256:
        print(
            "The baseline was fitted with another version of this station file. Make sure that nothing of "
            "the valves has changed since.",
            file=sys.stderr,
        )


def quick() -> None:
    """Answer a few steady questions without loading the compiler, unless the environment chose an engine."""
    import os

    from steadyhead.laws import compiling

    if not os.environ.get(compiling.ENGINE_VARIABLE):
        compiling.choose("plain")


def units_for(option: str = "", *, station: Station | None = None, paper: str = "") -> UnitSet:
    """Return the units to print in: those asked for, those of the paper, those of this person."""
    from steadyhead.services import preferences

    return preferences.units_for(option, station=station, paper=paper)


def do_example(name: str, json: bool) -> None:
    """List the examples, or print one; as JSON in the canonical form without comments."""
    from steadyhead.services.logs import example_file as logger
    from steadyhead.station import examples

    if not name and json:
        show_json([{"name": known, "summary": examples.summary(known)} for known in examples.names()])
    elif not name:
        print("\n".join(f"{known:<18} {examples.summary(known)}" for known in examples.names()))
        print(f"{logger.NAME:<18} {logger.SUMMARY}")
    elif name == logger.NAME and not json:
        put_file(logger.example_file())
    elif json:
        from steadyhead.station.load import load

        show_json(load(examples.read(name), name).data)
    else:
        put_file(examples.read(name).decode("utf-8"))


def do_new(layout: str, json: bool) -> None:
    """List the layouts, or print a file to fill in."""
    from steadyhead.station import templates

    if not layout and json:
        show_json([{"layout": known, "summary": what} for known, what in templates.LAYOUTS.items()])
    elif not layout:
        print("\n".join(f"{known:<22} {what}" for known, what in templates.LAYOUTS.items()))
        print(f"{templates.DATA_SHEET:<22} a data sheet of a valve, for your library")
    elif json:
        show_json({"layout": layout, "file": templates.new(layout)})
    else:
        put_file(templates.new(layout))


def do_schema() -> None:
    """Print the JSON Schema of the station file, in its own order."""
    import json

    from steadyhead.station.schema import schema

    put_file(json.dumps(schema(), indent=2, ensure_ascii=False) + "\n")


def do_check(
    file: str, json: bool, units: str, pdf: str, without_proof: bool = False, baseline: str = ""
) -> int:
    """Judge a station file."""
    mine = units_for(units)
    source, measured = read_source(file), baseline_of(baseline)
    proof = proof_for(source, _shown(file), without=without_proof, baseline=measured)
    from steadyhead.cli.check_text import check_text
    from steadyhead.services.capacity import design_data
    from steadyhead.services.judging import judge_file

    judged = judge_file(source, _shown(file), today(), proof, measured)
    tell_version(judged.loaded)
    if pdf:
        from steadyhead.services.papers import design_paper

        told = units_for(units, station=judged.loaded.station, paper="design_sheet")
        paper = design_paper(judged, told, today(), revision_of(file, judged.loaded, judged.source))
        write_pdf("Design sheet", pdf, paper, file)
    if json:
        show_json(design_data(judged))
    else:
        print(check_text(judged, mine))
    return FINE if judged.sheet.releasable else FORBIDDEN


def do_plan(
    file: str,
    for_: str,
    json: bool,
    units: str,
    pdf: str,
    without_proof: bool = False,
    save: str = "",
    baseline: str = "",
) -> int:
    """Write a test plan."""
    mine = units_for(units)
    source, measured = read_source(file), baseline_of(baseline)
    proof = proof_for(source, _shown(file), without=without_proof, keep_quick=False, baseline=measured)
    from steadyhead.services.planning import make_plan, plan_data, plan_text

    made = make_plan(source, for_, _shown(file), today(), proof, measured)
    tell_version(made.loaded)
    if made.procedure is None:
        if json:
            show_json(plan_data(made))
        else:
            print("No plan for this visit, because:")
            for finding in made.findings:
                print(finding_lines(finding, mine))
        return FORBIDDEN
    if pdf:
        from steadyhead.services.papers import plan_paper

        told = units_for(units, station=made.loaded.station, paper="plan")
        paper = plan_paper(made, told, today(), revision_of(file, made.loaded, made.source))
        write_pdf("Test plan", pdf, paper, file)
    if save:
        from steadyhead.services.plan_files import BEGINS, ENDING, plan_file

        content = plan_file(made.procedure)
        place, was_there = write_paper(
            save, content, option="--save", ending=ENDING, begins=BEGINS, source=file
        )
        print(f"Plan {'replaced' if was_there else 'written'}: {place}", file=sys.stderr)
    if json:
        show_json(plan_data(made))
    elif not pdf and not save:
        print(plan_text(made, mine))
    return FINE if made.releasable else FORBIDDEN


def do_release(file: str, by: str, folder: str, again: bool, json: bool, without_proof: bool = False) -> int:
    """Freeze a design; one whose proof was stopped by hand is not released."""
    source = read_source(file)
    try:
        proof = proof_for(source, _shown(file), without=without_proof, must=True)
    except StoppedByHandError:
        print("Stopped; nothing is released.", file=sys.stderr)
        return STOPPED
    from steadyhead.services.judging import finding_data, judge_file
    from steadyhead.services.ports import FolderShelf, SystemClock
    from steadyhead.services.release import NotReleasable, release_design

    judged = judge_file(source, _shown(file), today(), proof)
    if not by and file != "-" and judged.sheet.releasable and sys.stdin is not None and sys.stdin.isatty():
        by = input("Who releases this design? ")
    place = _folder(folder, file)
    try:
        released = release_design(
            judged.loaded,
            source,
            judged.sheet,
            by=by,
            clock=SystemClock(),
            shelf=FolderShelf(place),
            again=again,
            proof=proof,
        )
    except NotReleasable as refused:
        count = len(refused.findings)
        stand = "1 finding stands" if count == 1 else f"{count} findings stand"
        print(f"Not released, because {stand} in the way:", file=sys.stderr)
        for finding in refused.findings:
            print(finding_lines(finding, units_for()), file=sys.stderr)
        if json:
            findings = [finding_data(finding) for finding in refused.findings]
            show_json({"format": "steadyhead/release-refused/1", "findings": findings})
        return FORBIDDEN
    where = str(place / released.name)
    if json:
        told = {"revision": released.revision, "sha256": released.sha256, "file": where}
        told |= {"is_new": released.is_new, "is_proof_new": released.is_proof_new}
        show_json(told | {"rests_on": asdict(released.rests_on)})
    elif not released.is_new:
        print(
            f"Unchanged since revision {released.revision}: {where}\n{_grounds(released)}\n"
            "Nothing was written. A new revision of the same file: add --again."
        )
    else:
        print(
            f"Released as revision {released.revision}: {where}\n{_grounds(released)}\n"
            f"SHA-256 of the record: {released.sha256}"
        )
    return FINE


def _grounds(released: Released) -> str:
    """Return what a release rests on, in words."""
    held = released.rests_on
    said = {
        "proof": f"It holds the protection proof of {' and '.join(held.shut_offs)} by engine "
        f"{held.engine_version}, SHA-256 {held.sha256}.",
        "left out": "It rests on no protection proof: that was left out. Its overshoot is that of the lumped "
        "zone.",
        "not proved": "It rests on no protection proof: none could be made.",
        "nothing to prove": "It has no shut-off, so no protection proof.",
        "not recorded": "It was made before releases held their protection proof.",
    }
    lines = [said[held.grounds]]
    lines += [f"Not proved, {way or 'the station'}: {reason}" for way, reason in held.refused]
    if not held.fits:
        lines.append("That proof does not fit its hash: somebody changed it. Do not use this revision.")
    if released.is_proof_new:
        lines.append("Worked out now the proof has other figures, or is there for the first time.")
    return "\n".join(lines)


def do_card(
    file: str,
    pdf: str,
    json: bool,
    units: str,
    without_proof: bool = False,
    certificate: str = "",
    baseline: str = "",
) -> int:
    """Write the station card."""
    source, measured = read_source(file), baseline_of(baseline)
    proof = proof_for(source, _shown(file), without=without_proof, keep_quick=False, baseline=measured)
    from steadyhead.services.judging import judge_file
    from steadyhead.services.papers import card_data, card_paper

    units_for(units)
    judged = judge_file(source, _shown(file), today(), proof, measured)
    tell_version(judged.loaded)
    told = units_for(units, station=judged.loaded.station, paper="card")
    left = left_by(certificate, judged.loaded, told)
    if json:
        show_json(card_data(judged, told, left))
    if pdf:
        paper = card_paper(judged, told, today(), revision_of(file, judged.loaded, judged.source), left)
        write_pdf("Station card", pdf, paper, file)
    if not pdf and not json:
        raise InputError(
            "--pdf", "got no place for the card.", "Say where, e.g. --pdf card.pdf; or use --json."
        )
    return FINE


def left_by(certificate: str, loaded: Loaded, units: UnitSet) -> AsLeft:
    """Return what a certificate left at this station; nothing where none is named."""
    from steadyhead.reports.card_left import NOTHING, as_left

    if not certificate:
        return NOTHING
    from steadyhead.cli.certifying import signed_record

    return as_left(signed_record(certificate, loaded), units)


def do_why(
    file: str, code: str, json: bool, units: str, without_proof: bool = False, baseline: str = ""
) -> int:
    """Explain a finding."""
    source, measured = read_source(file), baseline_of(baseline)
    proof = proof_for(source, _shown(file), without=without_proof, baseline=measured)
    from steadyhead.cli.why_text import why_text
    from steadyhead.services.judging import explain, explained_data, judge_file

    mine = units_for(units)
    judged = judge_file(source, _shown(file), today(), proof, measured)
    tell_version(judged.loaded)
    found = explain(judged, code, mine)
    if json:
        show_json([explained_data(one) for one in found])
    elif not found:
        from steadyhead.cli.why_text import elsewhere

        print(elsewhere(code.strip().upper(), judged.loaded.station))
    else:
        print("\n\n".join(why_text(one, mine) for one in found))
    return FINE


def do_draw(
    file: str,
    picture: str,
    svg: str,
    width: int,
    json: bool,
    units: str,
    reducer: str = "",
    without_proof: bool = False,
) -> int:
    """Draw a picture."""
    source = read_source(file)
    proof = proof_for(source, _shown(file), without=without_proof or picture != "ladder")
    from steadyhead.services.judging import judge_file
    from steadyhead.services.papers import drawing, picture_data

    mine = units_for(units)
    judged = judge_file(source, _shown(file), today(), proof)
    text = drawing(judged, picture, width, mine, reducer)
    if svg:
        kind = {"option": "--svg", "ending": ".svg", "source": file}
        _tell_written("Picture", *write_paper(svg, text.encode("utf-8"), begins=b"<", **kind))
    if json:
        show_json(picture_data(judged, picture, mine, reducer))
    elif not svg:
        put_file(text + "\n")
    return FINE


def do_valve(file: str, keep: bool, json: bool) -> int:
    """Check and keep a data sheet, or list the library."""
    from steadyhead.services import library
    from steadyhead.station.valve_sheets import load_sheet

    if not file:
        found = library.sheets()
        if json:
            show_json([_sheet_data(sheet) for sheet in found])
        else:
            print("\n".join(_sheet_line(sheet) for sheet in found) or f"No data sheet in {library.folder()}.")
        return FINE
    sheet = load_sheet(_sheet_source(file), _shown(file))
    if keep:
        print(f"Kept: {library.keep(sheet)}", file=sys.stderr)
    if json:
        show_json(_sheet_data(sheet))
    else:
        print(_sheet_line(sheet))
    return FINE


def _sheet_source(file: str) -> bytes:
    if file != "-" and not Path(file).exists():
        raise InputError(
            file, "is not there.", "Check the name, or start one with: steadyhead new data-sheet"
        )
    return read_source(file)


def _sheet_line(sheet: SheetFile) -> str:
    said = sheet.sheet
    return f"{sheet.reference}  {said.valve}, {said.size.text}, {said.kv.text}; {said.source}"


def _sheet_data(sheet: SheetFile) -> dict[str, object]:
    return {**sheet.sheet.model_dump(mode="json", exclude_unset=True), "sha256": sheet.sha256}


def today() -> date:
    """Return the date papers carry; ``SOURCE_DATE_EPOCH`` fixes it for reproducible papers.

    Raises
    ------
    InputError
        The environment fixes something that is no time.
    """
    import os

    fixed = os.environ.get("SOURCE_DATE_EPOCH", "").strip()
    if not fixed:
        return datetime.now(UTC).date()
    try:
        if not fixed.isascii() or not fixed.isdigit():
            raise ValueError
        return datetime.fromtimestamp(int(fixed), UTC).date()
    except (ValueError, OverflowError, OSError):
        raise InputError(
            "SOURCE_DATE_EPOCH",
            f"got {fixed[:40]!r}, which is no time of the years 1970 to 9999.",
            "Set it to whole seconds since 1970, e.g. 1795000000, or unset it.",
        ) from None


def revision_of(file: str, loaded: Loaded, source: bytes) -> str:
    """Return the revision these very bytes are released as, looked for beside the file; empty where none."""
    from steadyhead.services.ports import FolderShelf
    from steadyhead.services.release import released_as

    if file == "-":
        return ""
    try:
        return released_as(loaded, source, FolderShelf(Path(file).parent))
    except InputError:
        return ""


def write_pdf(what: str, place: str, content: bytes, source: str) -> None:
    """Write a paper and say where it lies; the station file is never written over, whatever its name."""
    written, replaced = write_paper(
        place, content, option="--pdf", ending=".pdf", begins=b"%PDF", source=source
    )
    _tell_written(what, written, replaced)


def _tell_written(what: str, place: Path, replaced: bool) -> None:
    print(f"{what}: {place}{' (replaced an older one)' if replaced else ''}", file=sys.stderr)


def _folder(folder: str, file: str) -> Path:
    path = Path(folder) if folder else Path("." if file == "-" else file).parent if file != "-" else Path()
    if not path.is_dir():
        raise InputError("--folder", f"{path} is no folder.", "Make it first, or name another.")
    return path


def _shown(file: str) -> str:
    return "standard input" if file == "-" else file

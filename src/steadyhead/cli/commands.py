"""What each command does once its words are parsed: read, call one service, show, write."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path

from steadyhead.cli.showing import UNIT_SETS, finding_lines, paragraph, show_json
from steadyhead.errors import InputError
from steadyhead.services.files import read_file, write_replacing
from steadyhead.units import UnitSet

FINE, FORBIDDEN = 0, 1


def read_source(file: str) -> bytes:
    """Return the bytes of a station file, or of standard input for ``-``."""
    return sys.stdin.buffer.read() if file == "-" else read_file(file)


def quick() -> None:
    """Answer a few steady questions without loading the compiler, unless the environment chose an engine."""
    import os

    from steadyhead.laws import compiling

    if not os.environ.get(compiling.ENGINE_VARIABLE):
        compiling.choose("plain")


def do_example(name: str, json: bool) -> None:
    """List the examples, or print one; as JSON in the canonical form without comments."""
    from steadyhead.station import examples

    if not name and json:
        show_json([{"name": known, "summary": examples.summary(known)} for known in examples.names()])
    elif not name:
        print("\n".join(f"{known:<18} {examples.summary(known)}" for known in examples.names()))
    elif json:
        from steadyhead.station.load import load

        show_json(load(examples.read(name), name).data)
    else:
        sys.stdout.write(examples.read(name).decode("utf-8"))


def do_new(layout: str, json: bool) -> None:
    """List the layouts, or print a file to fill in."""
    from steadyhead.station import templates

    if not layout and json:
        show_json([{"layout": known, "summary": what} for known, what in templates.LAYOUTS.items()])
    elif not layout:
        print("\n".join(f"{known:<22} {what}" for known, what in templates.LAYOUTS.items()))
    elif json:
        show_json({"layout": layout, "file": templates.new(layout)})
    else:
        sys.stdout.write(templates.new(layout))


def do_schema() -> None:
    """Print the JSON Schema of the station file, in its own order."""
    import json

    from steadyhead.station.schema import schema

    print(json.dumps(schema(), indent=2, ensure_ascii=False))


def do_check(file: str, json: bool, units: str, pdf: str) -> int:
    """Judge a station file."""
    quick()
    from steadyhead.cli.check_text import check_text
    from steadyhead.services.judging import judge_file, sheet_data

    judged = judge_file(read_source(file), _shown(file))
    if pdf:
        from steadyhead.services.papers import design_paper

        place = write_pdf(pdf, design_paper(judged, UNIT_SETS[units], today()))
        print(f"Design sheet: {place}", file=sys.stderr)
    if json:
        show_json(sheet_data(judged))
    else:
        print(check_text(judged, UNIT_SETS[units]))
    return FINE if judged.sheet.releasable else FORBIDDEN


def do_plan(file: str, for_: str, json: bool, units: str, pdf: str) -> int:
    """Write a test plan."""
    from steadyhead.services.planning import make_plan, plan_data, plan_text

    made = make_plan(read_source(file), for_, _shown(file))
    if made.procedure is None:
        if json:
            show_json(plan_data(made))
        else:
            print("No plan for this visit, because:")
            for finding in made.findings:
                print(finding_lines(finding, UNIT_SETS[units]))
        return FORBIDDEN
    if pdf:
        from steadyhead.services.papers import plan_paper

        place = write_pdf(pdf, plan_paper(made, UNIT_SETS[units], today()))
        print(f"Test plan: {place}", file=sys.stderr)
    if json:
        show_json(plan_data(made))
    elif not pdf:
        print(plan_text(made, UNIT_SETS[units]))
    return FINE


def do_release(file: str, by: str, folder: str, json: bool) -> int:
    """Freeze a design."""
    quick()
    from steadyhead.services.judging import judge_file
    from steadyhead.services.ports import FolderShelf, SystemClock
    from steadyhead.services.release import NotReleasable, release_design

    source = read_source(file)
    judged = judge_file(source, _shown(file))
    if not by and sys.stdin.isatty() and file != "-" and judged.sheet.releasable:
        by = input("Who releases this design? ")
    shelf = FolderShelf(_folder(folder, file))
    try:
        released = release_design(
            judged.loaded, source, judged.sheet, by=by, clock=SystemClock(), shelf=shelf
        )
    except NotReleasable as refused:
        print(f"Not released, because {len(refused.findings)} findings stand in the way:", file=sys.stderr)
        for finding in refused.findings:
            print(finding_lines(finding, UNIT_SETS["metric"]), file=sys.stderr)
        return FORBIDDEN
    if json:
        show_json({"revision": released.revision, "sha256": released.sha256, "file": released.place})
    else:
        print(
            f"Released as revision {released.revision}: {released.place}\n"
            f"SHA-256 of the record: {released.sha256}"
        )
    return FINE


def do_card(file: str, pdf: str, json: bool, units: str) -> int:
    """Write the station card."""
    from steadyhead.services.judging import judge_file
    from steadyhead.services.papers import card_data, card_paper

    judged = judge_file(read_source(file), _shown(file))
    if json:
        show_json(card_data(judged, UNIT_SETS[units]))
    if pdf:
        print(
            f"Station card: {write_pdf(pdf, card_paper(judged, UNIT_SETS[units], today()))}", file=sys.stderr
        )
    if not pdf and not json:
        raise InputError(
            "--pdf", "got no place for the card.", "Say where, e.g. --pdf card.pdf; or use --json."
        )
    return FINE


def do_why(file: str, code: str, json: bool, units: str) -> int:
    """Explain a finding."""
    quick()
    from steadyhead.services.judging import explain, finding_data, judge_file

    judged = judge_file(read_source(file), _shown(file))
    found = explain(judged, code, UNIT_SETS[units])
    if json:
        show_json(
            [finding_data(e.finding) | {"equation": e.equation, "sources": list(e.sources)} for e in found]
        )
        return FINE
    if not found:
        print(f"{code.strip().upper()} does not stand at this station.")
        return FINE
    for number, explained in enumerate(found):
        if number:
            print()
        _show_explained(explained, UNIT_SETS[units])
    return FINE


def _show_explained(explained: object, units: UnitSet) -> None:
    from steadyhead.findings import Amount
    from steadyhead.services.judging import Explained
    from steadyhead.units import say

    assert isinstance(explained, Explained)
    told = explained.told
    print(f"{told.code} ({told.severity.value}): {told.title}")
    print(f"At {told.subject}{', ' + told.case if told.case else ''}\n")
    print(paragraph(told.statement))
    for head, text in (("Why it matters", told.why), ("What would cure it", told.cure)):
        if text:
            print(f"\n{head}\n{paragraph(text, indent=2)}")
    if explained.finding.inputs:
        print("\nRests on")
        for given in explained.finding.inputs:
            value = (
                say(given.amount.si, given.amount.kind, units)
                if isinstance(given.amount, Amount)
                else given.amount
            )
            print(
                paragraph(
                    f"{given.label}: {value}" + (f"  ({given.provenance})" if given.provenance else ""),
                    indent=2,
                )
            )
    if explained.equation:
        print(f"\nRelation\n{paragraph(explained.equation, indent=2)}")
    if explained.sources:
        print("\nSources")
        for source in explained.sources:
            print(paragraph(source, indent=2))


def do_draw(file: str, picture: str, svg: str, width: int, json: bool, units: str) -> int:
    """Draw a picture."""
    quick()
    from steadyhead.services.judging import judge_file
    from steadyhead.services.papers import drawing, picture_data

    judged = judge_file(read_source(file), _shown(file))
    text = drawing(judged, picture, width, UNIT_SETS[units])
    if svg:
        if Path(svg).suffix.lower() != ".svg":
            raise InputError("--svg", f"got {svg!r}.", "Give a name that ends in .svg.")
        print(f"Picture: {write_replacing(Path(svg), text.encode('utf-8'))}", file=sys.stderr)
    if json:
        show_json(picture_data(judged, picture, UNIT_SETS[units]))
    elif not svg:
        print(text)
    return FINE


def today() -> date:
    """Return the date papers carry; ``SOURCE_DATE_EPOCH`` fixes it for reproducible papers."""
    import os
    from datetime import UTC, datetime

    fixed = os.environ.get("SOURCE_DATE_EPOCH", "")
    return datetime.fromtimestamp(int(fixed), UTC).date() if fixed.isdigit() else datetime.now(UTC).date()


def write_pdf(place: str, content: bytes) -> Path:
    """Write a paper; the name must end in .pdf so that no station file is overwritten by mistake."""
    path = Path(place)
    if path.suffix.lower() != ".pdf":
        raise InputError("--pdf", f"got {place!r}.", "Give a name that ends in .pdf.")
    return write_replacing(path, content)


def _folder(folder: str, file: str) -> Path:
    path = Path(folder) if folder else Path("." if file == "-" else file).parent if file != "-" else Path()
    if not path.is_dir():
        raise InputError("--folder", f"{path} is no folder.", "Make it first, or name another.")
    return path


def _shown(file: str) -> str:
    return "standard input" if file == "-" else file

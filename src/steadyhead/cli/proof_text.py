"""The protection proof of a station as text: each failure, what lies lowest, the window of the needle."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from steadyhead.cli.showing import finding_lines, paragraph, show_json
from steadyhead.services.protection import CODES, LIMIT_CODE, is_proved
from steadyhead.units import UnitSet

if TYPE_CHECKING:
    from steadyhead.services.judging import Judged

FINE, FORBIDDEN = 0, 1
FOOT = (
    "Computed by the transient twin: full pipes, no air, walls by their wave speed, valves not calibrated. "
    "It supports a decision and authorises nothing; codes, the supplier's instructions and licensed practice "
    "take precedence."
)


def do_prove(file: str, json: bool, units: str) -> int:
    """Prove what the shut-off protects, and show it."""
    from steadyhead.cli.commands import read_source, today, units_for
    from steadyhead.cli.proving import STOPPED, StoppedByHandError, proof_for
    from steadyhead.errors import InputError

    mine = units_for(units)
    source = read_source(file)
    shown = "standard input" if file == "-" else file
    try:
        proof = proof_for(source, shown, without=False, must=True)
    except StoppedByHandError:
        print("Stopped; nothing is proved.", file=sys.stderr)
        return STOPPED
    from steadyhead.services.judging import judge_file
    from steadyhead.services.protection import has_something_to_prove

    judged = judge_file(source, shown, today(), proof)
    if not judged.sheet.protection and not has_something_to_prove(judged.loaded.station):
        raise InputError(
            "FILE", "has no shut-off: there is nothing to prove.", "See surge for what happens without one."
        )
    if not judged.sheet.protection:
        refused = proof.refused if proof else ()
        reasons = "; ".join(f"{way or 'the station'}: {reason.rstrip('.')}" for way, reason in refused)
        raise InputError(
            "FILE",
            f"nothing could be proved: {reasons or 'no shut-off has a trip, or the proof was left out'}.",
            "Check says what of the file is missing.",
        )
    if json:
        show_json(proof_data(judged))
    else:
        print(proof_text(judged, mine))
    return FINE if is_proved(judged.sheet.findings) else FORBIDDEN


def proof_data(judged: Judged) -> dict[str, object]:
    """Return the proof as plain data: SI, names ending in the unit, nine significant digits."""
    from steadyhead.design.export import plain
    from steadyhead.services.judging import finding_data

    return {
        "format": "steadyhead/protection-result/1",
        "file_sha256": judged.loaded.sha256,
        "proved": is_proved(judged.sheet.findings),
        "ways": plain(judged.sheet.protection),
        "findings": [finding_data(one) for one in judged.sheet.findings if one.code in (*CODES, LIMIT_CODE)],
    }


def _row(row: list[str]) -> str:
    """Return a side of a failure as a sentence."""
    from steadyhead.reports.protection_tables import NONE

    side, peak, thrown, bears, verdict, case, times = row
    seen = f"{side} {peak}" if thrown == NONE else f"{side} {peak}, thrown back once shut {thrown}"
    told = "" if verdict in (NONE, "held") else f": {verdict}"
    borne = "" if bears == NONE else f", bears {bears}"
    return f"{seen}{borne}{told}. {case}; {times}."


def proof_text(judged: Judged, units: UnitSet) -> str:
    """Return the proof in words."""
    from steadyhead.reports.protection_tables import sections

    who = judged.loaded.station.station
    lines = [
        f"{who.name} ({who.id}): protection proof",
        f"Pressures in {units.heading('pressure')}, at datum.",
        "",
    ]
    for section in sections(judged.sheet, units):
        if section["name"]:
            lines += [section["name"], ""]
        lines += [paragraph(section["about"]), ""]
        for name, *row in section["rows"]:
            lines += [f"  {name}"] if name else []
            lines.append(paragraph(_row(row), indent=6, first=" " * 4))
        lines.append("")
        lines += [paragraph(one, indent=2) for one in (*section["lowest"], *section["missing"])]
        lines += ["", "Closing time", *(paragraph(one, indent=2) for one in section["window"]), ""]
    told = [one for one in judged.sheet.findings if one.code in (*CODES, LIMIT_CODE, "LAD-11")]
    if told:
        lines += ["Findings", *(finding_lines(one, units) for one in told), ""]
    return "\n".join([*lines, paragraph(FOOT)])

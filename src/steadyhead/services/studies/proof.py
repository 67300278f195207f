"""The protection proof as a page: each failure and side, what lies lowest, the window of the needle."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import Connection

from steadyhead.register import Register
from steadyhead.services.stations.head import StationHead
from steadyhead.services.stations.judged import FindingView
from steadyhead.services.stations.kept import NotKept
from steadyhead.services.stations.proofs import read_proof
from steadyhead.services.studies.kept import StudyRow
from steadyhead.services.studies.shown import (
    Frozen,
    StudyHead,
    findings_of,
    first_look,
    heads_of,
    piece,
    read_views,
    study_parts,
)
from steadyhead.units import METRIC, UnitSet

NOT_COVERED = (
    "Bound by its model: full pipes and no air, mains as the file states them, valves by their defaults "
    "until they are measured. Relief valves count only where the file credits them. Fire flow is not run. "
    "Worked out, not proved on site: the visit proves the trip and the closing time."
)


class SideRow(Frozen):
    """One side in one failure: highest until shut, thrown back, what it bears, verdict, case and times.

    failure is empty where it is that of the row before; mark: state mark of the verdict.
    """

    failure: str
    side: str
    highest: str
    thrown_back: str
    bears: str
    verdict: str
    mark: str
    case: str
    times: str


class WindowView(Frozen):
    """The window of the closing time of one way, by stopwatch in the state of the site test.

    state: *open*, *empty*, *no limit* or *no trip*; fastest_s, slowest_s: its edges; None: no edge was found;
    now_s: with the needle as it is; words: all of it in sentences.
    """

    way: str
    state: str
    fastest_s: float | None
    slowest_s: float | None
    now_s: float
    is_inside: bool
    words: tuple[str, ...]


class WayView(Frozen):
    """The proof of one way through the station."""

    name: str
    about: str
    rows: tuple[SideRow, ...]
    lowest: tuple[str, ...]
    missing: tuple[str, ...]
    window: WindowView


class ProofView(Frozen):
    """A protection proof.

    Parameters
    ----------
    station, study
        Heads of both.
    is_proved
        Whether every limit is shown to hold in each credited failure, or who answers for it is named.
    unit
        Of the pressures in the tables.
    ways, refused
        The ways that were proved, and those that could not be, each with why.
    findings
        What the sheet says of it.
    """

    station: StationHead
    study: StudyHead
    is_proved: bool
    unit: str
    ways: tuple[WayView, ...]
    refused: tuple[tuple[str, str], ...]
    findings: tuple[FindingView, ...]
    not_covered: str = NOT_COVERED


def proof_view(
    register: Register, connection: Connection, row: StudyRow, today_canonical: str, units: UnitSet = METRIC
) -> ProofView:
    """Return a proof as a page."""
    made = _made(register, row, units)
    return ProofView(
        **heads_of(register, connection, row, today_canonical, units),
        is_proved=made["is_proved"],
        unit=made["unit"],
        ways=tuple(WayView.model_validate(one) for one in made["ways"]),
        refused=tuple((way, why) for way, why in made["refused"]),
        findings=read_views(made["findings"]),
    )


def prepare(register: Register, key: str, study: str, units: UnitSet = METRIC) -> None:
    """Make the page of a proof ready."""
    first_look(register, key, study, units, _made)


def _made(register: Register, row: StudyRow, units: UnitSet) -> dict[str, Any]:
    parts = study_parts(row, units)
    return piece(register, row.station, "proof", parts, lambda: _proved(register, row, units))


def _proved(register: Register, row: StudyRow, units: UnitSet) -> dict[str, Any]:
    from steadyhead.services.judging import judge_file
    from steadyhead.services.protection import CODES, LIMIT_CODE, is_proved

    source, content = register.content(row.file), register.content(row.content)
    if source is None or content is None:
        raise NotKept("study", "has a file or record that is not kept here.", "Verify the register.")
    proof = read_proof(row.content, content)
    judged = judge_file(source, row.station, date.fromisoformat(row.at[:10]), proof.sheet)
    told = [one for one in judged.sheet.findings if one.code in (*CODES, LIMIT_CODE)]
    return {
        "is_proved": bool(judged.sheet.protection) and is_proved(judged.sheet.findings),
        "unit": units.heading("pressure"),
        "ways": _ways(judged.sheet, units),
        "refused": [[way or "the station", why] for way, why in proof.sheet.refused],
        "findings": findings_of(told, units),
    }


def _ways(sheet: Any, units: UnitSet) -> list[dict[str, Any]]:
    from steadyhead.reports.protection_tables import sections

    found = []
    for told, proof in zip(sections(sheet, units), sheet.protection, strict=True):
        rows = [_row(row) for row in told["rows"]]
        found.append(
            {
                "name": told["name"], "about": told["about"], "rows": rows, "lowest": told["lowest"],
                "missing": told["missing"], "window": window_of(proof, told["window"]),
            }
        )  # fmt: skip
    return found


def _row(row: list[str]) -> dict[str, str]:
    failure, side, highest, thrown, bears, verdict, case, times = row
    return {
        "failure": failure, "side": side, "highest": highest, "thrown_back": thrown, "bears": bears,
        "verdict": verdict, "mark": _mark(verdict), "case": case, "times": times,
    }  # fmt: skip


def _mark(verdict: str) -> str:
    if verdict == "held":
        return "holds"
    if "EXCEEDED" in verdict:
        return "struck"
    return "slipped" if verdict.startswith("exceeded") else "unknown"


def window_of(proof: Any, words: list[str]) -> dict[str, Any]:
    """Return the window of one way as plain data of `WindowView`."""
    window = proof.window
    fast = None if window.fastest is None else window.fastest.stopwatch
    slow = None if window.slowest is None else window.slowest.stopwatch
    now = window.stopwatch
    is_open = window.state == "open"
    return {
        "way": proof.words, "state": window.state, "fastest_s": fast, "slowest_s": slow, "now_s": now,
        "is_inside": is_open and (fast is None or now >= fast) and (slow is None or now <= slow),
        "words": words,
    }  # fmt: skip

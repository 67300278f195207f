"""Protection proof as a job: each way through the station is a case that is kept."""

from __future__ import annotations

import json

from pydantic import TypeAdapter

from steadyhead.design.protection import prove_station
from steadyhead.records.protection import NeedleWindow, ProofSheet, Protection
from steadyhead.reports.protection_tables import edges, seconds
from steadyhead.services.jobs.kinds import Outcome, Work
from steadyhead.services.library import completed
from steadyhead.services.protection import is_proved, key_of
from steadyhead.services.stations.judged import judge_at, today
from steadyhead.services.stations.proofs import KeptProof, hold, plain_proof
from steadyhead.services.studies.kept import as_json
from steadyhead.station.canonical import sha256
from steadyhead.station.load import load

FORMAT = "steadyhead/study/proof/1"
_WAY: TypeAdapter[Protection] = TypeAdapter(Protection)


def work(work: Work) -> Outcome | None:
    """Prove what the shut-offs protect; None: cancelled."""
    loaded = completed(load(work.source, work.job.station))

    def finished(way: str) -> Protection | None:
        held = work.parts.get(way)
        return None if held is None else _WAY.validate_json(held)

    def keep(way: str, proof: Protection) -> None:
        work.parts.put(way, json.dumps(_WAY.dump_python(proof, mode="json")).encode())

    sheet = prove_station(
        loaded.station, progress=work.progress, cancel=work.cancel, finished=finished, keep=keep
    )
    if sheet is None:
        return None
    told = {"format": FORMAT, "key": key_of(loaded.station), "file_sha256": loaded.sha256}
    content = as_json(told | {"proof": plain_proof(sheet)})
    hold(sha256(work.source), KeptProof(sha256(content), told["key"], sheet))
    judged = judge_at(work.source, today())  # at hand then, so that keeping the record takes no time
    holds = bool(judged.sheet.protection) and is_proved(judged.sheet.findings)
    return Outcome(
        content=content,
        title="Protection proof",
        mark="holds" if holds else "struck" if sheet.ways else "unknown",
        words=_words(holds, sheet),
        facts={
            "windows": [window_said(one.words, one.window) for one in sheet.ways],
            "sheets": [one.sha256 for one in loaded.sheets],
        },
        prepare=lambda study: _prepare(work, study),
    )


def window_said(words: str, window: NeedleWindow) -> str:
    """Return the window of one way's closing time in a few words; words: the way, empty for the only one."""
    way = f"{words}: " if words else ""
    now = f"as it is {seconds(window.stopwatch)} s"
    if window.state != "open":
        return f"{way}{NO_WINDOW[window.state]}; {now}"
    low, high = edges(window)
    if low in ("", "any") and high in ("", "any"):
        return f"{way}any closing time holds; {now}"
    if low == "any":
        return f"{way}up to {high} by stopwatch; {now}"
    if high == "any":
        return f"{way}from {low} on by stopwatch; {now}"
    return f"{way}{low} to {high} by stopwatch; {now}"


NO_WINDOW = {
    "empty": "empty: no closing time holds every limit",
    "no limit": "no component states what it bears",
    "no trip": "no credited failure trips it",
}


def _words(holds: bool, sheet: ProofSheet) -> str:
    if not sheet.ways:
        return "nothing could be proved"
    if not holds:
        return "not shown: see what the findings ask"
    others = [case for way in sheet.ways for case in way.cases if not case.failure.credited]
    passed = any(one.verdict == "over" or one.is_rebound_over for case in others for one in case.peaks)
    said = "every limit is shown to hold in each credited failure"
    return f"{said}; one that nobody credits passes a limit" if passed else said


def _prepare(work: Work, study: str) -> None:
    from steadyhead.services.studies.proof import prepare

    prepare(work.register, work.job.station, study)
